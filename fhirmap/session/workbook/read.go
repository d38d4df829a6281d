package workbook

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// ErrNoLog is returned for a workbook that has neither a sheet About nor a
// sheet Sessions: it may be a good workbook, but it is no log.
var ErrNoLog = errors.New("this workbook holds no log: it has neither a sheet named About nor one named Sessions; " + session.OtherShape)

// ReadFile reads a log from a workbook.
//
// An error means that there is no such file, that the system refuses it, or
// that it is a workbook of something else ([ErrNoLog]). A file that is no
// XLSX workbook, is damaged, locked or unpacks beyond the limits is one
// finding, and the log is empty.
func ReadFile(path string, opts session.Options) (*session.Log, []issue.Finding, error) {
	file, err := os.Open(path)
	if err != nil {
		return nil, nil, fmt.Errorf("reading the workbook: %w", err)
	}
	defer file.Close()
	data, _, err := new(session.Size).Read(file)
	if err != nil {
		return nil, nil, fmt.Errorf("reading the workbook: %w", err)
	}
	return Read(data, filepath.Base(path), opts)
}

// Read reads a log as [ReadFile] does; name is what findings call the file.
func Read(data []byte, name string, opts session.Options) (*session.Log, []issue.Finding, error) {
	r := &bookReader{name: name}
	if len(data) > session.MaxBytes {
		return r.nothing(session.Source{Name: name}, notReadable{session.TooManyBytes, splitByYears})
	}
	source := session.NewSource(name, data)
	source.Encoding = "utf-8"
	var err error
	if r.book, err = openBook(data); err == nil {
		err = r.findSheets()
	}
	var known notReadable
	switch {
	case errors.As(err, &known):
		return r.nothing(source, known)
	case err != nil:
		return nil, nil, fmt.Errorf("%s: %w", name, err)
	}
	book := session.Book{Source: source, AboutTab: r.aboutTab, About: r.about}
	for _, t := range r.tables {
		book.Tables = append(book.Tables, session.BookTable{
			Sheet: t.sheet, Tab: t.tab.name, Headings: t.headings.names, HeadingRow: t.headings.row, Rows: t.all,
		})
	}
	log, findings := session.ReadBook(book, opts)
	return log, r.sorted(findings), nil
}

// bookReader is one reading of a workbook.
type bookReader struct {
	*book
	name     string
	reading  string // the sheet that is read
	aboutTab string
	about    []*session.AboutPart
	tables   []*tableRows
	findings []issue.Finding
}

// cells reads the cells of a sheet.
func (r *bookReader) cells(t tab) (*grid, error) {
	r.reading = t.name
	return r.grid(t)
}

// nothing is a log that could not be read at all.
func (r *bookReader) nothing(source session.Source, why notReadable) (*session.Log, []issue.Finding, error) {
	return &session.Log{Sources: []session.Source{source}}, []issue.Finding{r.fault(why)}, nil
}

// fault is the finding why a workbook cannot be read, at the sheet concerned.
func (r *bookReader) fault(why notReadable) issue.Finding {
	f := issue.At("log-workbook")
	f.File, f.Cells = r.name, []issue.Cell{{File: r.name, Sheet: r.reading}}
	f.Details, f.Mend = issue.T(why.what), issue.T(why.mend)
	return f
}

// sorted adds what was seen beside the rows.
func (r *bookReader) sorted(findings []issue.Finding) []issue.Finding {
	for _, t := range r.tables {
		findings = append(findings, t.seen(func(int) bool { return true })...)
	}
	findings = append(findings, r.findings...)
	for i := range findings {
		f := &findings[i]
		f.Details.InWorkbook, f.Expected.InWorkbook, f.Mend.InWorkbook = true, true, true
	}
	issue.Sort(findings)
	return findings
}

