package columnmap

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"strings"

	"runsheet.example/fhirmap/session"
	"runsheet.example/fhirmap/session/workbook"
	"runsheet.example/validate/issue"
)

// About is a log.toml given beside the map.
type About struct {
	Name string
	Text []byte
}

// Read reads a log of another shape: a CSV file, a workbook or a folder of
// them. about may be nil; then the map's own tables say whose log it is, or
// log.toml in the folder.
//
// An error means that a file cannot be opened; everything else is a finding,
// at the cell of the sheet as it was written.
func Read(name string, m *Map, about *About, opts session.Options) (*session.Log, []issue.Finding, error) {
	r := &reading{m: m}
	if err := r.load(name); err != nil {
		return nil, nil, err
	}
	if r.size.Over() {
		return &session.Log{Sources: r.mapped.Sources}, r.findings[len(r.findings)-1:], nil
	}
	r.gather()
	r.mapped.AboutName, r.mapped.About = m.Name, m.about
	if about != nil || m.about == nil {
		// The map decides what is read, so it is a source like the others.
		source := session.NewSource(m.Name, m.text)
		source.Encoding = "utf-8"
		r.mapped.Sources = append(r.mapped.Sources, source)
	}
	switch {
	case about != nil:
		r.mapped.AboutName, r.mapped.About = about.Name, about.Text
	case m.about == nil:
		r.mapped.AboutName, r.mapped.About = "log.toml", r.ownAbout
	}
	log, findings := session.ReadMapped(r.mapped, opts)
	if r.partial {
		for _, s := range log.Sessions {
			s.Broken = true
		}
	}
	log.Tally.Rows = r.tally.Rows
	log.Tally.Join(r.tally)
	findings = append(findings, r.findings...)
	issue.Sort(findings)
	return log, findings, nil
}

// reading is one reading of foreign sheets.
type reading struct {
	m        *Map
	sheets   []session.Foreign
	ownAbout []byte
	mapped   session.Mapped
	findings []issue.Finding
	tally    session.Tally
	size     session.Size // of what was read
	// partial is set when a file or sheet could not be read to its end, or a
	// needed one is not there.
	partial bool
}

// load reads the sheets of a file, or of the files of a folder in the order of
// their names.
// It stops when they are too large.
func (r *reading) load(name string) error {
	info, err := os.Stat(name)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return fmt.Errorf("%s: there is no such file or folder: %w", name, fs.ErrNotExist)
	case err != nil:
		return fmt.Errorf("reading the sheet: %w", err)
	case !info.IsDir():
		return r.loadFile(name, filepath.Base(name))
	}
	entries, err := os.ReadDir(name)
	if err != nil {
		return fmt.Errorf("reading the folder: %w", err)
	}
	for _, e := range entries {
		lower := strings.ToLower(e.Name())
		full := filepath.Join(name, e.Name())
		switch {
		case e.IsDir() || strings.HasPrefix(lower, ".") || strings.HasPrefix(lower, "~$"):
		case lower == "log.toml":
			if r.ownAbout, _, err = r.bytes(full); err != nil {
				return err
			}
		case strings.HasSuffix(lower, ".csv") || workbook.Named(lower) && path.Ext(lower) != ".fods" && path.Ext(lower) != ".numbers":
			if err := r.loadFile(full, e.Name()); err != nil || r.size.Over() {
				return err
			}
		case session.ResemblesSheet(lower):
			r.say("log-file-unknown", "this file is not named like a sheet and was not read", issue.Cell{File: e.Name()})
		}
	}
	return nil
}

// bytes reads a file; ok is false when what was read is too large.
func (r *reading) bytes(full string) (data []byte, ok bool, err error) {
	file, err := os.Open(full)
	if err != nil {
		return nil, false, fmt.Errorf("reading the sheet: %w", err)
	}
	defer file.Close()
	if data, ok, err = r.size.Read(file); err != nil {
		return nil, false, fmt.Errorf("reading the sheet: %w", err)
	}
	if !ok {
		r.say("log-too-large", session.TooManyBytes, issue.Cell{File: filepath.Base(full)})
	}
	return data, ok, nil
}

// loadFile reads one file whose name in findings is short.
func (r *reading) loadFile(full, short string) error {
	data, ok, err := r.bytes(full)
	if err != nil || !ok {
		return err
	}
	return r.add(data, short)
}

func (r *reading) add(data []byte, short string) error {
	sheets, source, findings, whole, err := split(data, short, &r.size)
	if err != nil {
		return err
	}
	r.sheets = append(r.sheets, sheets...)
	r.mapped.Sources = append(r.mapped.Sources, source)
	r.findings = append(r.findings, findings...)
	r.partial = r.partial || !whole
	return nil
}

// split makes sheets of cells of a file's bytes.
func split(data []byte, name string, size *session.Size) ([]session.Foreign, session.Source, []issue.Finding, bool, error) {
	if workbook.Named(name) {
		return workbook.Sheets(data, name, size)
	}
	sheet, source, findings, whole := session.ReadForeignCSV(name, data, size)
	return []session.Foreign{sheet}, source, findings, whole, nil
}

func (r *reading) say(rule, details string, cell issue.Cell, others ...issue.Cell) *issue.Finding {
	f := issue.At(rule)
	f.File, f.Details, f.Cells = cell.File, issue.T(details), append([]issue.Cell{cell}, others...)
	r.findings = append(r.findings, f)
	return &r.findings[len(r.findings)-1]
}

// gather puts the cells of every sheet under our columns.
func (r *reading) gather() {
	read := map[int]bool{}
	for i := range r.m.tables {
		t := &r.m.tables[i]
		found := r.sheetsOf(t)
		if len(found) == 0 {
			f := r.say("map-table-missing", "there is no file or sheet that the map names", issue.Cell{File: r.m.Name})
			f.Value = strings.TrimSpace(t.entry.File + " " + t.entry.Tab)
			r.partial = true
		}
		for _, at := range found {
			read[at] = true
			if t.form {
				r.form(t, r.sheets[at])
			} else {
				r.rows(t, r.sheets[at])
			}
		}
	}
	for i, s := range r.sheets {
		switch {
		case read[i] && s.Hidden:
			r.say("log-sheet-hidden", "the sheet is hidden; it was read like the others", issue.Cell{File: s.File, Sheet: s.Tab})
		case !read[i] && len(s.Rows) > 0 && s.Tab != "":
			r.say("log-sheet-unknown", "this sheet is not in the map and was not read", issue.Cell{File: s.File, Sheet: s.Tab})
		case !read[i] && s.Tab == "":
			r.say("log-file-unknown", "this file is not in the map and was not read", issue.Cell{File: s.File})
		}
	}
}

// sheetsOf are the sheets a table is for: those whose file and tab it names,
// or the first sheet of each file when it names no tab.
func (r *reading) sheetsOf(t *table) []int {
	var found []int
	last := ""
	for i, s := range r.sheets {
		first := s.File != last
		last = s.File
		if t.entry.File != "" && !named(t.entry.File, s.File) {
			continue
		}
		if t.entry.Tab == "" && first || t.entry.Tab != "" && named(t.entry.Tab, s.Tab) {
			found = append(found, i)
		}
	}
	return found
}

// named matches a name with * and ? as file names are matched.
func named(pattern, name string) bool {
	ok, err := path.Match(strings.ToLower(pattern), strings.ToLower(strings.ReplaceAll(name, "/", "_")))
	return ok && err == nil
}
