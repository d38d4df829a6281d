package columnmap

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// bound is a column of the map found in a sheet.
type bound struct {
	*column
	position int
}

// boundGroup is a group, or one number of a repeated group, found in a sheet.
type boundGroup struct {
	*group
	columns []bound
	number  int
	build   *builder
}

// rowsReader reads one sheet that has rows under headings.
type rowsReader struct {
	*reading
	t        *table
	s        session.Foreign
	headings headings
	sessions []bound
	groups   []boundGroup
	key      []int
	build    *builder
	builders []*builder
	used     map[int]bool
}

// rows reads one sheet with rows under headings.
func (r *reading) rows(t *table, s session.Foreign) {
	w := &rowsReader{reading: r, t: t, s: s, used: map[int]bool{}}
	w.headings = findHeadings(t, s)
	w.build = w.newBuilder(session.SheetSessions)
	w.bindAll()
	w.listUnknown()
	w.readRows()
	for _, b := range w.builders {
		if len(b.table.Rows) > 0 {
			r.mapped.Tables = append(r.mapped.Tables, b.table)
		}
	}
	if s.Seen == nil {
		return
	}
	read := map[int]bool{}
	for _, row := range w.dataRows(func(session.Why, int) {}) {
		read[row.Number] = true
	}
	for _, f := range s.Seen(func(row int) bool { return read[row] }) {
		if len(f.Cells) == 0 || f.Cells[0].Column == 0 || w.used[f.Cells[0].Column-1] {
			r.findings = append(r.findings, f)
		}
	}
}

func (w *rowsReader) newBuilder(sheet session.Sheet) *builder {
	b := newBuilder(w.t, sheet, w.s)
	w.builders = append(w.builders, b)
	return b
}

// bindAll finds every column of the map in the sheet.
func (w *rowsReader) bindAll() {
	var others []bound
	for i := range w.t.columns {
		c := &w.t.columns[i]
		position, ok := w.find(c)
		if !ok {
			continue
		}
		if c.targets[0].sheet == session.SheetSessions {
			w.sessions = append(w.sessions, bound{c, position})
		} else {
			others = append(others, bound{c, position})
		}
	}
	// Columns of another sheet beside those of the session make one row of it.
	for _, sheet := range ofSession {
		g := boundGroup{group: &group{sheet: sheet}}
		for _, b := range others {
			if b.targets[0].sheet == sheet {
				g.columns = append(g.columns, b)
			}
		}
		for _, c := range w.t.set {
			if c.target.sheet == sheet {
				g.group.set = append(g.group.set, c)
			}
		}
		if len(g.columns) > 0 {
			g.build = w.newBuilder(sheet)
			w.groups = append(w.groups, g)
		}
	}
	for i := range w.t.groups {
		w.bindGroup(&w.t.groups[i])
	}
	for _, text := range w.t.entry.Key {
		m, err := newMatcher(text)
		at := w.headings.matching(m)
		if err != nil || len(at) == 0 {
			w.missing(text, false)
			continue
		}
		w.key = append(w.key, at[0])
		w.used[at[0]] = true
	}
}

// bindGroup finds the columns of a group, for each number its headings have.
func (w *rowsReader) bindGroup(g *group) {
	b := w.newBuilder(g.sheet)
	if !g.numbers {
		one := boundGroup{group: g, build: b}
		for i := range g.columns {
			if position, ok := w.find(&g.columns[i]); ok {
				one.columns = append(one.columns, bound{&g.columns[i], position})
			}
		}
		if len(one.columns) > 0 {
			w.groups = append(w.groups, one)
		}
		return
	}
	byNumber := map[int][]bound{}
	for i := range g.columns {
		c := &g.columns[i]
		found := false
		for position, heading := range w.headings.names {
			n, ok := c.heading.number(heading)
			if !ok || w.used[position] || len(g.entry.Numbers) > 0 && !slices.Contains(g.entry.Numbers, n) {
				continue
			}
			byNumber[n] = append(byNumber[n], bound{c, position})
			w.used[position], found = true, true
		}
		if !found {
			w.missing(c.entry.Heading, c.entry.Optional)
		}
	}
	var numbers []int
	for n := range byNumber {
		numbers = append(numbers, n)
	}
	slices.Sort(numbers)
	for _, n := range numbers {
		w.groups = append(w.groups, boundGroup{g, byNumber[n], n, b})
	}
}