// findSheets finds the sheets of the log among those of the workbook.
func (r *bookReader) findSheets() error {
	found := map[string]tab{}
	var others []tab
	for _, t := range r.tabs {
		name := logSheet(t.name)
		if _, twice := found[name]; twice || name == "" {
			others = append(others, t)
			continue
		}
		found[name] = t
		if t.hidden {
			r.say("log-sheet-hidden", issue.Cell{Sheet: t.name}, "the sheet is hidden; it was read like the others")
		}
	}
	about, hasAbout := found[strings.ToLower(sheetAbout)]
	if _, hasSessions := found[string(session.SheetSessions)]; !hasAbout && !hasSessions {
		return ErrNoLog
	}
	if hasAbout {
		if err := r.readAbout(about); err != nil {
			return err
		}
	}
	for _, d := range dataSheets {
		if t, ok := found[string(d.sheet)]; ok {
			if err := r.addTable(d.sheet, t); err != nil {
				return err
			}
		}
	}
	r.listOthers(others)
	return nil
}

// logSheet is the name under which a sheet of the log is known, "" for others.
func logSheet(tab string) string {
	name := strings.ToLower(strings.TrimSpace(tab))
	for _, d := range dataSheets {
		if name == string(d.sheet) || name == strings.ToLower(d.tab) {
			return string(d.sheet)
		}
	}
	if name == strings.ToLower(sheetAbout) {
		return name
	}
	return ""
}

// listOthers names the sheets with content that were not read.
func (r *bookReader) listOthers(others []tab) {
	for _, t := range others {
		if strings.EqualFold(t.name, sheetGuide) || strings.EqualFold(t.name, sheetFindings) || t.part == "" {
			continue
		}
		if g, err := r.grid(t); err == nil && len(g.rows) > 0 || errors.Is(err, errLarge) {
			r.unknownSheet(t)
		}
	}
}

// unknownSheet reports a sheet that was not read: a warning when it is named
// like one of the log's, and else for information, since people keep sheets of
// their own.
func (r *bookReader) unknownSheet(t tab) {
	r.say("log-sheet-unknown", issue.Cell{Sheet: t.name}, "this sheet is no part of the log and was not read")
	f := &r.findings[len(r.findings)-1]
	f.Severity = issue.Information
	for _, name := range []string{"session", "check", "before you start", "reading", "medicine", "lab", "event", "about"} {
		if strings.Contains(strings.ToLower(t.name), name) {
			f.Severity, f.Expected = issue.Warning, issue.T("the name of one sheet only: About, Sessions, Before you start, Readings, Medicines, Labs or Events")
		}
	}
}

func (r *bookReader) say(rule string, cell issue.Cell, details string) {
	f := issue.At(rule)
	cell.File = r.name
	f.File, f.Cells, f.Details = r.name, []issue.Cell{cell}, issue.T(details)
	r.findings = append(r.findings, f)
}

// addTable finds the headings of a data sheet and adds it to the log.
func (r *bookReader) addTable(sheet session.Sheet, t tab) error {
	g, err := r.cells(t)
	if err != nil {
		return err
	}
	top := r.top(g)
	h, ok := findHeadings(sheet, top)
	if !ok {
		h = headings{row: 1, next: 2, names: top[1]}
	}
	for _, f := range h.findings {
		f.File, f.Cells[0].File, f.Cells[0].Sheet = r.name, r.name, t.name
		r.findings = append(r.findings, f)
	}
	r.tables = append(r.tables, &tableRows{reader: r, sheet: sheet, tab: t, grid: g, headings: h})
	return nil
}

// top are the first rows of a sheet as text.
func (r *bookReader) top(g *grid) map[int][]string {
	top := map[int][]string{}
	for _, row := range g.rows {
		if row.number > headingSearch+1 {
			break
		}
		var texts []string
		for _, c := range row.cells {
			for len(texts) < c.column {
				texts = append(texts, "")
			}
			texts[c.column-1] = r.render(c).text
		}
		top[row.number] = texts
	}
	return top
}
