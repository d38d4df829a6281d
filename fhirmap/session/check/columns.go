package check

import (
	"maps"
	"math"
	"slices"
	"strings"
	"time"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/plausible"
)

// otherNames finds a session without rows in the other sheets, and rows that
// name an absent session. It replaces the findings of those rows by one at the
// name of the session.
func (c *checker) otherNames() {
	rows := map[string][]int{}
	broken := slices.ContainsFunc(c.read, func(f issue.Finding) bool { return f.Rule == "log-quote" && strings.EqualFold(f.File, "sessions.csv") })
	for i, f := range c.read {
		if f.Rule == "log-session-unknown" && broken { // the session may be after the quotation mark
			c.read[i].Rule = ""
			continue
		}
		foreign := func(g issue.Finding) bool {
			return g.Rule == "log-row-foreign" && g.File == f.File && g.Cells[0].Sheet == f.Cells[0].Sheet && g.Cells[0].Row == f.Cells[0].Row
		}
		if f.Rule == "log-row-too-long" && slices.ContainsFunc(c.read, foreign) {
			c.read[i].Rule = ""
		}
		if f.Rule == "log-session-unknown" {
			rows[f.Value] = append(rows[f.Value], i)
		}
	}
	for _, name := range slices.Sorted(maps.Keys(rows)) {
		s := c.bare(name)
		if len(rows[name]) < 2 {
			continue
		}
		if s == nil {
			c.rowMissing(rows[name])
			continue
		}
		for _, i := range rows[name] {
			c.read[i].Rule = ""
		}
		c.misnamed[s] = true
		twice := slices.IndexFunc(c.read, func(f issue.Finding) bool { return f.Rule == "log-session-twice" && f.Cells[0] == s.Cell })
		if twice >= 0 {
			c.read[twice].Expected = issue.T("perhaps {}", name)
			continue
		}
		f := at("log-session-unknown", "the rows of the other sheets have another name for this session, so they are left out", s.Cell)
		f.Value, f.Expected = s.ID, issue.T("perhaps {}", name)
		c.add(f, s)
	}
}

// rowMissing puts the findings of rows that name one session into one.
func (c *checker) rowMissing(rows []int) {
	first := &c.read[rows[0]]
	for _, i := range rows[1:] {
		first.Cells = append(first.Cells, c.read[i].Cells...)
		c.read[i].Rule = ""
	}
	first.Details = issue.T("no session has the name of these {} rows, so they are left out", len(rows))
	first.Mend = issue.T("add the row of the session, or correct its name")
}

// slippedDown finds a column whose last value stands alone below all rows, and that
// has empty cells above: one of them was put in, and from there on each value fits the
// row above.
func (c *checker) slippedDown() {
	for i, f := range c.read {
		if f.Rule != "log-row-foreign" || !strings.HasPrefix(f.Details.String(), "this row has one number and nothing else") {
			continue
		}
		tail := f.Cells[0]
		field := session.Field("")
		rows := c.rowsOf(tail)
		for _, row := range rows {
			for one, v := range row.values {
				if v.OK() && v.Cell.Column == tail.Column {
					field = one
				}
			}
		}
		var gaps []sheetRow
		for _, row := range rows {
			if field != "" && !row.values[field].OK() {
				gaps = append(gaps, row)
			}
		}
		if len(gaps) == 0 {
			continue
		}
		if gaps[0].cell != gaps[0].session.Cell {
			slices.Reverse(gaps) // readings: those above may have been empty before
		}
		g := at("month-column-slipped", fitsAbove, tail)
		g.Cells, g.Severity, g.Expected = nil, f.Severity, issue.T("perhaps {}", f.Value)
		for _, gap := range gaps {
			cell := tail
			cell.Row = gap.cell.Row
			g.Cells = append(g.Cells, cell)
		}
		g.Cells = append(g.Cells, tail)
		g.Mend = issue.T("if this cell was put in, take it out, so that the values below move up by one row; if the number at the end is a total, take that row out")
		for _, row := range slices.Backward(rows) {
			if v := row.values[field]; v.OK() && row.cell.Row > g.Cells[0].Row {
				g.Expected = issue.T("perhaps {}", v.Text)
				c.suspect[v.Cell] = true
			}
		}
		of := gaps[0].session
		c.read[i].Rule = ""
		c.add(g, of)
	}
}