// find finds one column of the map by its letter, its heading, or both.
func (w *rowsReader) find(c *column) (int, bool) {
	if c.letter >= 0 {
		heading := w.headings.name(c.letter)
		if c.entry.Heading != "" && !c.heading.match(heading) {
			w.missing(c.entry.Heading, c.entry.Optional)
			return 0, false
		}
		w.used[c.letter] = true
		return c.letter, true
	}
	at := w.headings.matching(c.heading)
	switch {
	case len(at) == 0:
		w.missing(c.entry.Heading, c.entry.Optional)
		return 0, false
	case len(at) > 1:
		var others []issue.Cell
		for _, i := range at {
			w.used[i] = true
			others = append(others, w.headingCell(i))
		}
		w.partial = true
		w.say("map-heading-ambiguous", "this heading of the map stands in the sheet more than once", others[0], others[1:]...)
		return 0, false
	}
	w.used[at[0]] = true
	return at[0], true
}

func (w *rowsReader) missing(heading string, optional bool) {
	if optional {
		return
	}
	f := w.say("map-heading-missing", "the sheet has no such heading", issue.Cell{File: w.s.File, Sheet: w.s.Tab, Row: w.headings.row})
	f.Expected = issue.Literal(heading)
}

func (w *rowsReader) headingCell(position int) issue.Cell {
	return issue.Cell{File: w.s.File, Sheet: w.s.Tab, Row: w.headings.row, Column: position + 1, Heading: w.headings.name(position)}
}

// listUnknown names the columns with content that are not read.
func (w *rowsReader) listUnknown() {
	filled := map[int]bool{}
	width := len(w.headings.names)
	for _, row := range w.dataRows(w.leave) {
		for i, c := range row.Cells {
			if c.Text == "" && c.Note == nil {
				continue
			}
			filled[i], width = true, max(width, i+1)
			if why := session.CellUnmapped; !w.used[i] {
				if matchesAny(w.t.ignored, w.headings.name(i)) {
					why = session.CellByMap
				}
				at := w.headingCell(i)
				at.Row = row.Number
				w.tally.Leave(why, at)
			}
		}
	}
	for i := range width {
		name := w.headings.name(i)
		if w.used[i] || !filled[i] && name == "" || matchesAny(w.t.ignored, name) {
			continue
		}
		f := w.say("log-heading-unknown", "the map does not name this column; what stands in it is not sent", w.headingCell(i))
		f.Value = name
	}
}

func matchesAny(all []matcher, text string) bool {
	return slices.ContainsFunc(all, func(m matcher) bool { return m.match(text) })
}

// leave notes a row that is not read.
func (w *rowsReader) leave(why session.Why, row int) {
	w.tally.Leave(why, issue.Cell{File: w.s.File, Sheet: w.s.Tab, Row: row})
}

// dataRows are the rows below the headings that the map does not skip; it
// calls leave for those that it skips.
func (w *rowsReader) dataRows(leave func(session.Why, int)) []session.Row {
	first, last := w.headings.next, w.t.entry.LastRow
	if w.t.entry.FirstRow > 0 {
		first = w.t.entry.FirstRow
	}
	var rows []session.Row
	for _, row := range w.s.Rows {
		switch {
		case row.Number < w.headings.next:
			continue
		case row.IsBlank():
			leave(session.RowEmpty, row.Number)
			continue
		case row.Number < first || last > 0 && row.Number > last || matchesAny(w.t.skipped, firstFilled(row)):
			leave(session.RowByMap, row.Number)
			continue
		}
		rows = append(rows, row)
	}
	return rows
}

func firstFilled(row session.Row) string {
	for _, c := range row.Cells {
		if c.Text != "" {
			return c.Text
		}
	}
	return ""
}

// readRows puts the rows into the tables.
func (w *rowsReader) readRows() {
	var current *row
	onlyTimes := 0
	rows := w.dataRows(func(session.Why, int) {})
	w.tally.Rows += len(rows)
	for _, theirs := range rows {
		at := issue.Cell{File: w.s.File, Sheet: w.s.Tab, Row: theirs.Number}
		key := w.rowKey(theirs, current)
		if len(w.sessions) > 0 && (current == nil || current.key != key) {
			w.close(current)
			current = newRow(key, at)
		}
		for _, b := range w.sessions {
			w.sessionCell(current, b, theirs)
		}
		for i := range w.groups {
			if !w.groupRow(&w.groups[i], key, at, theirs) {
				onlyTimes++
			}
		}
	}
	w.close(current)
	w.reportOnlyTimes(onlyTimes)
}

