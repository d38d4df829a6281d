package check

import (
	"math"
	"slices"
	"time"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// apart, in days, is a stretch without sessions after which a few sessions
// look misplaced.
const apart = 20

// stretch finds the first and last day of the longest run of sessions without
// a gap of more than [apart] days, and how many sessions it has.
func (c *checker) stretch() (first, last time.Time, n int) {
	var from, to time.Time
	run := 0
	for _, s := range c.dated() {
		day := s.Date.Time
		if run > 0 && daysBetween(to, day) > apart {
			run = 0
		}
		if run == 0 {
			from = day
		}
		to, run = day, run+1
		if run > n {
			first, last, n = from, to, run
		}
	}
	return first, last, n
}

// dated are the sessions whose date could be read, in order.
func (c *checker) dated() []*session.Session {
	n := len(c.log.Sessions)
	for n > 0 && !c.log.Sessions[n-1].Date.OK() {
		n--
	}
	return c.log.Sessions[:n]
}

func daysBetween(from, to time.Time) float64 { return math.Round(to.Sub(from).Hours() / 24) }

// leftOver finds rows below all others that come before them and have nothing
// but times, as of another month that was in the sheet before.
func (c *checker) leftOver() {
	rows := c.inRows()
	n := len(rows)
	for n > 0 && c.onlyTimes(rows[n-1]) {
		n--
	}
	if n <= fewest || n == len(rows) || slices.ContainsFunc(rows, func(s *session.Session) bool { return !s.Date.OK() }) {
		return
	}
	byDate := func(a, b *session.Session) int { return a.Date.Time.Compare(b.Date.Time) }
	if byDate(slices.MaxFunc(rows[n:], byDate), slices.MinFunc(rows[:n], byDate)) >= 0 {
		return
	}
	f := at("month-date-far", "the rows from here on come before all others and have nothing but times, as if left over from another month", rows[n].Date.Cell)
	f.Cells, f.Value, f.Mend = nil, rows[n].Date.Text, issue.T("take the rows out if they are of another month")
	for _, s := range rows[n:] {
		c.far[s] = true
		f.Cells = append(f.Cells, s.Date.Cell)
	}
	c.doubt(f, rows[n])
}

// onlyTimes reports a session without any number and any row of another sheet.
func (c *checker) onlyTimes(s *session.Session) bool {
	for _, v := range s.Values {
		if v.Absence != session.NotRecorded {
			return false
		}
	}
	return len(s.Readings)+len(s.Checks)+len(s.Medicines)+len(s.Labs)+len(s.Events) == 0
}

// misplaced finds the few sessions, or of those that are named by their day any
// number, that are far from all others and, with another year or month, would be
// among them, or that are years away.
func (c *checker) misplaced() {
	const few, absurd = 0.2, 3 * 365
	dated := c.dated()
	first, last, n := c.stretch()
	if n < fewest {
		return
	}
	many := float64(len(dated)-n) > few*float64(len(dated))
	for _, s := range dated {
		day := s.Date.Time
		off := max(daysBetween(day, first), daysBetween(last, day))
		if _, named := c.namedDay(s); off <= apart || many && !named {
			continue
		}
		f := at("month-date-far", "the date is far from those of the other sessions", s.Date.Cell)
		f.Value = s.Date.Text
		if meant, slip, ok := c.datedAmong(s, first, last); ok {
			f.Details = f.Details.And(slip)
			f.Expected = issue.T("perhaps {}", c.day(s.Date.Text, meant))
			c.meant[s] = meant
		} else if off <= absurd {
			continue
		}
		c.far[s] = true
		if !c.suspect[s.Date.Cell] {
			c.add(f, s)
		}
	}
}

// outOfOrder finds dates that break the order of the rows, oldest or newest first,
// and with one slip changed are between the rows beside. The first and the last row
// have to be outside all others or strays: a session may be added late. Names that
// contain the day are better evidence.
func (c *checker) outOfOrder() {
	const few, beside = 5, 10 // one row of five; days (common practice)
	rows := slices.Clone(c.dated())
	slices.SortStableFunc(rows, byRow)
	back, top := stepsBack(rows), 0
	if 2*back > len(rows) {
		slices.Reverse(rows)
		back, top = stepsBack(rows), len(rows)-1
	}
	if back == 0 || back > max(1, len(rows)/few) {
		return
	}
	from := time.Time{}
	for i, s := range rows {
		day, to, last := s.Date.Time, time.Time{}, i == len(rows)-1
		later := func(other *session.Session) bool { return other.Date.Time.After(from) }
		if next := slices.IndexFunc(rows[i+1:], later); next >= 0 {
			to = rows[i+1+next].Date.Time
		}
		outside, stray, reach := day.After(to) || day.Before(from), false, beside
		if i == 0 || last {
			outside = i == 0 && c.dated()[len(rows)-1] == s || last && c.dated()[0] == s
			if stray = !outside && strayEnd(rows, i == 0); stray {
				reach = min(beside, widestStep(rows)+1)
			}
		}
		if i == 0 {
			from = to.AddDate(0, 0, -reach)
		} else if last {
			to = from.AddDate(0, 0, reach)
		}
		between := func(t time.Time) bool { return t.After(from) && t.Before(to) && !c.taken(t) }
		_, named := c.namedDay(s)
		outside = (outside || stray) && !named && daysBetween(from, to) <= apart
		meant, slip, ok := otherDate(s, from, to, between)
		ten := !ok
		if ten {
			meant, slip, ok = otherTen(s, between)
		}
		if ten || stray {
			ok = ok && (c.sharesDay(s) || (!stray || i == top) && c.plannedOn(meant) && !c.plannedOn(day))
		}
		if ok && outside && !c.suspect[s.Date.Cell] {
			f := at("month-date-far", "the date is out of the order of the rows", s.Date.Cell)
			f.Details = f.Details.And(slip)
			f.Value, f.Expected = s.Date.Text, issue.T("perhaps {}", c.day(s.Date.Text, meant))
			c.far[s], c.meant[s] = true, meant
			c.doubt(f, s)
			continue
		}
		from = day
	}
}

// strayEnd reports a first row that is after the next two, or a last one before the
// two above it, which are in order.
func strayEnd(rows []*session.Session, first bool) bool {
	n := len(rows)
	if n <= fewest {
		return false
	}
	day := func(i int) time.Time { return rows[i].Date.Time }
	if first {
		return day(0).After(day(2)) && !day(1).After(day(2))
	}
	return day(n-1).Before(day(n-3)) && !day(n-3).After(day(n-2))
}

// widestStep is the longest time between rows in order, in days.
func widestStep(rows []*session.Session) (days int) {
	for i := 2; i < len(rows)-1; i++ {
		days = max(days, int(daysBetween(rows[i-1].Date.Time, rows[i].Date.Time)))
	}
	return days
}

// stepsBack counts the rows with a date before that of the row above.
func stepsBack(rows []*session.Session) (n int) {
	for i := 1; i < len(rows); i++ {
		if rows[i].Date.Time.Before(rows[i-1].Date.Time) {
			n++
		}
	}
	return n
}

// datedAmong is the day in the session's name, or else the day with one slip
// changed, that falls among the sessions from first to last or right beside them
// and is not taken.
func (c *checker) datedAmong(s *session.Session, first, last time.Time) (meant time.Time, slip issue.Text, ok bool) {
	const beside = 10 // days
	fits := func(t time.Time) bool { return max(daysBetween(t, first), daysBetween(last, t)) <= beside }
	named, sure := c.namedDay(s)
	if sure && fits(named) {
		part := "month"
		if named.Year() != s.Date.Time.Year() {
			part = "year"
		}
		return named, issue.T("the {} may be wrong", issue.T(part)), true
	}
	return otherDate(s, first, last, func(t time.Time) bool { return fits(t) && !c.taken(t) })
}

// otherDate is the date of a session with another year from first to last, with
// day and month exchanged, with another month, or with the digits of the day
// exchanged, that fits.
func otherDate(s *session.Session, first, last time.Time, fits func(time.Time) bool) (meant time.Time, slip issue.Text, ok bool) {
	try := func(year int, month time.Month, day int) bool {
		meant = time.Date(year, month, day, 0, 0, 0, 0, s.Date.Time.Location())
		return meant.Month() == month && meant.Day() == day && fits(meant)
	}
	year, month, day := s.Date.Time.Date()
	for y := first.Year(); y <= last.Year(); y++ {
		if try(y, month, day) {
			return meant, issue.T("the {} may be wrong", issue.T("year")), true
		}
	}
	slip = issue.T("the {} may be wrong", issue.T("month"))
	if try(year, time.Month(day), int(month)) {
		return meant, slip, true
	}
	for m := time.January; m <= time.December; m++ {
		if try(year, m, day) {
			return meant, slip, true
		}
	}
	return meant, issue.T("two digits may be exchanged"), try(year, month, day%10*10+day/10)
}

// otherTen is the date with another first digit of the day that fits, the only one.
func otherTen(s *session.Session, fits func(time.Time) bool) (meant time.Time, slip issue.Text, ok bool) {
	year, month, day := s.Date.Time.Date()
	n := 0
	for ten := range 4 {
		t := time.Date(year, month, day%10+10*ten, 0, 0, 0, 0, s.Date.Time.Location())
		if t.Month() == month && fits(t) {
			meant, n = t, n+1
		}
	}
	return meant, issue.T("one digit of the day may be wrong"), n == 1
}

// plannedOn reports a day of the week on which sessions are planned.
func (c *checker) plannedOn(day time.Time) bool {
	p, _ := c.log.About.PrescriptionOn(day)
	return slices.Contains(p.Weekdays, day.Weekday())
}

// sharesDay reports a session on the day of another one.
func (c *checker) sharesDay(s *session.Session) bool {
	return slices.ContainsFunc(c.dated(), func(other *session.Session) bool { return other != s && other.Date.Time.Equal(s.Date.Time) })
}

// taken reports a day that a session already has.
func (c *checker) taken(day time.Time) bool {
	return slices.ContainsFunc(c.dated(), func(s *session.Session) bool { return s.Date.Time.Equal(day) })
}

// placed are the dated sessions without the misplaced ones.
func (c *checker) placed() []*session.Session {
	var placed []*session.Session
	for _, s := range c.dated() {
		if !c.far[s] {
			placed = append(placed, s)
		}
	}
	return placed
}
