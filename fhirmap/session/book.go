package session

import (
	"io"
	"strings"

	"github.com/pelletier/go-toml/v2/unstable"

	"runsheet.example/validate/issue"
)

// Book is a log in one file with a sheet for each part, as the reader of a
// workbook hands it over: split into cells, with nothing read from them yet.
type Book struct {
	// Source is the file; its rows and decimal mark are filled in here.
	Source Source
	// AboutTab is the name of the sheet of answers, "" when there is none.
	AboutTab string
	About    []AboutPart
	Tables   []BookTable
}

// BookTable is one sheet of a book.
type BookTable struct {
	Sheet Sheet
	// Tab is the sheet's name in the workbook.
	Tab string
	// Headings are the names of the columns; an empty one is passed over.
	Headings   []string
	HeadingRow int
	// Rows are the rows below the headings that have something in them. They
	// are asked for when the headings can be read.
	Rows func() []BookRow
}

// BookRow is one row of a sheet.
type BookRow struct {
	Number int // as the spreadsheet shows it
	Cells  []string
	// Numbers marks the cells that are numbers by their type. They are
	// written with a point, and read so whatever decimal mark the log has.
	Numbers []bool
	Notes   []Note
}

// Note is a rule about one cell of a row that the reader of the workbook saw.
type Note struct {
	Column  int // from 0
	Rule    string
	Details issue.Text
}

// ReadBook reads a log from a book as [ReadFS] does from a folder.
func ReadBook(book Book, opts Options) (*Log, []issue.Finding) {
	r := &reader{opts: opts, log: &Log{Sources: []Source{book.Source}}, byID: map[string]*Session{}, book: true}
	if book.AboutTab == "" {
		r.about(r.missingSheet(book, "About"))
	} else {
		r.readAbout(spot{cell: issue.Cell{File: book.Source.Name, Sheet: book.AboutTab}}, r.bookAbout(book))
	}
	have := map[Sheet]bool{}
	for _, t := range book.Tables {
		have[t.Sheet] = true
		r.readTable(book, t)
	}
	if !have[SheetSessions] {
		r.add(r.missingSheet(book, "Sessions"), nil)
	}
	r.finish()
	return r.log, r.done()
}

func (r *reader) missingSheet(book Book, name string) issue.Finding {
	at := spot{cell: issue.Cell{File: book.Source.Name}}
	return at.finding("log-sheet-missing", "the workbook has no sheet named {}", name)
}

// readTable reads one sheet of a book.
func (r *reader) readTable(book Book, t BookTable) {
	begin := func(findings *collector) (*sheetReader, bool) {
		s := &sheetReader{file: book.Source.Name, tab: t.Tab, sheet: t.Sheet, findings: findings,
			headings: t.Headings, source: &bookSource{rows: t.Rows, heading: t.HeadingRow}}
		return s, s.bind()
	}
	s, ok := begin(&r.collector)
	if !ok {
		return
	}
	seen := r.settleForms(s, begin)
	r.readRows(s)
	source := &r.log.Sources[0]
	source.Rows += s.rows
	if seen && source.DecimalMark == 0 {
		source.DecimalMark = rune(s.mark)
	}
}

// bookSource is a sheet of a book as a source of rows.
type bookSource struct {
	rows    func() []BookRow
	heading int
	next    int // the row after the current one
	current BookRow
}

func (b *bookSource) read() ([]string, error) {
	rows := b.rows()
	if b.next == len(rows) {
		return nil, io.EOF
	}
	b.current = rows[b.next]
	b.next++
	return b.current.Cells, nil
}

func (b *bookSource) row() int {
	if b.current.Number == 0 {
		return b.heading
	}
	return b.current.Number
}

// A workbook has no lines.
func (b *bookSource) line() int { return 0 }

func (b *bookSource) place(int) (line, column int) { return 0, 0 }

func (b *bookSource) isNumber(position int) bool {
	return position < len(b.current.Numbers) && b.current.Numbers[position]
}

func (b *bookSource) notes() []Note { return b.current.Notes }

// bookAbout makes the tables of log.toml from the answers of an About sheet.
func (r *reader) bookAbout(book Book) []*tomlTable {
	var tables []*tomlTable
	for _, part := range book.About {
		t := &tomlTable{name: part.Name, at: spot{cell: part.Cell}, values: map[string]*tomlValue{}}
		for _, e := range part.Entries {
			v := &tomlValue{kind: unstable.String, text: e.Text, at: spot{cell: e.Cell}}
			switch {
			case e.Bare:
				v.kind = unstable.Float
			case e.Key == "weekdays":
				v.kind, v.items = unstable.Array, listed(e.Text)
			}
			if _, twice := t.values[e.Key]; twice {
				f := v.at.finding("about-value", "the question is answered twice")
				f.Value = e.Text
				r.about(f)
				continue
			}
			t.keys = append(t.keys, e.Key)
			t.values[e.Key] = v
		}
		tables = append(tables, t)
	}
	return tables
}

// listed splits a list written in one cell.
func listed(text string) []string {
	return strings.FieldsFunc(text, func(c rune) bool { return strings.ContainsRune(",; ", c) })
}
