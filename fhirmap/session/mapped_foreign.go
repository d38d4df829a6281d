package session

import (
	"bytes"
	"crypto/sha256"
	"encoding/csv"
	"encoding/hex"
	"errors"
	"io"
	"strings"

	"runsheet.example/validate/issue"
)

// Foreign is a sheet of another shape than the log's, split into cells.
type Foreign struct {
	// File is the file's name, Tab the sheet's name in a workbook.
	File, Tab string
	Hidden    bool
	Rows      []ForeignRow
	// Merged are the merged ranges, such as "B1:D1".
	Merged []string
	// Seen are findings about columns of the sheet, such as formulas in them,
	// as far as the rows for which read is true are concerned; nil for none.
	Seen func(read func(row int) bool) []issue.Finding
}

// ForeignRow is one row with something in it.
type ForeignRow struct {
	Number int // as a spreadsheet shows it
	Cells  []ForeignCell
}

// Cell is the cell of a column, counted from 0; empty beyond the last one.
func (r ForeignRow) Cell(column int) ForeignCell {
	if column < 0 || column >= len(r.Cells) {
		return ForeignCell{}
	}
	return r.Cells[column]
}

// ForeignCell is one cell as text, without surrounding white space.
type ForeignCell struct {
	Text       string
	Number     bool // a number by its type
	Line, Byte int  // in a CSV file
	// Rule and Details report trouble with the cell.
	Rule    string
	Details issue.Text
}

// ReadForeignCSV splits a CSV file of any shape into cells and counts them in
// size. whole is false when the file could not be read to its end.
func ReadForeignCSV(name string, data []byte, size *Size) (sheet Foreign, source Source, findings []issue.Finding, whole bool) {
	var c collector
	sum := sha256.Sum256(data)
	source = Source{Name: name, SHA256: hex.EncodeToString(sum[:])}
	sheet.File = name
	d, ok := decode(name, data, &c)
	source.Encoding = d.encoding
	if !ok {
		return sheet, source, c.done(), false
	}
	delimiter, text, skipped := foreignDelimiter(d.text)
	source.Delimiter = delimiter
	rows := newCSVSource(text, delimiter, skipped)
	for {
		record, err := rows.read()
		if errors.Is(err, io.EOF) {
			break
		}
		at := spot{cell: issue.Cell{File: name, Row: rows.row()}, line: rows.line()}
		var fault *csv.ParseError
		if errors.As(err, &fault) {
			f := at.finding("log-quote", "the quotation marks in this row do not pair, so the row is left out")
			f.Line, f.Column = fault.Line, fault.Column
			c.add(f, nil)
			c.wholeFile = true // nobody knows whose row it is
			continue
		}
		if !size.Row(len(record)) || len(record) > maxColumns {
			c.refuse(at.finding("log-too-large", TooManyRows))
			return sheet, source, c.done(), false
		}
		if filledCells(record) == 0 {
			continue
		}
		sheet.Rows = append(sheet.Rows, foreignRow(rows, record))
	}
	return sheet, source, c.done(), !c.wholeFile
}

func foreignRow(rows *csvSource, record []string) ForeignRow {
	row := ForeignRow{Number: rows.row(), Cells: make([]ForeignCell, len(record))}
	for i, text := range record {
		line, column := rows.place(i)
		row.Cells[i] = ForeignCell{Text: strings.TrimSpace(text), Line: line, Byte: column}
		if len(text) > maxCell {
			row.Cells[i].Text = ""
			row.Cells[i].Rule, row.Cells[i].Details = "log-too-large", issue.T("the cell holds more text than a cell can; a quotation mark may never be closed")
		}
	}
	return row
}

// foreignDelimiter settles the column separator of a file with unknown
// headings: a first line "sep=;", or else the separator that splits most of
// the first lines into the same number of columns, more than one.
func foreignDelimiter(text []byte) (delimiter rune, rest []byte, skipped int) {
	first, after, _ := bytes.Cut(text, []byte("\n"))
	first = bytes.TrimRight(first, "\r")
	if sep, ok := bytes.CutPrefix(bytes.ToLower(first), []byte("sep=")); ok && len(sep) == 1 && strings.ContainsRune(",;\t", rune(sep[0])) {
		return rune(sep[0]), after, 1
	}
	delimiter, best := ',', 0
	for _, try := range []rune{';', '\t', ','} {
		if score := evenness(text, try); score > best {
			delimiter, best = try, score
		}
	}
	return delimiter, text, 0
}

// evenness is how many of the first rows have the commonest number of cells,
// times that number; 0 when that is one.
func evenness(text []byte, delimiter rune) int {
	const sample = 40
	rows := newCSVSource(text, delimiter, 0)
	count := map[int]int{}
	for range sample {
		record, err := rows.read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err == nil {
			count[len(record)]++
		}
	}
	best := 0
	for width, n := range count {
		if width > 1 {
			best = max(best, n*width)
		}
	}
	return best
}