// sheetRow is a row of sessions or of readings.
type sheetRow struct {
	session *session.Session
	cell    issue.Cell
	values  map[session.Field]session.Value
}

// rowsOf are the rows of the sessions held, or of their readings, above a cell of
// their sheet, in order.
func (c *checker) rowsOf(cell issue.Cell) (rows []sheetRow) {
	for _, s := range c.inRows() {
		rows = append(rows, sheetRow{s, s.Cell, s.Values})
		for _, r := range s.Readings {
			rows = append(rows, sheetRow{s, r.Cell, r.Values})
		}
	}
	rows = slices.DeleteFunc(rows, func(r sheetRow) bool {
		return r.cell.File != cell.File || r.cell.Sheet != cell.Sheet || r.cell.Row >= cell.Row
	})
	slices.SortFunc(rows, func(a, b sheetRow) int { return a.cell.Row - b.cell.Row })
	return rows
}

// bare is the session held without rows in the other sheets that a name may
// mean: the one on the day in the name, or the only one; nil for none.
func (c *checker) bare(name string) *session.Session {
	var all, ofDay []*session.Session
	for _, s := range c.log.Sessions {
		if !held(s) || len(s.Readings)+len(s.Checks)+len(s.Medicines)+len(s.Labs)+len(s.Events) > 0 {
			continue
		}
		all = append(all, s)
		named := session.Session{ID: name, Date: s.Date}
		if day, ok := named.NamedDay(); ok && s.Date.OK() && day.Format(time.DateOnly) == s.Date.Time.Format(time.DateOnly) {
			ofDay = append(ofDay, s)
		}
	}
	if len(ofDay) == 1 {
		return ofDay[0]
	}
	if len(all) == 1 && session.Nearest(name, []string{all[0].ID}) != "" {
		return all[0]
	}
	return nil
}

// datesAlone finds dates that are those of the sessions' names in another
// order, as when the column was sorted without the others.
func (c *checker) datesAlone() bool {
	var dates, names []string
	var off []*session.Session
	for _, s := range c.dated() {
		day, ok := c.namedDay(s)
		if !ok {
			return false
		}
		dates, names = append(dates, s.Date.Time.Format(time.DateOnly)), append(names, day.Format(time.DateOnly))
		if !day.Equal(s.Date.Time) {
			off = append(off, s)
		}
	}
	slices.Sort(dates)
	slices.Sort(names)
	if len(off) <= fewest || !slices.Equal(dates, names) {
		return false
	}
	first := slices.MinFunc(off, byRow)
	day, _ := c.namedDay(first)
	f := at("month-column-alone", "the dates are those of the sessions' names in another order, as when the column is sorted alone", first.Date.Cell)
	f.Value, f.Expected = first.Date.Text, issue.T("perhaps {}", c.day(first.Date.Text, day))
	c.add(f, nil)
	c.breakAll()
	return true
}

func byRow(a, b *session.Session) int { return a.Cell.Row - b.Cell.Row }

// inRows are the sessions held, in the order of their rows.
func (c *checker) inRows() []*session.Session {
	rows := slices.DeleteFunc(slices.Clone(c.log.Sessions), func(s *session.Session) bool { return !held(s) })
	slices.SortStableFunc(rows, byRow)
	return rows
}

// ofFluid are the columns of the weights and the fluid removed.
var ofFluid = []session.Field{"weight_before", "weight_after", "uf_removed"}

// columnsAlone finds a column of weights or of the fluid removed that was
// moved or sorted without the others. Its numbers are then left out.
func (c *checker) columnsAlone() {
	const several = 3
	rows := slices.SortedStableFunc(slices.Values(c.log.Sessions), byRow)
	var best slide
	rule := "month-column-slipped"
	for _, field := range ofFluid {
		own := c.misfits(rows, field, 0)
		fits := func(apart float64) bool { return !(math.Abs(apart) > plausible.Unexplained) } // nor is a missing one a misfit
		misfits := len(slices.DeleteFunc(slices.Clone(own), fits))
		if details := c.sorted(rows, field); details != "" && misfits >= several {
			best, rule = slide{details, field, 0, 0}, "month-column-alone"
			break
		}
		for _, shift := range []int{-1, 1} {
			if one := slideOf(rows, field, shift, own, c.misfits(rows, field, shift)); one.details != "" && (best.details == "" || one.share < best.share) {
				best = one
			}
		}
	}
	if best.details != "" {
		c.columnInDoubt(rows, rule, best)
		return
	}
	for _, field := range slices.Concat(onlyTreated, onlyAfter) {
		if one, beside := c.slideByGaps(rows, field); one.details != "" {
			c.columnInDoubt(rows, rule, one, beside)
			for _, s := range rows { // its first row is not sure
				if cell := s.Value(field).Cell; one.details == fitsBelow && !cell.IsZero() {
					c.suspect[cell] = true
				}
			}
		}
	}
}

