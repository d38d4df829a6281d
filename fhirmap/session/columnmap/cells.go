package columnmap

import (
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// builder gathers rows for one sheet of ours from one sheet of theirs.
type builder struct {
	table session.MappedTable
	at    map[string]int
}

func newBuilder(t *table, sheet session.Sheet, s session.Foreign) *builder {
	return &builder{
		table: session.MappedTable{
			Sheet: sheet, At: issue.Cell{File: s.File, Sheet: s.Tab},
			Dates: t.dates, Clock: t.clock, DecimalMark: t.mark,
		},
		at: map[string]int{},
	}
}

// column finds the place of one of our columns, which is new at first.
func (b *builder) column(name string, unit session.Unit) int {
	if i, ok := b.at[name]; ok {
		return i
	}
	i := len(b.table.Columns)
	b.at[name] = i
	b.table.Columns = append(b.table.Columns, session.MappedColumn{Name: name, Unit: unit})
	return i
}

// row is a row of ours being filled.
type row struct {
	key    string
	at     issue.Cell
	cells  map[int]session.MappedCell
	filled bool // it holds something beside a time and what the map states
}

func newRow(key string, at issue.Cell) *row {
	return &row{key: key, at: at, cells: map[int]session.MappedCell{}}
}

// add makes the row one of the table. Columns that come up later are empty in
// it.
func (b *builder) add(r *row) {
	out := session.MappedRow{Key: r.key, At: r.at}
	for i := range b.table.Columns {
		c, ok := r.cells[i]
		if !ok {
			c.At = r.at
			c.Absence = session.Present
		}
		out.Cells = append(out.Cells, c)
	}
	b.table.Rows = append(b.table.Rows, out)
}

// state adds the values that the map itself has.
func (b *builder) state(r *row, set []constant) {
	for _, c := range set {
		i := b.column(c.target.column.Name, session.Unit{})
		if _, have := r.cells[i]; !have {
			r.cells[i] = stated(c.text, r.at)
		}
	}
}

// stated is a cell that the map states itself.
func stated(text string, at issue.Cell) session.MappedCell {
	return session.MappedCell{Cell: session.Cell{Text: text}, At: at, Absence: session.Present}
}

// place is a cell of theirs with its place.
type place struct {
	session.Cell
	at issue.Cell
}

// values makes our cells of one of theirs: one for each target, in order.
func (t *table) values(c *column, p place) []session.MappedCell {
	whole := session.MappedCell{Cell: p.Cell, At: p.at, Absence: session.Present}
	whole.Text = c.withoutPrefix(whole.Text)
	if absence, ok := t.absences[plain(whole.Text)]; ok && whole.Text != "" {
		whole.Absence = absence
	}
	cells := slices.Repeat([]session.MappedCell{whole}, len(c.targets))
	for i := 1; i < len(cells); i++ {
		cells[i].Note = nil // said once
	}
	if c.split != "" && whole.Absence == session.Present && !standsForNothing(whole.Text) {
		t.splitInto(c, cells)
	}
	for i := range cells {
		t.translate(c.targets[i], &cells[i])
	}
	return cells
}

// withoutPrefix cuts the first prefix of the column that a text begins with. A
// letter right after it belongs to another word.
func (c *column) withoutPrefix(text string) string {
	for _, prefix := range c.prefixes {
		if n := len(prefix); len(text) >= n && plain(text[:n]) == prefix {
			rest := strings.TrimLeft(text[n:], ":= \t\u00A0")
			if first, _ := utf8.DecodeRuneInString(text[n:]); !unicode.IsLetter(first) {
				return rest
			}
		}
	}
	return text
}

// standsForNothing are the texts that mean no value in every log; a cell for
// several columns may have one of them for all.
func standsForNothing(text string) bool {
	switch plain(text) {
	case "", "-", "\u2013", "\u2014", "\u2212", "?", "n/a", "na", "n.a.", "not done":
		return true
	}
	return false
}

// splitInto divides a cell's text among its targets.
func (t *table) splitInto(c *column, cells []session.MappedCell) {
	parts := strings.Split(cells[0].Text, c.split)
	if c.split == " " {
		parts = strings.Fields(cells[0].Text)
	}
	if len(parts) != len(cells) {
		cells[0].Note = &session.Note{Rule: "map-split", Details: issue.T("the map expects {} values in this cell", len(cells))}
		for i := range cells {
			cells[i].Absence = session.Unreadable
		}
		return
	}
	for i, part := range parts {
		cells[i].Text, cells[i].Number = strings.TrimSpace(part), false
		if absence, ok := t.absences[plain(part)]; ok {
			cells[i].Absence = absence
		}
	}
}

// translate puts our word for theirs, and cuts off the unit of the column that
// a number format of a workbook shows after its number.
func (t *table) translate(to target, c *session.MappedCell) {
	if number, unit, shown := strings.Cut(c.Text, " "); shown && c.Number && to.column.Kind == session.KindNumber && to.isUnit(unit) {
		c.Text = number
	}
	if ours, ok := t.words[to.column.Name][plain(c.Text)]; ok {
		c.Text = ours
	}
}

// put writes cells of one column of theirs into a row of ours. It reports the
// first target that holds something else already.
func (b *builder) put(r *row, c *column, cells []session.MappedCell) (conflict *session.MappedCell) {
	for i, cell := range cells {
		to := c.targets[i]
		at := b.column(to.column.Name, to.unit)
		old, have := r.cells[at]
		switch {
		case have && cell.Text == "" && (old.Text != "" || cell.Note == nil):
			continue
		case have && old.Text != "" && old.Text != cell.Text:
			if conflict == nil {
				conflict = &old
			}
			continue
		case have && old.Text == cell.Text && cell.Text != "":
			continue
		}
		r.cells[at] = cell
		if cell.Text != "" || cell.Note != nil {
			r.filled = r.filled || to.column.Kind != session.KindTime
			if to.unitText != "" {
				unit := stated(to.unitText, cell.At)
				r.cells[b.column(to.unitName, session.Unit{})] = unit
			}
		}
	}
	return conflict
}

// choose puts the cells of the first or last row of a session with a value into a
// row of ours. It takes texts that mean no value only if no row has one.
func (b *builder) choose(r *row, c *column, cells []session.MappedCell) {
	says := func(cell session.MappedCell) bool {
		return cell.Note != nil || cell.Absence != session.NotRecorded && !standsForNothing(cell.Text)
	}
	have := slices.ContainsFunc(c.targets, func(to target) bool { return says(r.cells[b.column(to.column.Name, to.unit)]) })
	now := slices.ContainsFunc(cells, says)
	if have && (c.take == "first" || !now) {
		return
	}
	if now {
		for _, to := range c.targets {
			delete(r.cells, b.column(to.column.Name, to.unit))
		}
	}
	b.put(r, c, cells)
}

// timeColumn is the column with the time of a row.
func timeColumn(sheet session.Sheet) string {
	if sheet == session.SheetLabs {
		return "drawn_time"
	}
	return "time"
}
