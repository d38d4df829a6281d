package session

import (
	"fmt"
	"slices"

	"github.com/pelletier/go-toml/v2/unstable"

	"runsheet.example/validate/issue"
)

// Grid is a whole log as cells of text, before anything is read from them:
// what is needed to carry a log from one form to another without a change.
type Grid struct {
	About  []*AboutPart
	Tables []GridTable
	// DecimalMark is that of the numbers where a column map declares it, else "".
	DecimalMark string
}

// GridTable is one file or sheet of a grid.
type GridTable struct {
	Sheet Sheet
	// Headings are as written; columns the log does not know are among them.
	Headings []string
	// Rows are the rows with content, in order. A row may be
	// shorter or longer than the headings.
	Rows [][]string
}

// Table finds a table of the grid.
func (g *Grid) Table(sheet Sheet) (GridTable, bool) {
	for _, t := range g.Tables {
		if t.Sheet == sheet {
			return t, true
		}
	}
	return GridTable{}, false
}

// AboutPart is one table of log.toml, or one column of answers of a
// workbook's About sheet: "log", "patient", "clinic", a prescription, an
// access or a device.
type AboutPart struct {
	Name    string
	Cell    issue.Cell
	Entries []*AboutEntry
	// End is the byte of log.toml before which another entry of the part goes.
	End int

	line, column int // in log.toml
}

// AboutEntry is one named answer of a part. A list, such as the planned days,
// is written with commas.
type AboutEntry struct {
	Key  string
	Text string
	// Bare marks a number by its type, written with a point whatever decimal
	// mark the log declares.
	Bare bool
	Cell issue.Cell
	// From and To are the bytes of log.toml that the value is written in.
	From, To int

	kind         unstable.Kind // in log.toml
	items        []string      // of an array of texts
	line, column int
	used         bool
}

// Entry finds the answer of a key.
func (p *AboutPart) Entry(key string) (AboutEntry, bool) {
	if e, ok := p.entry(key); ok {
		return *e, true
	}
	return AboutEntry{}, false
}

// entry finds the answer of a key; of several it is the last.
func (p *AboutPart) entry(key string) (*AboutEntry, bool) {
	for _, e := range slices.Backward(p.Entries) {
		if e.Key == key {
			return e, true
		}
	}
	return nil, false
}

func (p *AboutPart) at() spot { return spot{p.Cell, p.line, p.column} }

func (e *AboutEntry) at() spot { return spot{e.Cell, e.line, e.column} }

// String is the answer as a person would say it, for findings.
func (e *AboutEntry) String() string {
	if e.kind == unstable.Array {
		return fmt.Sprint(e.items)
	}
	return e.Text
}
