package session

import (
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
	About    []*AboutPart
	Tables   []BookTable
}

// BookTable is one sheet of a book.
type BookTable struct {
	Sheet Sheet
	// Tab is the sheet's name in the workbook.
	Tab string
	// Headings are the names of the columns; an empty one is skipped.
	Headings   []string
	HeadingRow int
	// Rows returns the rows with content below the headings. It is called if the
	// headings can be read.
	Rows func() []Row
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
	r.named(book.Source.Name, t.Tab, string(t.Sheet))
	if t.Sheet == SheetAnswers {
		defer r.holdsNothingBack(r.wholeFile)
	}
	s := &sheetReader{file: book.Source.Name, tab: t.Tab, sheet: t.Sheet, findings: &r.collector, headings: t.Headings, row: Row{Number: t.HeadingRow}}
	if !s.bind() {
		return
	}
	s.source = t.Rows()
	r.readRows(s)
}

// bookAbout gives the answers of an About sheet the types that log.toml has,
// and leaves out those of a question that is answered already.
func (r *reader) bookAbout(book Book) []*AboutPart {
	for _, part := range book.About {
		entries := part.Entries
		part.Entries = nil
		for _, e := range entries {
			if _, twice := part.entry(e.Key); twice {
				r.about(e.at().finding("about-value", "the question is answered twice").Seen(e.Text, issue.Text{}))
				continue
			}
			switch e.kind = unstable.String; {
			case e.Bare:
				e.kind = unstable.Float
			case e.Key == "weekdays":
				e.kind, e.items = unstable.Array, strings.FieldsFunc(e.Text, func(c rune) bool { return strings.ContainsRune(",; ", c) })
			}
			part.Entries = append(part.Entries, e)
		}
	}
	return book.About
}
