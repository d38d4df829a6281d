package session

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"runsheet.example/validate/issue"
)

// Options say how a log is read.
type Options struct {
	// Today is the day of reading, for comparison only; zero when not known.
	Today time.Time
}

// ErrNoLog is returned for a folder that holds neither log.toml nor
// sessions.csv.
var ErrNoLog = errors.New("this folder holds no log: neither log.toml nor sessions.csv is in it; " + OtherShape)

// OtherShape is the advice for a file whose layout is not that of a log.
const OtherShape = "for a sheet of another shape, check --suggest-map drafts a column map that lets it be read"

const aboutFile = "log.toml"

// ReadFolder reads a log from a folder of CSV files beside a log.toml.
//
// An error means that the log could not be read at all: there is no such
// folder, it holds no log, or the system refuses a file. Everything that the
// data say wrongly is a finding; the findings are ordered by [issue.Sort], and
// the files in them are named relative to the folder.
func ReadFolder(dir string, opts Options) (*Log, []issue.Finding, error) {
	info, err := os.Stat(dir)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, nil, fmt.Errorf("%s: there is no such folder: %w", dir, fs.ErrNotExist)
	case err != nil:
		return nil, nil, fmt.Errorf("reading the log folder: %w", err)
	case !info.IsDir():
		return nil, nil, fmt.Errorf("%s is a file; a log is a folder with sessions.csv in it, or a workbook (.xlsx); %s", dir, OtherShape)
	}
	log, findings, err := ReadFS(os.DirFS(dir), opts)
	var file *fs.PathError // of the path within the log
	if errors.As(err, &file) {
		return nil, nil, &fs.PathError{Op: file.Op, Path: filepath.Join(dir, file.Path), Err: file.Err}
	}
	if err != nil {
		return nil, nil, fmt.Errorf("%s: %w", dir, err)
	}
	return log, findings, nil
}

// ReadFS reads a log as [ReadFolder] does, from the root of a file system.
func ReadFS(files fs.FS, opts Options) (*Log, []issue.Finding, error) {
	r := &reader{opts: opts, log: &Log{}, byID: map[string]*Session{}}
	names, err := r.list(files)
	if err != nil {
		return nil, nil, err
	}
	if err := r.readAboutFile(files, names[aboutFile]); err != nil {
		return nil, nil, err
	}
	for _, sheet := range sheets {
		if err := r.readSheet(files, names[string(sheet)+".csv"], sheet); err != nil {
			return nil, nil, err
		}
	}
	r.finish()
	return r.log, r.done(), nil
}

// sheets are the files of a log in the order they are read.
var sheets = []Sheet{SheetSessions, SheetChecks, SheetReadings, SheetMedicines, SheetLabs, SheetEvents, SheetAnswers}

// Sheets are the files of a log, without their ending, in the order they are
// read.
func Sheets() []Sheet { return slices.Clone(sheets) }

// reader is one reading of a log.
type reader struct {
	collector
	opts Options
	log  *Log
	byID map[string]*Session
	// byKey are the sessions by the keys of their rows, of a mapped log.
	byKey map[string]*Session
	// ends are impossible ends, settled when all sessions are read.
	ends []impossibleEnd
	// derivedReported is set once names made from dates are reported.
	derivedReported bool
	// strange are the reported dialysers that log.toml does not know.
	strange map[string]bool
	// book is set when the log is one workbook and not a folder.
	book bool
	// written is the [log] table of log.toml, which says how dates and numbers
	// are written.
	written aboutReader
	// marked is set when a file has the declared decimal mark.
	marked bool
	// allBroken is set by an error that concerns every session: in log.toml,
	// or in a file as a whole.
	allBroken bool
}

