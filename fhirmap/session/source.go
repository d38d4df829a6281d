package session

import (
	"bytes"
	"crypto/sha256"
	"encoding/csv"
	"encoding/hex"
	"errors"
	"io"
	"iter"
	"slices"
	"strings"

	"runsheet.example/validate/issue"
)

// Row is one row of a sheet, split into cells.
type Row struct {
	Number int // as a spreadsheet shows it
	Cells  []Cell

	line  int             // in a CSV file, 0 elsewhere
	end   int             // the byte after it in the text that was split
	fault *csv.ParseError // the row could not be split to its end
}

// Cell is the cell of a column, counted from 0; empty beyond the last one.
func (r Row) Cell(column int) Cell {
	if column < 0 || column >= len(r.Cells) {
		return Cell{}
	}
	return r.Cells[column]
}

// Texts are the texts of the cells.
func (r Row) Texts() []string {
	texts := make([]string, len(r.Cells))
	for i, c := range r.Cells {
		texts[i] = c.Text
	}
	return texts
}

// Cell is one cell as text.
type Cell struct {
	Text string
	// Number marks a cell that is a number by its type. It is written with a
	// point, and read so whatever decimal mark the log has.
	Number     bool
	Line, Byte int   // in a CSV file, as editors count them; 0 elsewhere
	Note       *Note // nil when there is nothing to say
}

// Note is a rule about one cell that the reader of its sheet saw.
type Note struct {
	Rule    string
	Details issue.Text
}

// NewSource is a source with its bytes and their digest.
func NewSource(name string, data []byte) Source {
	sum := sha256.Sum256(data)
	return Source{Name: name, SHA256: hex.EncodeToString(sum[:]), Data: data}
}

// csvRows are the rows of the text of a CSV file without the first skipped lines.
// They are split on demand.
func csvRows(text []byte, delimiter rune, skipped int) iter.Seq[Row] {
	return func(yield func(Row) bool) {
		c := csv.NewReader(bytes.NewReader(text))
		c.Comma, c.FieldsPerRecord, c.ReuseRecord = delimiter, -1, true
		extra := 0 // lines that are not rows of their own, because of line breaks inside cells
		var row Row
		for {
			record, err := c.Read()
			if errors.Is(err, io.EOF) {
				return
			}
			row.Cells, row.fault, row.end = make([]Cell, len(record)), nil, int(c.InputOffset())
			for i, text := range record {
				line, column := c.FieldPos(i)
				row.Cells[i] = Cell{Text: text, Line: line + skipped, Byte: column}
			}
			n := len(record)
			if n > 0 {
				row.line = row.Cells[0].Line
			}
			// Reading from memory, encoding/csv has no errors of another kind.
			if errors.As(err, &row.fault) {
				row.line = row.fault.StartLine + skipped
				row.fault.Line += skipped
			}
			row.Number = row.line - extra
			if n > 0 {
				extra += row.Cells[n-1].Line - row.line + strings.Count(record[n-1], "\n")
			}
			if !yield(row) {
				return
			}
		}
	}
}

// delimiterOf settles the column separator: that of a first line "sep=;", as
// spreadsheets write it, or else what the text shows. It returns the text after
// such a line and how many lines that took.
func delimiterOf(text []byte, shown func([]byte) rune) (delimiter rune, rest []byte, skipped int) {
	first, after, _ := bytes.Cut(text, []byte("\n"))
	sep, ok := bytes.CutPrefix(bytes.ToLower(bytes.TrimRight(first, "\r")), []byte("sep="))
	if ok && len(sep) == 1 && strings.ContainsRune(",;\t", rune(sep[0])) {
		return rune(sep[0]), after, 1
	}
	return shown(text), text, 0
}

// IsBlank reports a row with nothing in it.
func (r Row) IsBlank() bool {
	return !slices.ContainsFunc(r.Cells, func(c Cell) bool { return c.Note != nil || strings.TrimSpace(c.Text) != "" })
}

// filled counts the cells with content.
func filled(cells []Cell) (n int) {
	for _, c := range cells {
		if strings.TrimSpace(c.Text) != "" {
			n++
		}
	}
	return n
}
