package check

import (
	"maps"
	"slices"
	"strings"
	"time"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// habits looks for numbers that were hardly read off a display: rows copied
// down, and last digits that are nearly always the same.
func (c *checker) habits() {
	c.copiedSessions()
	c.copiedReadings()
	c.digits()
	c.dragged()
	c.copiedDown()
	c.slippedUp()
}

// copiedSessions finds a session whose measurements are all the same as those
// of an earlier one. Two weights or pressures agree now and then, four and
// more measurements never do.
func (c *checker) copiedSessions() {
	const least, near = 4, 10 * time.Minute // of a session that begins or ends at a reading (common practice)
	seen := map[string]*session.Session{}
	for _, s := range c.log.Sessions {
		if !held(s) {
			continue
		}
		key, n := keyOf(s.Value, measuredFields)
		if n < least {
			continue
		}
		first, again := seen[key]
		if !again {
			seen[key] = s
			continue
		}
		if first.Date.OK() && s.Date.OK() && first.Date.Time.Equal(s.Date.Time) {
			continue // the same session twice, reported as such
		}
		f := at("month-copied", "all measurements of this session are the same as those of an earlier one", s.Cell)
		f.Cells = append(f.Cells, first.Cell)
		if s.Start.OK() && first.Start.OK() && clock(s.Start)+clock(s.End) == clock(first.Start)+clock(first.End) { // its times are pasted too
			f.Cells = append(f.Cells, s.Start.Cell, s.End.Cell)
			if i := slices.IndexFunc(s.Readings, func(r *session.Reading) bool {
				return r.At.OK() && !clockWithin(r.At.Time, s.Start.Time.Add(-near), s.End.Time.Add(near))
			}); i >= 0 {
				f.Details = f.Details.And(issue.T("its start and end do not fit its readings"))
				f.Cells = append(f.Cells, s.Readings[i].At.Cell)
			}
			c.explain(s, "clin-outside-session", "month-copied", "clin-clock", "clin-uf-rate", "clin-uf-weights", "clin-uf-falls")
		}
		c.add(f, s)
	}
}

// readFields are the columns that a person reads off each time. Settings of the
// machine may repeat.
var readFields = []session.Field{
	"bp_systolic", "bp_diastolic", "pulse",
	"arterial_line_pressure", "venous_line_pressure", "transmembrane_pressure",
}

// copiedReadings finds readings copied down within a session: three in a row
// or more with the same blood pressure, pulse and line pressures, or two with the same
// numbers in every column.
func (c *checker) copiedReadings() {
	const least, run, rows, values = 3, 3, 2, 6
	copied := c.wholeRows()
	c.again("all readings of this session are the same as those of an earlier one", func(s *session.Session) (key string, cell issue.Cell) {
		same, last, n := 1, "", 0
		var whole strings.Builder
		reported := false
		for i, r := range s.Readings {
			key, of := keyOf(r.Value, readFields)
			whole.WriteString(key + "|")
			n += of
			if of < least || key != last {
				same, last = 1, key
				continue
			}
			same++
			two := copied[r] && same < run && (i+1 == len(s.Readings) || !copied[s.Readings[i+1]])
			if reported || same != run && !two {
				continue
			}
			reported = true
			f := at("month-copied", "this reading and the ones before it are all the same", r.Cell)
			if two {
				f.Details = issue.T("all numbers of this reading are those of the one before it")
			}
			if copied[r] {
				f.Cells = append(f.Cells, cellsOf(r)...)
				c.findings = slices.DeleteFunc(c.findings, func(g issue.Finding) bool { return len(g.Cells) > 0 && slices.Contains(f.Cells, g.Cells[0]) })
			}
			c.add(f, s)
		}
		if len(s.Readings) < rows || n < values || reported {
			return "", cell
		}
		return whole.String(), s.Readings[0].Cell
	}, "clin-uf-falls")
}

// wholeRows are the readings that have the numbers of the one before them in every
// column, with several of what is read off, where hardly any other readings do.
func (c *checker) wholeRows() map[*session.Reading]bool {
	const several, few, many = 5, 0.05, 10 // columns, of the readings, readings (common practice)
	copied, n := map[*session.Reading]bool{}, 0
	for _, s := range c.log.Sessions {
		for i, r := range s.Readings[min(1, len(s.Readings)):] {
			_, read := keyOf(r.Value, append([]session.Field{"uf_so_far"}, readFields...))
			if read < several {
				continue
			}
			n++
			if maps.EqualFunc(s.Readings[i].Values, r.Values, func(a, b session.Value) bool { return a.Decimal.String() == b.Decimal.String() }) {
				copied[r] = true
			}
		}
	}
	if n < many || float64(len(copied)) > max(1, few*float64(n)) {
		return nil
	}
	return copied
}

// cellsOf are the cells of a reading's numbers, in the order of its columns.
func cellsOf(r *session.Reading) (cells []issue.Cell) {
	for _, column := range session.Columns {
		if v := r.Value(column.Field); column.Sheet == session.SheetReadings && v.OK() && !slices.Contains(cells, v.Cell) {
			cells = append(cells, v.Cell)
		}
	}
	return cells
}

// again finds the sessions whose key, if they have one, is that of an earlier one. It
// takes back the findings of rules that this explains.
func (c *checker) again(details string, of func(*session.Session) (key string, cell issue.Cell), explained ...string) {
	earlier := map[string]issue.Cell{}
	for _, s := range c.log.Sessions {
		key, cell := of(s)
		if first, again := earlier[key]; again && key != "" {
			f := at("month-copied", details, cell)
			f.Cells = append(f.Cells, first)
			c.explain(s, explained...)
			c.add(f, s)
			continue
		}
		earlier[key] = cell
	}
}

// explain takes back the findings of rules in a session, which another one explains.
func (c *checker) explain(s *session.Session, rules ...string) {
	c.findings = slices.DeleteFunc(c.findings, func(f issue.Finding) bool { return f.Session == s.ID && slices.Contains(rules, f.Rule) })
}

// keyOf are the values of columns in one row, and how many there are.
func keyOf(of func(session.Field) session.Value, fields []session.Field) (key string, n int) {
	var b strings.Builder
	for _, field := range fields {
		v := of(field)
		if v.OK() {
			n++
		}
		b.WriteString(v.Decimal.String() + ";")
	}
	return b.String(), n
}

// slippedUp finds a column of the readings that is full but for the last row of
// all, as when a cell above was deleted and the others moved up.
func (c *checker) slippedUp() {
	const least, kept = 20, 3
	var last *session.Reading
	var in *session.Session
	filled, place, rows := map[session.Field]int{}, map[session.Field]issue.Cell{}, 0
	for _, s := range c.log.Sessions {
		for _, r := range s.Readings {
			rows++
			for field, v := range r.Values {
				if v.OK() {
					filled[field]++
					place[field] = v.Cell
				}
			}
			if last == nil || r.Cell.Row > last.Cell.Row {
				last, in = r, s
			}
		}
	}
	if rows < least {
		return
	}
	for _, field := range readFields {
		if v := last.Value(field); v.Absence == session.NotRecorded && filled[field] == rows-1 && len(last.Values) > kept {
			cell := place[field]
			cell.Row = last.Cell.Row
			c.add(at("month-column-slipped", "only the last row has nothing in this column; the column may have slipped up", cell), in)
		}
	}
}

// digits finds blood pressures that nearly all end in the same digit. Honest
// ones end in each of ten digits about as often; a person who rounds to fives
// stays below the mark.
func (c *checker) digits() {
	const least, share = 30, 0.85
	for kind := range 2 {
		var counts [10]int
		var first [10]issue.Cell
		total := 0
		for _, s := range c.log.Sessions {
			for _, p := range pressuresOf(s) {
				text := p[kind].Decimal.String()
				if !p[kind].OK() || strings.Contains(text, ".") || text == "" {
					continue
				}
				digit := text[len(text)-1] - '0'
				if total++; counts[digit] == 0 {
					first[digit] = p[kind].Cell
				}
				counts[digit]++
			}
		}
		for digit, n := range counts {
			if total >= least && float64(n) >= share*float64(total) {
				f := at("month-digits", "nearly all blood pressures end in the same digit", first[digit])
				f.SetCounted(issue.T("{} of {} end in {}", n, total, digit))
				f.Expected = issue.T("what the cuff shows, without rounding")
				c.add(f, nil)
			}
		}
	}
}