// list finds the log's files whatever the case of their names, and reports
// CSV files it does not know.
func (r *reader) list(files fs.FS) (map[string]string, error) {
	entries, err := fs.ReadDir(files, ".")
	if err != nil {
		return nil, fmt.Errorf("the log cannot be read: %w", err)
	}
	known := map[string]bool{aboutFile: true}
	for _, sheet := range sheets {
		known[string(sheet)+".csv"] = true
	}
	names := map[string]string{}
	for _, entry := range entries {
		plain := strings.ToLower(entry.Name())
		_, twice := names[plain]
		switch {
		case known[plain] && !twice:
			names[plain] = entry.Name()
		case known[plain] || strings.HasSuffix(plain, ".csv") || resembles(plain):
			r.unknownFile(entry.Name())
		}
	}
	if names[aboutFile] == "" && names["sessions.csv"] == "" {
		return nil, ErrNoLog
	}
	for _, needed := range []string{aboutFile, "sessions.csv"} {
		if names[needed] == "" {
			r.add(spot{cell: issue.Cell{File: needed}}.finding("log-file-missing", "the folder has no {}", needed), nil)
			r.allBroken = r.allBroken || needed == aboutFile
		}
	}
	return names, nil
}

// ResemblesSheet reports a file, named in lower case, that may hold a sheet
// under another ending than those read, such as november.csv.txt or log.tsv.
func ResemblesSheet(name string) bool {
	return strings.Contains(name, ".csv") || strings.Contains(name, ".xls") || strings.Contains(name, ".ods") ||
		slices.Contains([]string{".tsv", ".tab", ".txt", ".fods", ".numbers"}, path.Ext(name))
}

// resembles reports a file named like one of a log under another ending, such
// as readings.csv.txt, sessions.tsv or log.toml.txt.
func resembles(name string) bool {
	stem := name[:len(name)-len(strings.TrimLeft(name, "abcdefghijklmnopqrstuvwxyz"))]
	return stem == "log" && strings.Contains(name, "toml") || slices.Contains(sheets, Sheet(stem))
}

func (r *reader) unknownFile(name string) {
	f := spot{cell: issue.Cell{File: name}}.finding("log-file-unknown", "this file is no part of the log and was not read")
	var known []string
	for _, sheet := range sheets {
		known = append(known, string(sheet)+".csv")
	}
	f.Expected = issue.Literal(Nearest(strings.ToLower(name), known))
	for _, file := range append(known, aboutFile) {
		if stem, _, _ := strings.Cut(file, "."); f.Expected.IsZero() && strings.HasPrefix(strings.ToLower(name), stem) {
			f.Expected = issue.Literal(file)
		}
	}
	r.add(f, nil)
}

// text reads and decodes a file, and notes it as a source. ok is false for a
// file that is too large or no text, which is a finding.
func (r *reader) text(files fs.FS, name string) (text []byte, ok bool, err error) {
	file, err := files.Open(name)
	if err != nil {
		return nil, false, fmt.Errorf("the log cannot be read: %w", err)
	}
	defer file.Close()
	data, ok, err := r.size.Read(file)
	if err != nil {
		return nil, false, fmt.Errorf("the log cannot be read: %w", err)
	}
	if !ok {
		r.refuse(spot{cell: issue.Cell{File: name}}.finding("log-too-large", TooManyBytes))
		return nil, false, nil
	}
	text, ok = r.decoded(name, data)
	return text, ok, nil
}

// decoded decodes the bytes of a file, and notes it as a source.
func (r *reader) decoded(name string, data []byte) (text []byte, ok bool) {
	d, ok := decode(name, data, &r.collector)
	source := NewSource(name, data)
	source.Encoding = d.encoding
	r.log.Sources = append(r.log.Sources, source)
	return d.text, ok
}