func (w *rowsReader) reportOnlyTimes(n int) {
	if n > 0 {
		f := w.say("log-row-empty", issue.OneOrMany(n, "{} row with a time and nothing else", "{} rows with a time and nothing else"), issue.Cell{File: w.s.File, Sheet: w.s.Tab})
		f.Details.Args = []any{n}
	}
}

func (w *rowsReader) close(r *row) {
	if r == nil {
		return
	}
	var own []constant
	for _, c := range w.t.set {
		if c.target.sheet == session.SheetSessions {
			own = append(own, c)
		}
	}
	w.build.state(r, own)
	w.build.add(r)
}

// rowKey is what the rows of a session have in common: the cells of the key,
// those of the row before where they are empty, or the row itself. Rows that
// name their session by a column have none.
func (w *rowsReader) rowKey(theirs session.Row, current *row) string {
	if len(w.key) == 0 {
		if len(w.sessions) == 0 {
			return ""
		}
		return fmt.Sprintf("%s|%s|%d", w.s.File, w.s.Tab, theirs.Number)
	}
	var parts []string
	for _, i := range w.key {
		parts = append(parts, plain(theirs.Cell(i).Text))
	}
	key := strings.Join(parts, "|")
	if strings.Trim(key, "|") != "" || current == nil {
		return key
	}
	if w.another(current, theirs) {
		return fmt.Sprintf("|%d", theirs.Number)
	}
	return current.key
}

// another reports a row without a key that says something else than the rows
// of the session so far in several columns: it begins a session of its own.
func (w *rowsReader) another(current *row, theirs session.Row) bool {
	const several = 3
	differ := 0
	for _, b := range w.sessions {
		to := b.targets[0]
		old := current.cells[w.build.column(to.column.Name, to.unit)]
		now := w.t.values(b.column, w.placeOf(b.position, theirs))[0].Text
		if b.take == "" && now != "" && old.Text != "" && now != old.Text {
			differ++
		}
	}
	return differ >= several
}

func (w *rowsReader) placeOf(position int, theirs session.Row) place {
	at := issue.Cell{File: w.s.File, Sheet: w.s.Tab, Row: theirs.Number, Column: position + 1, Heading: w.headings.name(position)}
	return place{theirs.Cell(position), at}
}

func (w *rowsReader) sessionCell(r *row, b bound, theirs session.Row) {
	p := w.placeOf(b.position, theirs)
	cells := w.t.values(b.column, p)
	if b.take != "" {
		w.build.choose(r, b.column, cells)
		return
	}
	if old := w.build.put(r, b.column, cells); old != nil {
		// The rows contradict each other, so the value cannot be used.
		for i, to := range b.targets {
			cell := session.MappedCell{Cell: p.Cell, At: p.at, Absence: session.Unreadable}
			if cell.Number, cell.Note = false, nil; i == 0 {
				cell.Note = &session.Note{Rule: "map-rows-differ", Details: issue.T("row {} says something else of the same session", old.At.Row)}
			}
			r.cells[w.build.column(to.column.Name, to.unit)] = cell
		}
	}
}

// groupRow makes one row of another sheet. It reports false when there is a
// time and nothing else.
func (w *rowsReader) groupRow(g *boundGroup, key string, at issue.Cell, theirs session.Row) bool {
	r := newRow(key, at)
	if len(g.columns) > 0 {
		r.at.Column, r.at.Heading = g.columns[0].position+1, w.headings.name(g.columns[0].position)
	}
	timed := false
	for _, b := range g.columns {
		p := w.placeOf(b.position, theirs)
		timed = timed || p.Text != ""
		g.build.put(r, b.column, w.t.values(b.column, p))
	}
	if !r.filled {
		return !timed
	}
	if g.entry.At != "" {
		g.build.timed(r, g.group, g.number)
	}
	g.build.state(r, g.set)
	g.build.add(r)
	return true
}

// timed fills in the time that the map counts from the session's own.
func (b *builder) timed(r *row, g *group, number int) {
	i := b.column(timeColumn(g.sheet), session.Unit{})
	if old, have := r.cells[i]; have && old.Text != "" {
		return
	}
	minutes := g.entry.EveryMin * number
	text := g.entry.At
	if minutes > 0 {
		text = fmt.Sprintf("+ %d min", minutes)
	}
	r.cells[i] = session.MappedCell{
		Cell: session.Cell{Text: text}, At: r.at, Absence: session.Present,
		Relative: &session.Relative{FromEnd: g.entry.At == "end", After: time.Duration(minutes) * time.Minute},
	}
}
