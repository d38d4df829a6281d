package check

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// month compares the sessions of the log with each other and with what was
// planned.
func (c *checker) month() {
	c.outOfOrder()
	c.misplaced()
	c.dates()
	c.planned()
	c.overlaps()
}

// overlaps finds sessions that share time, and the same session entered twice.
func (c *checker) overlaps() {
	sessions := c.log.Sessions
	for i, s := range sessions {
		for j := i - 1; j >= max(0, i-compared) && c.near(sessions[j], s); j-- {
			c.overlap(sessions[j], s)
		}
	}
}

// compared bounds how many sessions of the same two days are compared.
const compared = 20

// near reports whether two sessions, in the order of their starts, are close
// enough to be compared.
func (c *checker) near(earlier, later *session.Session) bool {
	return earlier.Date.OK() && later.Date.OK() && later.Date.Time.Sub(earlier.Date.Time) <= 48*time.Hour
}

func (c *checker) overlap(earlier, later *session.Session) {
	if !held(earlier) || !held(later) {
		c.sameDay(earlier, later)
		return
	}
	if c.clockDoubted(earlier) || c.clockDoubted(later) || c.suspect[earlier.Date.Cell] || c.suspect[later.Date.Cell] {
		return
	}
	alike := sameMeasurements(earlier, later)
	sameDate := earlier.Date.Time.Equal(later.Date.Time)
	together := together(earlier, later) && !c.far[earlier] && !c.far[later] // else the date is reported
	switch {
	case sameDate && alike >= fewest, together && alike >= 0 && earlier.Start.Time.Equal(later.Start.Time):
		f := at("month-session-twice", "this looks like the same session entered a second time", later.Cell)
		if earlier.Cell.Row > later.Cell.Row {
			earlier, later = later, earlier
			f.Cells[0] = later.Cell
		}
		f.Cells = append(f.Cells, earlier.Cell)
		f.Expected = issue.T("one row for each session; the other is {}", otherRow(earlier, later))
		if !together {
			f.Severity = issue.Warning // two sessions a day are possible, if not likely
		} else {
			c.unread("log-session-twice", later.Cell)
		}
		c.findings = slices.DeleteFunc(c.findings, func(g issue.Finding) bool { return g.Rule == "clin-no-readings" && g.Cells[0] == later.Cell })
		c.add(f, later)
	case together:
		if s, from, to := c.misdated(earlier, later); s != nil {
			f := at("month-overlap", "the session overlaps another one, and its date does not fit the rows beside it", s.Date.Cell)
			f.Value, f.Expected, f.Mend = s.Date.Text, issue.T("a day from {} to {}", c.day(s.Date.Text, from), c.day(s.Date.Text, to)), issue.T("look at the date, and at start and end")
			f.Cells = append(f.Cells, s.Start.Cell, earlier.Date.Cell, later.Date.Cell)
			c.add(f, s)
			return
		}
		for _, pair := range [][2]*session.Session{{earlier, later}, {later, earlier}} {
			f := at("month-overlap", "the session overlaps another one", pair[0].Start.Cell)
			f.Value = pair[0].Start.Text
			f.Cells = append(f.Cells, pair[1].Start.Cell, pair[1].End.Cell)
			f.Expected = issue.T("times that do not overlap those of {}", pair[1].ID)
			c.add(f, pair[0])
		}
	}
}

// misdated is the one of two sessions of one time whose date is out of the order of
// the rows, or, of two rows beside each other, that is further from the row on its
// other side; and the days of the rows around it. It is nil if neither or both are.
func (c *checker) misdated(a, b *session.Session) (wrong *session.Session, from, to time.Time) {
	rows := slices.DeleteFunc(slices.Clone(c.inRows()), func(s *session.Session) bool { return !s.Date.OK() })
	if stepsBack(rows) > 2 { // one date alone makes two at most
		return nil, from, to
	}
	i, j := slices.Index(rows, a), slices.Index(rows, b)
	i, j = min(i, j), max(i, j)
	if j == i+1 && i > 0 && j+1 < len(rows) && rows[i].Date.Time.Equal(rows[j].Date.Time) {
		before, day, after := rows[i-1].Date.Time, rows[i].Date.Time, rows[j+1].Date.Time
		switch gap, next := daysBetween(before, day), daysBetween(day, after); {
		case gap > next:
			return rows[i], before, day
		case gap < next:
			return rows[j], day, after
		}
		return nil, from, to
	}
	for _, k := range []int{i, j} {
		if k <= 0 || k+1 >= len(rows) {
			continue
		}
		if before, day, after := rows[k-1].Date.Time, rows[k].Date.Time, rows[k+1].Date.Time; !before.After(after) && (day.Before(before) || day.After(after)) {
			if wrong != nil {
				return nil, from, to
			}
			wrong, from, to = rows[k], before, after
		}
	}
	return wrong, from, to
}

