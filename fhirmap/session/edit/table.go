package edit

import (
	"bytes"
	"errors"
	"fmt"
	"slices"
	"strings"

	"runsheet.example/fhirmap/session"
)

// table is a CSV file, split into rows that keep their bytes.
type table struct {
	sheet     session.Sheet
	rows      []session.RawRow // of which the first holds the headings
	delimiter rune
	tail      []byte
}

func newTable(sheet session.Sheet, text []byte) *table {
	t := &table{sheet: sheet}
	t.rows, t.delimiter, t.tail = session.SplitRaw(sheet, text)
	return t
}

// copied is a table that can be changed while this one stays as it is.
func (t *table) copied() *table {
	c := *t
	c.rows = slices.Clone(t.rows)
	return &c
}

// text is the file as it stands.
func (t *table) text() []byte {
	var out bytes.Buffer
	for _, r := range t.rows {
		out.Write(r.Lead)
		out.Write(r.Raw)
	}
	out.Write(t.tail)
	return out.Bytes()
}

func (t *table) headings() []string {
	if len(t.rows) == 0 || t.rows[0].Broken {
		return nil
	}
	return t.rows[0].Cells
}

// column is the position of a column, -1 where there is none.
func (t *table) column(column string) int {
	headings := t.headings()
	if i := slices.IndexFunc(headings, func(h string) bool { return strings.TrimSpace(h) == column }); i >= 0 {
		return i
	}
	return slices.IndexFunc(headings, func(h string) bool { return session.HeadingName(t.sheet, h) == column })
}

// row is the index of a row below the headings, -1 where there is none.
func (t *table) row(number int) int {
	i, found := slices.BinarySearchFunc(t.rows, number, func(r session.RawRow, n int) int { return r.Number - n })
	if !found || i == 0 {
		return -1
	}
	return i
}

func (t *table) cell(number int, column string) string {
	i, at := t.row(number), t.column(column)
	if i < 0 || at < 0 || at >= len(t.rows[i].Cells) {
		return ""
	}
	return t.rows[i].Cells[at]
}

func (t *table) set(number int, column, text string) error {
	i := t.row(number)
	switch {
	case i < 0:
		return fmt.Errorf("there is no row %d", number)
	case t.rows[i].Broken:
		return fmt.Errorf("the quotation marks in row %d do not pair, so its cells cannot be told apart; remove the row, or mend it in a text editor", number)
	}
	at, err := t.columnFor(column, text)
	if err != nil || at < 0 {
		return err
	}
	t.write(&t.rows[i], at, text)
	return nil
}

// columnFor is the position of a column, which is added if the file lacks it
// and there is a text to put in it; -1 if not.
func (t *table) columnFor(column, text string) (int, error) {
	headings := t.headings()
	if len(headings) == 0 {
		return 0, errors.New("the file has no row of headings")
	}
	at := t.column(column)
	if at >= 0 || text == "" {
		return at, nil
	}
	if session.HeadingName(t.sheet, column) != column {
		return 0, fmt.Errorf("the sheet %s has no column %q", t.sheet, column)
	}
	for _, r := range t.rows[1:] {
		if len(r.Cells) > len(headings) && strings.TrimSpace(r.Cells[len(headings)]) != "" {
			return 0, fmt.Errorf("row %d has more cells than there are headings, so no column can be added; mend that row first", r.Number)
		}
	}
	t.write(&t.rows[0], len(headings), column)
	return len(headings), nil
}