// readSheet reads one CSV file; name is "" when the folder has none.
func (r *reader) readSheet(files fs.FS, name string, sheet Sheet) error {
	if name == "" {
		return nil
	}
	r.named(name, "", string(sheet))
	if sheet == SheetAnswers {
		defer r.holdsNothingBack(r.wholeFile)
	}
	text, ok, err := r.text(files, name)
	if err != nil || !ok {
		return err
	}
	s, ok := newSheetReader(name, sheet, text, &r.collector)
	if !ok {
		return nil
	}
	if spilled(s.again()) {
		f := spot{cell: issue.Cell{File: name}}.finding("log-not-csv", "most rows have more cells than there are headings: numbers or notes hold the mark that separates the cells")
		f.Mend = issue.T("save the file again with semicolons between the cells")
		r.add(f, nil)
		return nil
	}
	r.log.Sources[len(r.log.Sources)-1].Delimiter = s.delimiter
	r.readRows(s)
	return nil
}

// spilled reports a file most of whose rows have several cells more than there
// are headings. A single row is reported at its place.
func spilled(s *sheetReader) bool {
	const sample = 20
	rows, long := 0, 0
	for rows <= 2*long+1 && rows < sample && s.read() {
		rows++
		if n := len(s.headings) + 1; len(s.row.Cells) > n && filled(s.row.Cells[n:]) > 0 {
			long++
		}
	}
	return long > 1 && 2*long > rows
}

// readRows settles the forms of dates and numbers, reads the rows of a table,
// and notes both at the source.
func (r *reader) readRows(s *sheetReader) {
	seen := true
	if s.mapped != nil && s.mapped.DecimalMark != 0 {
		s.mark = s.mapped.DecimalMark
	} else {
		seen = r.settleForms(s)
	}
	switch s.sheet {
	case SheetSessions:
		r.readSessions(s)
	case SheetChecks:
		r.readChecks(s)
	case SheetReadings:
		r.readReadings(s)
	case SheetMedicines:
		r.readMedicines(s)
	case SheetLabs:
		r.readLabs(s)
	case SheetEvents:
		r.readEvents(s)
	case SheetAnswers:
		r.readAnswers(s)
	}
	r.reportConversions(s)
	for i := range r.log.Sources {
		if source := &r.log.Sources[i]; source.Name == s.file {
			source.Rows += s.rows
			if seen && source.DecimalMark == 0 {
				source.DecimalMark = rune(s.mark)
			}
		}
	}
}

// finish orders the sessions, and marks all of them broken when an error
// concerns them all.
func (r *reader) finish() {
	if r.refused != nil {
		r.log.Sessions = nil
		return
	}
	r.settleEnds()
	r.reportClockForm()
	r.log.Today = r.opts.Today
	for _, source := range r.log.Sources {
		r.log.Tally.Rows += source.Rows
	}
	for _, left := range r.tally.Left {
		if !left.Cells() && left.Why != RowEmpty {
			r.log.Tally.Rows -= len(left.Rows)
		}
	}
	r.log.Tally.Left = r.tally.Left
	if len(r.log.Sessions) == 0 {
		for _, source := range r.log.Sources {
			sheet := strings.EqualFold(source.Name, "sessions.csv") && source.Delimiter != 0
			if (sheet || r.book) && source.Rows == 0 {
				r.add(spot{cell: issue.Cell{File: source.Name}}.finding("log-empty", "there are no sessions in the log yet"), nil)
			}
		}
	}
	if r.allBroken || r.wholeFile {
		for _, one := range r.log.Sessions {
			one.Broken = true
		}
	}
	slices.SortStableFunc(r.log.Sessions, byStart)
	slices.SortFunc(r.log.Sources, func(a, b Source) int { return strings.Compare(a.Name, b.Name) })
}

// byStart orders sessions by start, or date where there is no start; sessions
// without either are last.
func byStart(a, b *Session) int {
	x, y := a.Start, b.Start
	if !x.OK() {
		x = a.Date
	}
	if !y.OK() {
		y = b.Date
	}
	switch {
	case x.OK() && y.OK():
		return x.Time.Compare(y.Time)
	case x.OK():
		return -1
	case y.OK():
		return 1
	default:
		return 0
	}
}