// columnInDoubt reports a column from a row on and leaves its numbers out.
func (c *checker) columnInDoubt(rows []*session.Session, rule string, wrong slide, beside ...issue.Cell) {
	f := atValue(rule, wrong.details, rows[wrong.first].Value(wrong.field))
	f.Cells = append(f.Cells, beside...)
	for _, s := range rows[wrong.first:] {
		if cell := s.Value(wrong.field).Cell; !cell.IsZero() {
			c.suspect[cell] = true
		}
	}
	c.add(f, rows[wrong.first])
}

const (
	fitsBelow = "from here on each value fits the row below; the column may have slipped up"
	fitsAbove = "from here on each value fits the row above; the column may have slipped down"
)

// slideByGaps is the slide of a column that a session not done has no value in,
// where values hardly differ: such a row has one, the session held beside it has
// none, nor has the last row, or one above where a cell was added. cell is that of
// the session not done.
func (c *checker) slideByGaps(rows []*session.Session, field session.Field) (found slide, cell issue.Cell) {
	n := len(rows)
	empty := func(i int) bool { return rows[i].Value(field).Absence == session.NotRecorded }
	lacks := func(i int) bool { return i >= 0 && i < n && held(rows[i]) && empty(i) }
	beside := func(i, step int) int { // the session held next, past others not done
		for i += step; i >= 0 && i < n && !held(rows[i]) && empty(i); i += step {
		}
		return i
	}
	for i, s := range rows {
		v := s.Value(field)
		number, ok := c.good(v)
		if s.Status != session.SkippedStatus || !ok || number == 0 {
			continue
		}
		above := i - 1
		for above >= 0 && !lacks(above) {
			above--
		}
		switch up, down := beside(i, -1), beside(i, 1); {
		case lacks(up) && lacks(n-1) && up < i:
			return slide{fitsBelow, field, c.slidFrom(rows, field, up), 0}, v.Cell
		case lacks(down) && above >= 0:
			return slide{fitsAbove, field, above, 0}, v.Cell
		}
	}
	return found, cell
}

// slidFrom is the row at or above another one from which a column that slipped up
// fits best with each value in the row below.
func (c *checker) slidFrom(rows []*session.Session, field session.Field, first int) int {
	own, below := c.misfits(rows, field, 0), c.misfits(rows, field, -1)
	mid := measured(own, 1).mid
	gain, best := 0.0, 0.0
	for i := first; i > 0; i-- {
		if d := math.Abs(own[i]-mid) - math.Abs(below[i]-mid); !math.IsNaN(d) {
			gain += d
		}
		if gain > best {
			best, first = gain, i-1
		}
	}
	return first
}

// slide is a column whose values are in other rows than their own from one on, and
// the share of the misfit that is left with each in the row beside.
type slide struct {
	details string
	field   session.Field
	first   int
	share   float64
}

