package columnmap

import (
	"strings"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// formReader reads one sheet that is a form for one session.
type formReader struct {
	*reading
	t    *table
	s    session.Foreign
	used map[[2]int]bool // row and column
	rows map[int]session.Row
}

// form reads one sheet that is a form for one session.
func (r *reading) form(t *table, s session.Foreign) {
	f := &formReader{r, t, s, map[[2]int]bool{}, map[int]session.Row{}}
	for _, row := range s.Rows {
		f.rows[row.Number] = row
	}
	at := issue.Cell{File: s.File, Sheet: s.Tab}
	build := newBuilder(t, session.SheetSessions, s)
	one := newRow(s.File+"|"+s.Tab, at)
	for i := range t.columns {
		c := &t.columns[i]
		p := f.place(c.row, c.letter)
		p.at.Heading = f.label(c.row, c.letter)
		if c.entry.Heading != "" && !c.heading.match(p.at.Heading) {
			f.wrongLabel(c, &p)
		}
		build.put(one, c, t.values(c, p))
	}
	blocks := f.blocks(one.key)
	if !one.filled && len(blocks) == 0 {
		if len(s.Rows) > 0 {
			r.say("log-row-empty", "the form of this sheet is not filled in", at)
		}
		return
	}
	build.state(one, t.set)
	build.add(one)
	f.tally.Rows++
	r.mapped.Tables = append(r.mapped.Tables, build.table)
	r.mapped.Tables = append(r.mapped.Tables, blocks...)
	f.listUnmapped()
	if s.Seen == nil {
		return
	}
	for _, one := range s.Seen(func(int) bool { return true }) {
		if at := one.Cells[0]; f.used[[2]int{at.Row, at.Column - 1}] {
			r.findings = append(r.findings, one)
		}
	}
}

func (f *formReader) place(row, column int) place {
	f.used[[2]int{row, column}] = true
	return place{f.rows[row].Cell(column), issue.Cell{File: f.s.File, Sheet: f.s.Tab, Row: row, Column: column + 1}}
}

// label is the text that stands to the left of a cell, or above it.
func (f *formReader) label(row, column int) string {
	cells := f.rows[row]
	for i := column - 1; i >= 0; i-- {
		if text := cells.Cell(i).Text; text != "" {
			return strings.TrimSpace(strings.TrimRight(text, ":"))
		}
	}
	return strings.TrimSpace(strings.TrimRight(f.rows[row-1].Cell(column).Text, ":"))
}

// wrongLabel reports a cell beside which the map expects another label: the
// form may have been shifted, so the cell is not read.
func (f *formReader) wrongLabel(c *column, p *place) {
	if c.entry.Optional && p.Text == "" {
		return
	}
	p.Note = &session.Note{Rule: "map-heading-missing", Details: issue.T("the label beside this cell is not the one of the map, so the cell is not read")}
	p.Text = ""
}

// blocks reads the rows on a form.
func (f *formReader) blocks(key string) []session.MappedTable {
	var tables []session.MappedTable
	for i := range f.t.groups {
		g := &f.t.groups[i]
		sub := *f.t
		sub.entry.HeadingRow, sub.entry.HeadingRows, sub.entry.Key = g.entry.HeadingRow, 1, nil
		w := &rowsReader{reading: f.reading, t: &sub, s: f.s, used: map[int]bool{}}
		if g.entry.HeadingRow > 0 {
			w.headings = headingsAt(f.s, g.entry.HeadingRow, 1)
		}
		sub.groups, sub.columns = nil, nil
		w.bindGroup(g)
		f.blockRows(w, g, key)
		for _, b := range w.builders {
			if len(b.table.Rows) > 0 {
				tables = append(tables, b.table)
			}
		}
	}
	return tables
}

// blockRows reads the rows of a block, up to its last row or, when the map
// names none, to the first empty one.
func (f *formReader) blockRows(w *rowsReader, g *group, key string) {
	end := 0
	if n := len(f.s.Rows); n > 0 {
		end = f.s.Rows[n-1].Number
	}
	if g.entry.LastRow > 0 {
		end = min(end, g.entry.LastRow)
	}
	onlyTimes := 0
	for number := g.entry.FirstRow; number <= end; number++ {
		theirs := f.rows[number]
		if theirs.IsBlank() {
			if g.entry.LastRow == 0 {
				break
			}
			continue
		}
		at := issue.Cell{File: f.s.File, Sheet: f.s.Tab, Row: number}
		for j := range w.groups {
			if !w.groupRow(&w.groups[j], key, at, theirs) {
				onlyTimes++
			}
			for _, b := range w.groups[j].columns {
				f.used[[2]int{number, b.position}] = true
			}
		}
	}
	w.reportOnlyTimes(onlyTimes)
}

// mostListed is how many cells one finding lists.
const mostListed = 20

// listUnmapped counts the filled cells that the map does not read, other than
// the labels beside those it reads, and names the ones with digits in them.
func (f *formReader) listUnmapped() {
	labels := map[string]bool{}
	for at := range f.used {
		labels[plain(f.label(at[0], at[1]))] = true
	}
	for _, g := range f.t.groups {
		for _, c := range f.rows[g.entry.HeadingRow].Cells {
			labels[plain(c.Text)] = true
		}
	}
	var cells []issue.Cell
	for _, row := range f.s.Rows {
		for i, c := range row.Cells {
			if c.Text == "" || f.used[[2]int{row.Number, i}] || labels[plain(strings.TrimRight(c.Text, ": "))] {
				continue
			}
			at := issue.Cell{File: f.s.File, Sheet: f.s.Tab, Row: row.Number, Column: i + 1, Heading: f.label(row.Number, i)}
			if matchesAny(f.t.ignored, at.Heading) {
				f.tally.Leave(session.CellByMap, at)
				continue
			}
			f.tally.Leave(session.CellUnmapped, at)
			if c.Number || startsWithDigit(c.Text) {
				cells = append(cells, at)
			}
		}
	}
	if len(cells) > mostListed {
		cells = cells[:mostListed]
	}
	if len(cells) > 0 {
		f.say("map-cells-unmapped", "there are numbers on this sheet that the map does not name; they are not sent", cells[0], cells[1:]...)
	}
}

func startsWithDigit(text string) bool { return text != "" && text[0] >= '0' && text[0] <= '9' }
