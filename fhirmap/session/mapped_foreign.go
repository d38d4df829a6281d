package session

import (
	"strings"

	"runsheet.example/validate/issue"
)

// Foreign is a sheet of another shape than the log's, split into cells.
type Foreign struct {
	// File is the file's name, Tab the sheet's name in a workbook.
	File, Tab string
	Hidden    bool
	Rows      []Row // with texts without surrounding white space
	// Merged are the merged ranges, such as "B1:D1".
	Merged []string
	// Seen are findings about columns of the sheet, such as formulas in them,
	// as far as the rows for which read is true are concerned; nil for none.
	Seen func(read func(row int) bool) []issue.Finding
}

// ReadForeignCSV splits a CSV file of any shape into cells and counts them in
// size. whole is false when the file could not be read to its end.
func ReadForeignCSV(name string, data []byte, size *Size) (sheet Foreign, source Source, findings []issue.Finding, whole bool) {
	var c collector
	source, sheet.File = NewSource(name, data), name
	d, ok := decode(name, data, &c)
	source.Encoding = d.encoding
	if !ok {
		return sheet, source, c.done(), false
	}
	delimiter, text, skipped := delimiterOf(d.text, evenDelimiter)
	source.Delimiter = delimiter
	for row := range csvRows(text, delimiter, skipped) {
		at := spot{cell: issue.Cell{File: name, Row: row.Number}, line: row.line}
		if row.fault != nil {
			f := at.finding("log-quote", "the quotation marks in this row do not pair, so the row is left out")
			f.Line, f.Column = row.fault.Line, row.fault.Column
			c.add(f, nil)
			c.wholeFile = true // the row may be of any session
			continue
		}
		if !size.Row(len(row.Cells)) || len(row.Cells) > maxColumns {
			c.refuse(at.finding("log-too-large", TooManyRows))
			return sheet, source, c.done(), false
		}
		if !row.IsBlank() {
			sheet.Rows = append(sheet.Rows, row.Trimmed())
		}
	}
	return sheet, source, c.done(), !c.wholeFile
}

// Trimmed is the row with its texts as those of a foreign sheet. A text that is
// too long is left out.
func (r Row) Trimmed() Row {
	for i := range r.Cells {
		c := &r.Cells[i]
		if len(c.Text) > maxCell {
			c.Text, c.Note = "", &Note{"log-too-large", issue.T("the cell holds more text than a cell can; a quotation mark may never be closed")}
		}
		c.Text = strings.TrimSpace(c.Text)
	}
	return r
}

// evenDelimiter is the separator that splits most of the first lines into the
// same number of columns, more than one.
func evenDelimiter(text []byte) (delimiter rune) {
	delimiter, best := ',', 0
	for _, try := range []rune{';', '\t', ','} {
		if score := evenness(text, try); score > best {
			delimiter, best = try, score
		}
	}
	return delimiter
}

// evenness is how many of the first rows have the commonest number of cells,
// times that number; 0 when that is one.
func evenness(text []byte, delimiter rune) int {
	const sample = 40
	count := map[int]int{}
	looked := 0
	for row := range csvRows(text, delimiter, 0) {
		if looked++; looked > sample {
			break
		}
		if row.fault == nil {
			count[len(row.Cells)]++
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