// together reports a session that starts before an earlier one has ended.
func together(earlier, later *session.Session) bool {
	return earlier.Start.OK() && later.Start.OK() && (earlier.Start.Time.Equal(later.Start.Time) ||
		later.Start.Time.After(earlier.Start.Time) && earlier.End.OK() && later.Start.Time.Before(earlier.End.Time))
}

// sameDay reports a session marked as not done beside one held at the same
// time.
func (c *checker) sameDay(earlier, later *session.Session) {
	if !earlier.Start.OK() || !later.Start.OK() || !earlier.Start.Time.Equal(later.Start.Time) {
		return
	}
	f := at("month-session-twice", "this looks like the same session entered a second time", later.Cell)
	f.Cells = append(f.Cells, earlier.Cell)
	f.Expected = issue.T("one row for each session; the other is {}", otherRow(earlier, later))
	c.add(f, later)
}

// otherRow is the name of a session, or the place of its row where another one has
// that name.
func otherRow(s, beside *session.Session) string {
	if s.ID == beside.ID {
		return s.Cell.String()
	}
	return s.ID
}

// measuredFields are fields of a session that hardly ever repeat exactly.
var measuredFields = []session.Field{
	"weight_before", "weight_after",
	"bp_before_systolic", "bp_before_diastolic", "pulse_before",
	"bp_after_systolic", "bp_after_diastolic", "pulse_after",
	"uf_removed", "blood_processed",
}

// sameMeasurements counts the measurements of two sessions that are the same;
// it is -1 when any differs.
func sameMeasurements(a, b *session.Session) int {
	same := 0
	for _, field := range measuredFields {
		x, y := a.Value(field), b.Value(field)
		if !x.OK() || !y.OK() {
			continue
		}
		if x.Decimal.Float64() != y.Decimal.Float64() {
			return -1
		}
		same++
	}
	return same
}

// planned compares the sessions of each week with the prescription: a session
// that was not done must have a row that says so.
func (c *checker) planned() {
	weeks := c.weeks()
	if c.otherNumber(weeks) {
		return
	}
	adrift := c.adrift()
	reported := map[issue.Cell]bool{} // weeks overlap at either end of the log
	for i, w := range weeks {
		short := max(0, w.planned-w.rows)
		// A session moved into the week before or after is no absent one.
		for _, beside := range weeks[max(0, i-1):min(len(weeks), i+2)] {
			if beside.adjoins(w) {
				short = max(0, short-max(0, beside.rows-beside.planned))
			}
		}
		if adrift >= short {
			adrift -= short
			c.dayBeside(w, false)
		} else if !reported[w.after()] {
			reported[w.after()] = true
			c.absent(w)
		}
	}
	if len(weeks) == 0 {
		c.gaps()
	}
}

// otherNumber finds a prescription that no week of the log meets: all have fewer
// sessions, or all have more. It is the one to look at, once.
func (c *checker) otherNumber(weeks []week) bool {
	few, many, most := 0, 0, 0
	for _, w := range weeks {
		if w.plan.Cell != weeks[0].plan.Cell {
			return false
		}
		if w.rows < w.planned {
			few++
		} else if float64(w.rows) >= w.plan.Decimal.Float64()+1 {
			many++
		}
		most = max(most, w.rows)
	}
	if len(weeks) <= fewest || !weeks[0].plan.OK() || few < len(weeks) && many < len(weeks) || c.adrift() > 0 {
		return false
	}
	f := atValue("month-session-absent", "no week has as many sessions as log.toml prescribes", weeks[0].plan)
	f.Expected = issue.T("perhaps {}, or rows that say not done", most)
	if many > 0 {
		f.Details, f.Expected = issue.T("every week has more sessions than log.toml prescribes"), issue.T("perhaps {}", most)
	}
	f.Mend = issue.T("look at the number of sessions a week; if it is right, look for rows that lack")
	c.add(f, nil)
	return true
}

