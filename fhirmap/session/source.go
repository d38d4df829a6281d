package session

import (
	"bytes"
	"encoding/csv"
	"errors"
	"strings"
)

// rowSource hands out the rows of one CSV file or one sheet of a workbook.
type rowSource interface {
	// read returns the cells of the next row, valid until the next call, and
	// io.EOF after the last one. With a *csv.ParseError the row could not be
	// split.
	read() ([]string, error)
	// row is the number of the current row, as a spreadsheet shows it.
	row() int
	// line is the first line of the current row, 0 where there are none.
	line() int
	// place is the line and the byte column of a cell of the current row, as
	// editors count them; 0 where there are none.
	place(position int) (line, column int)
	// isNumber reports a cell that is a number by its type.
	isNumber(position int) bool
	// notes are what the source has to say about cells of the current row.
	notes() []Note
}

// csvSource is the text of a CSV file as a source of rows.
type csvSource struct {
	csv    *csv.Reader
	fields int // of the current record
	first  int // first line of the current record
	number int
	// lineShift is how many lines were taken off the top of the file;
	// rowShift how far row numbers run behind lines, because of line breaks
	// inside cells.
	lineShift int
	rowShift  int
}

func newCSVSource(text []byte, delimiter rune, skipped int) *csvSource {
	c := &csvSource{csv: csv.NewReader(bytes.NewReader(text)), lineShift: skipped}
	c.csv.Comma = delimiter
	c.csv.FieldsPerRecord = -1
	c.csv.ReuseRecord = true
	return c
}

func (c *csvSource) read() ([]string, error) {
	record, err := c.csv.Read()
	c.advance(record)
	// Reading from memory, encoding/csv has no errors of another kind than
	// io.EOF and this.
	var fault *csv.ParseError
	if errors.As(err, &fault) {
		c.first = fault.StartLine + c.lineShift
		fault.Line += c.lineShift
	}
	return record, err
}

// advance moves the row and line numbers to the record just read.
func (c *csvSource) advance(record []string) {
	c.fields = len(record)
	if c.fields == 0 {
		return
	}
	first, _ := c.csv.FieldPos(0)
	last, _ := c.csv.FieldPos(c.fields - 1)
	c.first = first + c.lineShift
	c.number = c.first - c.rowShift
	c.rowShift += last - first + strings.Count(record[c.fields-1], "\n")
}

func (c *csvSource) row() int { return c.number }

func (c *csvSource) line() int { return c.first }

func (c *csvSource) place(position int) (line, column int) {
	if position >= c.fields {
		return c.first, 0
	}
	line, column = c.csv.FieldPos(position)
	return line + c.lineShift, column
}

func (c *csvSource) isNumber(int) bool { return false }

func (c *csvSource) notes() []Note { return nil }
