package session

import (
	"io"

	"runsheet.example/validate/issue"
)

// mappedSource hands out the rows of a mapped table.
type mappedSource struct {
	table MappedTable
	next  int // the row after the current one
	texts []string
	seen  []Note
}

// newMappedReader binds a mapped table to the columns of the log. Columns that
// the log cannot do without and the map does not have are added empty.
func newMappedReader(t MappedTable, findings *collector) *sheetReader {
	source := &mappedSource{table: t}
	s := &sheetReader{file: t.At.File, tab: t.At.Sheet, sheet: t.Sheet, findings: findings, source: source, mapped: source}
	have := map[string]bool{}
	for i, c := range t.Columns {
		column, known := columnNamed(t.Sheet, c.Name)
		if !known || have[column.Name] {
			panic("session: a mapped table has an unknown column or has one twice: " + c.Name)
		}
		have[column.Name] = true
		s.bindMapped(column, i, c.Unit)
	}
	for i := range Columns {
		if c := &Columns[i]; c.Sheet == t.Sheet && c.Required && !have[c.Name] {
			s.bindMapped(c, len(s.headings), Unit{})
		}
	}
	return s
}

func (s *sheetReader) bindMapped(c *Column, position int, unit Unit) {
	bound := boundColumn{Column: c, position: position, heading: c.Name, written: unit}
	if unit.code != "" {
		in := *c
		in.Unit = unit.code
		bound.Column = &in
	}
	s.columns = append(s.columns, bound)
	s.headings = append(s.headings, c.Name)
}

func (m *mappedSource) read() ([]string, error) {
	if m.next >= len(m.table.Rows) {
		return nil, io.EOF
	}
	row := m.table.Rows[m.next]
	m.next++
	m.texts, m.seen = m.texts[:0], nil
	for i, c := range row.Cells {
		m.texts = append(m.texts, c.Text)
		if c.Rule != "" {
			m.seen = append(m.seen, Note{Column: i, Rule: c.Rule, Details: c.Details})
		}
	}
	return m.texts, nil
}

// current is the row read last; before the first one it is the table's place.
func (m *mappedSource) current() MappedRow {
	if m.next == 0 {
		return MappedRow{At: m.table.At}
	}
	return m.table.Rows[m.next-1]
}

func (m *mappedSource) cell(position int) (MappedCell, bool) {
	cells := m.current().Cells
	if position >= len(cells) {
		return MappedCell{}, false
	}
	return cells[position], true
}

func (m *mappedSource) row() int { return m.current().At.Row }

func (m *mappedSource) line() int { return 0 }

func (m *mappedSource) place(position int) (line, column int) {
	c, _ := m.cell(position)
	return c.Line, c.Byte
}

func (m *mappedSource) isNumber(position int) bool {
	c, _ := m.cell(position)
	return c.Number
}

func (m *mappedSource) notes() []Note { return m.seen }

// spotAt is the place a cell of the current row was written at, or its row
// for one that is not there.
func (m *mappedSource) spotAt(position int) spot {
	c, ok := m.cell(position)
	if !ok || c.At.IsZero() {
		return spot{cell: m.current().At}
	}
	return spot{cell: c.At, line: c.Line, column: c.Byte}
}

func (s *sheetReader) mappedCell(position int) (MappedCell, bool) {
	if s.mapped == nil {
		return MappedCell{}, false
	}
	return s.mapped.cell(position)
}

// key is what ties the current row to the rows of other tables.
func (s *sheetReader) key() string {
	if s.mapped == nil {
		return ""
	}
	return s.mapped.current().Key
}

// absence recognises a cell that stands for no value, by the words of the log
// or by those the map declares.
func (s *sheetReader) absence(position int) (Absence, bool) {
	if c, ok := s.mappedCell(position); ok && c.Absence != Present {
		return c.Absence, true
	}
	return absenceOf(s.text(position))
}

// readDate and readClock read in the forms that the map declares, and in the
// ones that every log may use.
func (s *sheetReader) readDate(text, style string) dateReading {
	if s.mapped != nil {
		return s.mapped.table.Dates.read(text, style)
	}
	return readDate(text, style)
}

func (s *sheetReader) readClock(text, style string) clockReading {
	form := s.clock
	if s.mapped != nil && s.mapped.table.Clock.form != nil {
		form = s.mapped.table.Clock
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

// tellConversions shows what was converted, once for each column.
func (r *reader) tellConversions(s *sheetReader) {
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