// adrift counts the sessions whose date is unreadable or far from all others, and
// that belong to no known day: each may be the one that a week lacks.
func (c *checker) adrift() int {
	return len(c.log.Sessions) - len(c.placed()) - len(c.meant)
}

// week is seven days of the log that one prescription covers.
type week struct {
	from    time.Time
	plan    session.Value // sessions a week, where no weekdays are planned
	planned int
	rows    int
	// last is the session before the widest gap of the week.
	last *session.Session
	// missing are planned days of the week without a session.
	missing []time.Time
}

// after is the row that an absent session most likely belongs after.
func (w week) after() issue.Cell {
	if w.last == nil {
		return issue.Cell{File: "sessions.csv"}
	}
	return w.last.Cell
}

func (w week) adjoins(other week) bool {
	days := math.Abs(math.Round(w.from.Sub(other.from).Hours() / 24))
	return days <= 7
}

// weeks divides the log into weeks from Monday to Sunday that lie between the
// first and the last session, and the seven days at either end.
func (c *checker) weeks() []week {
	placed := c.placed()
	if len(placed) < 2 {
		return nil
	}
	first, last := placed[0].Date.Time, placed[len(placed)-1].Date.Time
	starts := []time.Time{first}
	monday := first.AddDate(0, 0, (8-int(first.Weekday()))%7)
	for ; !monday.AddDate(0, 0, 6).After(last); monday = monday.AddDate(0, 0, 7) {
		starts = append(starts, monday)
	}
	starts = append(starts, last.AddDate(0, 0, -6))
	slices.SortFunc(starts, time.Time.Compare)
	starts = slices.CompactFunc(starts, time.Time.Equal)
	var weeks []week
	for _, from := range starts {
		if to := from.AddDate(0, 0, 6); from.Before(first) || to.After(last) {
			continue
		}
		if w, ok := c.weekOf(placed, from); ok {
			weeks = append(weeks, w)
		}
	}
	return weeks
}

// weekOf counts the sessions of the week from a day on; ok is false when no
// one prescription covers it.
func (c *checker) weekOf(placed []*session.Session, from time.Time) (w week, ok bool) {
	to := from.AddDate(0, 0, 7)
	p, ok := c.log.About.PrescriptionOn(from)
	end, okEnd := c.log.About.PrescriptionOn(to.AddDate(0, 0, -1))
	if !ok || !okEnd || p.ValidFrom.Cell != end.ValidFrom.Cell {
		return w, false
	}
	w = week{from: from, planned: len(p.Weekdays)}
	if perWeek, known := c.good(p.SessionsPerWeek); known && w.planned == 0 {
		w.plan, w.planned = p.SessionsPerWeek, int(perWeek)
	}
	on := map[string]bool{}
	i, _ := slices.BinarySearchFunc(placed, from, func(s *session.Session, day time.Time) int { return s.Date.Time.Compare(day) })
	widest := -1.0
	previous := from
	if i > 0 {
		w.last = placed[i-1]
		previous = w.last.Date.Time
	}
	for ; i < len(placed) && placed[i].Date.Time.Before(to); i++ {
		s := placed[i]
		if gap := daysBetween(previous, s.Date.Time); gap > widest && i > 0 {
			widest, w.last = gap, placed[i-1]
		}
		previous = s.Date.Time
		if i == 0 || !goesOn(placed[i-1], s) { // two records of one treatment are one session
			w.rows++
		}
		on[s.Date.Time.Format(time.DateOnly)] = true
	}
	if i > 0 && daysBetween(previous, to) > widest {
		w.last = placed[i-1]
	}
	for _, day := range c.meant {
		if !day.Before(from) && day.Before(to) {
			w.rows++
			on[day.Format(time.DateOnly)] = true
		}
	}
	for day := from; day.Before(to); day = day.AddDate(0, 0, 1) {
		if slices.Contains(p.Weekdays, day.Weekday()) && !on[day.Format(time.DateOnly)] {
			w.missing = append(w.missing, day)
		}
	}
	return w, w.planned > 0
}

