package session

import (
	"runsheet.example/validate/issue"
)

// newMappedReader binds a mapped table to the columns of the log. Columns that
// the log cannot do without and the map does not have are added empty.
func newMappedReader(t *MappedTable, findings *collector) *sheetReader {
	s := &sheetReader{file: t.At.File, tab: t.At.Sheet, sheet: t.Sheet, findings: findings, mapped: t, source: make([]Row, len(t.Rows))}
	for i, row := range t.Rows {
		s.source[i] = Row{Number: row.At.Row, Cells: make([]Cell, len(row.Cells))}
		for j, c := range row.Cells {
			s.source[i].Cells[j] = c.Cell
		}
	}
	have := map[string]bool{}
	for i, c := range t.Columns {
		column, known := columnHeaded(t.Sheet, c.Name)
		if !known || have[c.Name] {
			panic("session: a mapped table has an unknown column or has one twice: " + c.Name)
		}
		have[c.Name] = true
		s.bindMapped(column.own, i, c.Unit)
	}
	for i := range Columns {
		if c := &Columns[i]; c.Sheet == t.Sheet && c.Required && !have[c.Name] {
			s.bindMapped(c, len(s.headings), Unit{})
		}
	}
	return s
}

func (s *sheetReader) bindMapped(c *Column, position int, unit Unit) {
	bound := boundColumn{Column: c, position: position, written: unit}
	if unit.code != "" {
		in := *c
		in.Unit = unit.code
		bound.Column = &in
	}
	s.columns = append(s.columns, bound)
	s.headings = append(s.headings, c.Name)
}

// mappedCell is a cell of the current row when it comes through a column map.
func (s *sheetReader) mappedCell(position int) (MappedCell, bool) {
	if s.mapped == nil || s.next == 0 || position >= len(s.row.Cells) {
		return MappedCell{}, false
	}
	return s.mapped.Rows[s.next-1].Cells[position], true
}

// key is what ties the current row to the rows of other tables.
func (s *sheetReader) key() string {
	if s.mapped == nil {
		return ""
	}
	return s.mapped.Rows[s.next-1].Key
}

// absence recognises a cell that means no value, by the words of the log
// or by those the map declares, and one that its own finding leaves unread.
func (s *sheetReader) absence(position int) (Absence, bool) {
	if position == s.split {
		return Unreadable, true
	}
	if c, ok := s.mappedCell(position); ok && c.Absence != Present {
		return c.Absence, true
	}
	return absenceOf(s.text(position))
}

// readDate and readClock read in the forms that the map declares, and in the
// ones that every log may use.
func (s *sheetReader) readDate(text, style string) dateReading {
	if s.mapped != nil {
		return s.mapped.Dates.read(text, style)
	}
	return readDate(text, style)
}

func (s *sheetReader) readClock(text, style string) clockReading {
	form := s.clock
	if s.mapped != nil && s.mapped.Clock.form != nil {
		form = s.mapped.Clock
	}
	if s.mapped != nil || form.form != nil {
		if clock, ok := form.read(text); ok {
			return clockReading{clock: clock, ok: true}
		}
	}
	return readClock(text, style)
}

// conversion counts the numbers of a column that are sent in another unit.
type conversion struct {
	count           int
	at              issue.Cell
	written, became string
}

// reportConversions reports conversions, once for each column.
func (r *reader) reportConversions(s *sheetReader) {
	for _, c := range s.columns {
		one, ok := s.converted[c.position]
		if !ok {
			continue
		}
		f := spot{cell: one.at}.finding("map-converted",
			issue.OneOrMany(one.count, "{} number of this column is sent in another unit than written", "{} numbers of this column are sent in another unit than written"), one.count)
		f.Value, f.Expected = one.written, issue.Literal(one.became)
		r.add(f, nil)
	}
}