// slideOf is the slide of a column by one row, from the row where most misfit is
// gone; the zero value if much is left, or if what is gone is of one row alone. A
// cell left empty at one end is evidence too, as much as one row more.
func slideOf(rows []*session.Session, field session.Field, shift int, own, beside []float64) (found slide) {
	const least, half, share, ofGap, near = 4, 0.5, 0.45, 0.2, 4 // rows, of the rows, of the misfit, rows (common practice)
	const each, scatter = 0.06, 2.5                              // least misfit of a row, in L and of the usual one (common practice)
	usual := measured(own, half)
	if moved := measured(beside, half); moved.spread < usual.spread {
		usual = moved
	}
	off := func(apart float64) float64 { return min(plausible.Unexplained, math.Abs(apart-usual.mid)) }
	now, moved, single, n, best := 0.0, 0.0, 0.0, 0.0, 0.0
	empty := func(i int) bool { return held(rows[i]) && rows[i].Value(field).Absence == session.NotRecorded }
	for i := len(rows) - 1; i >= 0; i-- {
		a, b := off(own[i]), off(beside[i])
		switch {
		case math.IsNaN(b):
			continue
		case !math.IsNaN(a):
			now, moved, single = now+a, moved+b, max(single, a-b)
		}
		if n++; now-moved <= best || n < least {
			continue
		}
		first, gap := min(i, i+shift), shift < 0 && empty(len(rows)-1)
		for j := i; shift > 0 && j >= max(0, i-near); j-- {
			if empty(j) {
				gap, first = true, j
			}
		}
		best, found = now-moved, slide{}
		left := moved / (now - single)
		if gap {
			left -= ofGap
		}
		if left < share && (gap || n > least) && now >= n*max(each, scatter*usual.spread) {
			found = slide{fitsAbove, field, first, left}
		}
	}
	if shift < 0 && found.details != "" {
		found.details = fitsBelow
	}
	return found
}

// misfits are how far the fluid removed in each row is from that by the weights, in
// L, with a column moved by some rows; NaN where that is not known.
func (c *checker) misfits(rows []*session.Session, field session.Field, shift int) []float64 {
	all := make([]float64, len(rows))
	for i, s := range rows {
		all[i] = math.NaN()
		if j := i + shift; j >= 0 && j < len(rows) && held(s) {
			number, ok := c.inLimitUnit(field, rows[j].Value(field))
			k := *c.known(s)
			k.Values = mapWith(k.Values, string(field), number)
			expected, _, weighed := k.FluidByWeights()
			if removed, measured := k.Values["uf_removed"]; ok && weighed && measured {
				all[i] = removed - expected
			}
		}
	}
	return all
}

func mapWith(values map[string]float64, field string, number float64) map[string]float64 {
	values = maps.Clone(values)
	values[field] = number
	return values
}

// sorted returns the details of a finding if the values of a column rise or fall
// from the first row to the last, else "". It needs several different values.
func (c *checker) sorted(rows []*session.Session, field session.Field) string {
	const least, different = 8, 5
	numbers := c.valuesOf(rows, field, nil)
	if len(numbers) < least || len(slices.Compact(slices.Clone(numbers))) < different {
		return ""
	}
	if slices.IsSorted(numbers) {
		return "the values of the column rise from row to row, and do not fit the rows; the column may have been sorted alone"
	}
	if slices.Reverse(numbers); slices.IsSorted(numbers) {
		return "the values of the column fall from row to row, and do not fit the rows; the column may have been sorted alone"
	}
	return ""
}

// filledDown finds starts that are an hour later from row to row, to the
// minute, where that contradicts the other times: a cell was dragged down.
func (c *checker) filledDown() {
	rows := c.inRows()
	for i := 2; i < len(rows); i++ {
		a, b, s := rows[i-2].Start, rows[i-1].Start, rows[i].Start
		step := func(from, to session.Moment) float64 { return ofDay(to.Time) - ofDay(from.Time) }
		if !a.OK() || !b.OK() || !s.OK() || step(a, b) != 60 || step(b, s) != 60 {
			continue
		}
		doubted := -1
		for at, f := range c.read {
			if f.Rule == "log-end-before-start" && slices.Contains(f.Cells, s.Cell) {
				doubted = at
			}
		}
		r := rows[i].Readings
		if doubted >= 0 {
			c.read[doubted].Rule = ""
		} else if len(r) == 0 || !r[0].At.OK() || clockWithin(r[0].At.Time, s.Time.Add(-plausible.ReadingTimes.Early), s.Time.Add(halfDay-4*time.Hour)) {
			continue
		}
		f := at("month-copied", "the start is an hour later from row to row, as when a cell is dragged down", b.Cell)
		f.Value = b.Text
		f.Cells = append(f.Cells, s.Cell, a.Cell)
		var first []string
		for _, one := range rows[i-1 : i+1] {
			if len(one.Readings) > 0 && one.Readings[0].At.OK() {
				first = append(first, clock(one.Readings[0].At))
			}
		}
		if len(first) > 0 {
			f.Expected = issue.T("the times the readings say, about {}", strings.Join(first, ", "))
		}
		c.suspect[b.Cell], c.suspect[s.Cell] = true, true
		c.add(f, rows[i-1])
	}
}