// emptyWeekdays finds a planned day of the week on which there never is a
// session, beside another day on which there often is one.
func (c *checker) emptyWeekdays() {
	const often = 3
	reported := map[string]bool{}
	for _, p := range c.log.About.Prescriptions {
		days := fmt.Sprint(p.Weekdays)
		if len(p.Weekdays) == 0 || reported[days] {
			continue
		}
		reported[days] = true
		var rows [7]int
		on := map[string]bool{}
		for _, s := range c.placed() {
			if in, ok := c.log.About.PrescriptionFor(s); ok && slices.Equal(in.Weekdays, p.Weekdays) && !on[s.Date.Time.Format(time.DateOnly)] {
				on[s.Date.Time.Format(time.DateOnly)] = true
				rows[s.Date.Time.Weekday()]++
			}
		}
		var never, instead []string
		for day, n := range rows {
			planned := slices.Contains(p.Weekdays, time.Weekday(day))
			switch {
			case planned && n == 0 && slices.Max(rows[:]) >= often:
				never = append(never, time.Weekday(day).String())
			case !planned && n >= often:
				instead = append(instead, time.Weekday(day).String())
			}
		}
		if len(never) > 0 && len(instead) > 0 {
			f := at("month-weekday-never", "no session is on a planned day of the week, and many are on another day", cellOr(p.WeekdaysCell, p.ValidFrom.Cell))
			f.Value, f.Expected = strings.Join(never, ", "), issue.T("perhaps {} among the weekdays", strings.Join(instead, ", "))
			c.add(f, nil)
		}
	}
}

// absent reports a week with fewer sessions than planned, at the row after
// which the missing one most likely belongs.
func (c *checker) absent(w week) {
	if c.dayBeside(w, true) {
		return
	}
	f := at("month-session-absent", "a planned session is missing without a word, most likely after this row", w.after())
	f.SetCounted(issue.T("{} sessions in the seven days from {}", w.rows, c.day("", w.from)))
	f.Expected = issue.T("{} sessions, or a row that says not done", w.planned)
	if len(w.missing) > 0 {
		f.Expected = issue.T("a row for {}", c.day("", w.missing[0]))
	}
	c.add(f, nil)
}

// dayBeside finds the session that a week lacks on a day beside its own, where
// another session is too: its date is a day off. In a week that is not short the two
// have to share time.
func (c *checker) dayBeside(w week, short bool) bool {
	placed := c.placed()
	for i, s := range placed {
		if i == 0 || !placed[i-1].Date.Time.Equal(s.Date.Time) || goesOn(placed[i-1], s) || sameMeasurements(placed[i-1], s) >= fewest || c.suspect[s.Date.Cell] || c.suspect[placed[i-1].Date.Cell] {
			continue
		}
		day, shared := s.Date.Time, held(placed[i-1]) && held(s) && together(placed[i-1], s)
		if len(w.missing) == 0 && (!short || w.plan.Cell.IsZero()) || !short && !shared {
			continue
		}
		for _, meant := range []time.Time{day.AddDate(0, 0, 1), day.AddDate(0, 0, -1)} {
			lacks := len(w.missing) == 0 && !c.taken(meant) || slices.ContainsFunc(w.missing, meant.Equal)
			if !lacks || meant.Before(w.from) || !meant.Before(w.from.AddDate(0, 0, 7)) {
				continue
			}
			wrong, other := s, placed[i-1]
			if meant.Before(day) == (other.Cell.Row < s.Cell.Row) { // rows are in the order of time
				wrong, other = other, s
			}
			f := at("month-date-far", "another session is on this day, and none on the day beside it", wrong.Date.Cell)
			f.Value, f.Expected = wrong.Date.Text, issue.T("perhaps {}", c.day(wrong.Date.Text, meant))
			f.Cells = append(f.Cells, other.Date.Cell)
			if shared {
				f.Severity = issue.Error // both cannot be true
			}
			c.doubt(f, wrong)
			return true
		}
	}
	return false
}

// gaps reports long stretches without any row, for a log without a
// prescription to compare with. A row whose date is in doubt may be the one that
// seems to lack.
func (c *checker) gaps() {
	const longest = 5 * 24 * time.Hour
	if c.adrift() > 0 {
		return
	}
	var before *session.Session
	for _, s := range c.placed() {
		if before != nil && s.Date.Time.Sub(before.Date.Time) > longest {
			f := at("month-gap", "there is no row for many days before this session", s.Date.Cell)
			f.Cells = append(f.Cells, before.Date.Cell)
			f.SetCounted(issue.T("{} days", int(math.Round(s.Date.Time.Sub(before.Date.Time).Hours()/24))))
			c.add(f, nil)
		}
		before = s
	}
}