// write puts a text into a row, in place of the cell at a position or after
// the last one.
func (t *table) write(r *session.RawRow, at int, text string) {
	r.Cells, r.Starts = slices.Clone(r.Cells), slices.Clone(r.Starts) // a copy may have them, too
	for len(r.Cells) <= at {
		if len(r.Cells) == at && text == "" {
			return
		}
		body := withoutEnd(r.Raw)
		r.Raw = slices.Concat(body, []byte(string(t.delimiter)), r.Raw[len(body):])
		r.Cells, r.Starts = append(r.Cells, ""), append(r.Starts, len(body)+1)
	}
	if r.Cells[at] == text {
		return
	}
	from, to := r.Starts[at], len(withoutEnd(r.Raw))
	if at+1 < len(r.Starts) {
		to = r.Starts[at+1] - 1
	}
	cell := []byte(text)
	if t.needsQuotes(text) || bytes.HasPrefix(r.Raw[from:to], []byte(`"`)) || text == "" && len(r.Cells) == 1 {
		cell = []byte(`"` + strings.ReplaceAll(text, `"`, `""`) + `"`)
	}
	r.Raw = slices.Concat(r.Raw[:from], cell, r.Raw[to:])
	for i := at + 1; i < len(r.Starts); i++ {
		r.Starts[i] += len(cell) - (to - from)
	}
	r.Cells[at] = text
}

// withoutEnd is a row without its line end.
func withoutEnd(raw []byte) []byte {
	return bytes.TrimSuffix(bytes.TrimSuffix(raw, []byte("\n")), []byte("\r"))
}

func (t *table) needsQuotes(text string) bool {
	return strings.ContainsAny(text, "\"\r\n") || strings.ContainsRune(text, t.delimiter) || strings.TrimSpace(text) != text
}

// add appends a row and returns its number.
func (t *table) add(texts map[string]string) (int, error) {
	columns := make([]string, 0, len(texts))
	for column := range texts {
		columns = append(columns, column)
	}
	slices.Sort(columns)
	for _, column := range columns {
		if _, err := t.columnFor(column, texts[column]); err != nil {
			return 0, err
		}
	}
	if len(t.rows) == 0 {
		return 0, errors.New("the file has no row of headings")
	}
	last, end := &t.rows[len(t.rows)-1], t.lineEnd()
	if last.Broken {
		return 0, fmt.Errorf("the quotation marks in row %d do not pair, so no row can follow it; mend it in a text editor", last.Number)
	}
	if len(t.tail) > 0 && !bytes.HasSuffix(t.tail, []byte("\n")) {
		t.tail = slices.Concat(t.tail, end)
	} else if len(t.tail) == 0 && !bytes.HasSuffix(last.Raw, []byte("\n")) {
		last.Raw = slices.Concat(last.Raw, end)
	}
	n := len(t.headings())
	r := session.RawRow{Number: last.Number + 1 + bytes.Count(t.tail, []byte("\n")), Lead: t.tail, Cells: make([]string, n), Starts: make([]int, n)}
	for i := range r.Starts {
		r.Starts[i] = i
	}
	r.Raw = slices.Concat(bytes.Repeat([]byte(string(t.delimiter)), n-1), end)
	if n == 1 { // an empty line would be no row
		r.Raw = slices.Concat([]byte(`""`), end)
	}
	for _, column := range columns {
		if at := t.column(column); at >= 0 {
			t.write(&r, at, texts[column])
		}
	}
	t.rows, t.tail = append(t.rows, r), nil
	return r.Number, nil
}

// lineEnd is how the file ends its lines.
func (t *table) lineEnd() []byte {
	if raw := t.rows[0].Raw; bytes.HasSuffix(raw, []byte("\n")) && !bytes.HasSuffix(raw, []byte("\r\n")) {
		return []byte("\n")
	}
	return []byte("\r\n")
}

// remove takes a row out. It reports false where there is none.
func (t *table) remove(number int) bool {
	i := t.row(number)
	if i < 0 {
		return false
	}
	lead, broken := t.rows[i].Lead, t.rows[i].Broken
	t.rows = slices.Delete(t.rows, i, i+1)
	if i < len(t.rows) {
		t.rows[i].Lead = slices.Concat(lead, t.rows[i].Lead)
	} else {
		t.tail = slices.Concat(lead, t.tail)
	}
	if broken { // which lines it took is not certain
		*t = *newTable(t.sheet, t.text())
		return true
	}
	for j := i; j < len(t.rows); j++ {
		t.rows[j].Number--
	}
	return true
}
