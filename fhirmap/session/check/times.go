package check

import (
	"maps"
	"math"
	"regexp"
	"slices"
	"strings"
	"time"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/plausible"
)

// weighingSlack is how far into a session its weighing may lie (common practice).
const weighingSlack = 15 * time.Minute

// times compares the times of a session with its start and end.
func (c *checker) times(s *session.Session) {
	again := readAgain(s)
	c.pasted(s, again)
	if !held(s) || !s.Start.OK() || s.End.Absence == session.Unreadable || c.clockDoubted(s) {
		return // one of them is reported; the other is in doubt too
	}
	if !s.End.OK() {
		f := at("clin-end-missing", "the time the session ended is missing", cellOr(s.End.Cell, s.Cell))
		c.add(f, s)
	}
	c.enteredEarly(s)
	inside := false // whether the reading before is
	moved := c.otherHour(s)
	around := plausible.ReadingTimes
	around.Early = c.routine.first.farthest(-1, 15, around.Early)
	for i, r := range s.Readings {
		placed := moved || c.inside(s, r.At, around, c.readingTime(s, i), "the reading was taken outside the session")
		if i > 0 && !again[r] && !c.suspect[r.At.Cell] && !c.suspect[s.Readings[i-1].At.Cell] {
			c.sameTime(s, s.Readings[i-1], r)
			if placed && inside {
				c.exchangedTimes(s, s.Readings[i-1], r)
			}
		}
		inside = placed
	}
	for _, m := range s.Medicines {
		around, likely := plausible.MedicineTimes, time.Time{}
		if usual := c.routine.given[m.Name.Text]; usual.n > fewest {
			around.Early = usual.farthest(-1, 45, around.Early)
			likely = after(s.Start, usual.mid)
		}
		if c.inside(s, m.At, around, likely, "the medicine was given outside the session") {
			c.inside(s, m.Until, plausible.InfusionEnds, time.Time{}, "the infusion ends after the session")
		}
	}
	for _, row := range s.Checks {
		c.inside(s, row.At, plausible.CheckTimes, time.Time{}, "this was looked at far outside the session")
	}
	for _, e := range s.Events {
		c.inside(s, e.At, plausible.EventTimes(e.Kind.Text), time.Time{}, "the event was far outside the session")
	}
	c.aroundIt(s)
}

// readFrom returns how many minutes after the start the first reading was taken,
// and how many before the end the last one. ok is false where the session has
// fewer than three readings, or one without a time.
func readFrom(s *session.Session) (first, last float64, ok bool) {
	if len(s.Readings) < fewest || !s.Start.OK() || !s.End.OK() {
		return 0, 0, false
	}
	for i, r := range s.Readings {
		if !r.At.OK() {
			return 0, 0, false
		}
		from, to := r.At.Time.Sub(s.Start.Time).Minutes(), s.End.Time.Sub(r.At.Time).Minutes()
		if i == 0 {
			first, last = from, to
		}
		first, last = min(first, from), min(last, to)
	}
	return first, last, true
}

// otherHour reports readings that are all an hour off, as when one of two
// clocks was not changed: they do not lie within the session, and an hour
// earlier or later they would lie as in the other sessions.
func (c *checker) otherHour(s *session.Session) bool {
	const hour, near, steady = 60, 15, 15
	usual := c.routine
	first, last, ok := readFrom(s)
	if !ok || usual.first.n <= 2*fewest || max(usual.first.spread, usual.last.spread) > steady || min(first, last) >= 0 {
		return false
	}
	by := math.Copysign(hour, first) // later than they were taken
	if math.Abs(first-by-usual.first.mid) > near || math.Abs(last+by-usual.last.mid) > near {
		return false
	}
	m := s.Readings[0].At
	f := at("clin-outside-session", "all readings of the session are an hour off, as when a clock was not changed", m.Cell)
	f.Value = m.Text
	f.Cells = append(f.Cells, s.Start.Cell, s.End.Cell)
	f.Expected = issue.T("perhaps {}", spelt(m, m.Time.Add(-time.Duration(by)*time.Minute)))
	c.add(f, s)
	return true
}

// enteredEarly reports a session written down before it began: its date where
// its name holds an earlier day, else the time of writing.
func (c *checker) enteredEarly(s *session.Session) {
	m := s.EnteredAt
	if !m.OK() || m.DateOnly || !s.Start.OK() || !m.Time.Before(s.Start.Time) || c.clockDoubted(s) {
		return
	}
	day, named := c.namedDay(s)
	days := daysBetween(day, s.Date.Time)
	if named && days > 0 && !s.Start.Time.AddDate(0, 0, -int(days)).After(m.Time) {
		f := at("clin-entered-early", "the session was written down before this day, and its name holds an earlier one", s.Date.Cell)
		f.Value, f.Expected = s.Date.Text, issue.T("perhaps {}", c.day(s.Date.Text, day))
		f.Cells = append(f.Cells, m.Cell)
		c.doubt(f, s)
		return
	}
	f := at("clin-entered-early", "the session was written down before it began", m.Cell)
	f.Value, f.Expected = m.Text, issue.T("a time after {}", c.day(m.Text, s.Start.Time)+" "+clock(s.Start))
	f.Cells = append(f.Cells, s.Start.Cell)
	c.doubt(f, s)
}

// clockDoubted reports whether start or end of a session has a finding.
func (c *checker) clockDoubted(s *session.Session) bool {
	return c.suspect[s.Start.Cell] || c.suspect[s.End.Cell]
}

func cellOr(cell, other issue.Cell) issue.Cell {
	if cell.IsZero() {
		return other
	}
	return cell
}

// after is a moment so many minutes after another one.
func after(m session.Moment, minutes float64) time.Time {
	return m.Time.Add(time.Duration(minutes * float64(time.Minute)))
}

// readingTime is when a reading was likely taken: between the two beside it, or
// as long after the start, or before the end, as in the other sessions; zero
// where that is not known.
func (c *checker) readingTime(s *session.Session, i int) time.Time {
	n := len(s.Readings)
	switch {
	case i > 0 && i+1 < n && s.Readings[i-1].At.OK() && s.Readings[i+1].At.OK():
		from := s.Readings[i-1].At.Time
		return from.Add(s.Readings[i+1].At.Time.Sub(from) / 2)
	case i == 0 && c.routine.first.n > fewest:
		return after(s.Start, c.routine.first.mid)
	case i == n-1 && c.routine.last.n > fewest && s.End.OK():
		return after(s.End, -c.routine.last.mid)
	}
	return time.Time{}
}

// inside reports a moment too far before the start or after the end. Where it is
// known when it is likely to have been, the slip that comes closest is proposed.
func (c *checker) inside(s *session.Session, m session.Moment, around plausible.Around, likely time.Time, details string) (ok bool) {
	if !m.OK() || c.suspect[m.Cell] {
		return true
	}
	tooEarly := m.Time.Before(s.Start.Time.Add(-around.Early))
	tooLate := s.End.OK() && m.Time.After(s.End.Time.Add(around.Late))
	if !tooEarly && !tooLate {
		return true
	}
	f := at("clin-outside-session", details, m.Cell)
	f.Value = m.Text
	f.Cells = append(f.Cells, s.Start.Cell)
	f.Expected = issue.T("a time from {}", clock(s.Start))
	if s.End.OK() {
		f.Cells = append(f.Cells, s.End.Cell)
		f.Expected = issue.T("a time from {} to {}", clock(s.Start), clock(s.End))
		for _, half := range []time.Duration{-halfDay, halfDay} {
			if moved := m.Time.Add(half); !moved.Before(s.Start.Time) && !moved.After(s.End.Time) {
				f.Expected = issue.T("perhaps {}", spelt(m, moved))
			}
		}
		if meant, ok := clockMeant(m, likely); ok && clockWithin(meant, s.Start.Time.Add(-around.Early), s.End.Time.Add(around.Late)) {
			f.Expected = issue.T("perhaps {}", spelt(m, meant))
		}
	}
	c.add(f, s)
	return false
}

// clockMeant is the time of day closest to a likely one that a slip may have made
// of another: an hour or half a day off, two digits exchanged, or one of the hour
// wrong.
func clockMeant(m session.Moment, likely time.Time) (meant time.Time, ok bool) {
	const byHour, byDigits = 20, 10 // minutes
	off := func(t time.Time) float64 { return apartOnClock(ofDay(t), ofDay(likely)) }
	try := func(digits []byte, close float64) {
		clock, err := time.Parse("15:04", string(digits))
		moved := m.Time.Add(time.Duration(ofDay(clock)-ofDay(m.Time)) * time.Minute)
		if err == nil && off(moved) <= close && !moved.Equal(m.Time) && (!ok || off(moved) < off(meant)) {
			meant, ok = moved, true
		}
	}
	for _, by := range []time.Duration{-time.Hour, time.Hour, halfDay} {
		try([]byte(m.Time.Add(by).Format("15:04")), byHour)
	}
	text := m.Time.Format("15:04")
	for _, places := range [][2]int{{0, 1}, {1, 3}, {3, 4}} {
		digits := []byte(text)
		digits[places[0]], digits[places[1]] = digits[places[1]], digits[places[0]]
		try(digits, byDigits)
	}
	for place := range 2 {
		for digit := byte('0'); digit <= '9'; digit++ {
			digits := []byte(text)
			digits[place] = digit
			try(digits, byHour)
		}
	}
	return meant, ok && !likely.IsZero()
}

// halfDay lies between a time of the morning and the same of the evening.
const halfDay = 12 * time.Hour

var withPoint = regexp.MustCompile(`(?:^|\s)\d{1,2}\.\d\d$`)

// spelt writes a time of day in the form of another one.
func spelt(like session.Moment, t time.Time) string {
	switch text := strings.ToUpper(like.Text); {
	case strings.HasSuffix(text, ".M."):
		return strings.NewReplacer("AM", "A.M.", "PM", "P.M.").Replace(t.Format("3:04 PM"))
	case strings.HasSuffix(text, "M"):
		return t.Format("3:04 PM")
	case strings.Contains(text, "H"):
		return t.Format("15h04")
	case withPoint.MatchString(text):
		return t.Format("15.04")
	}
	return t.Format("15:04")
}

// sinceOnClock is the time from one time of day to the next of another one.
func sinceOnClock(t, from time.Time) time.Duration {
	const day = 24 * time.Hour
	y, m, d := t.Date()
	t = time.Date(y, m, d, t.Hour(), t.Minute(), 0, 0, from.Location()) // the clocks of two time zones
	return ((t.Sub(from) % day) + day) % day
}

// clockWithin reports a time of day between two, whatever the day.
func clockWithin(t, from, to time.Time) bool { return sinceOnClock(t, from) <= to.Sub(from) }

// halfDayOff finds a start and an end that are both half a day from the other
// times of the session.
func (c *checker) halfDayOff(s *session.Session) bool {
	const least, slack = 4, time.Hour
	if _, ok := c.elapsed(s); !ok {
		return false
	}
	n, now, moved := 0, 0, 0
	see := func(m session.Moment) {
		if !m.OK() || m.DateOnly {
			return
		}
		n++
		from, to := s.Start.Time.Add(-slack), s.End.Time.Add(slack)
		if clockWithin(m.Time, from, to) {
			now++
		}
		if clockWithin(m.Time, from.Add(halfDay), to.Add(halfDay)) {
			moved++
		}
	}
	see(s.BeforeAt)
	see(s.AfterAt)
	for _, r := range s.Readings {
		see(r.At)
	}
	if n < least || now > 0 || moved < n {
		return false
	}
	f := at("clin-clock", "start and end are half a day from the other times of the session", s.Start.Cell)
	f.Value = s.Start.Text
	f.Cells = append(f.Cells, s.End.Cell)
	f.Expected = issue.T("perhaps {} to {}", spelt(s.Start, s.Start.Time.Add(halfDay)), spelt(s.End, s.End.Time.Add(halfDay)))
	c.doubt(f, s)
	return true
}

// exchangedTimes finds two readings in a row whose times go back while the
// fluid removed so far grows.
func (c *checker) exchangedTimes(s *session.Session, a, b *session.Reading) {
	first, okA := c.good(a.Value("uf_so_far"))
	second, okB := c.good(b.Value("uf_so_far"))
	if !okA || !okB || first >= second || !a.At.OK() || !b.At.OK() || !b.At.Time.Before(a.At.Time) {
		return
	}
	f := at("clin-uf-falls", "the times of these two readings look exchanged: in their order the fluid removed so far falls", a.At.Cell)
	f.Value, f.Expected, f.Mend = a.At.Text, issue.T("perhaps {} and {}", spelt(b.At, b.At.Time), spelt(a.At, a.At.Time)), issue.T("look at the times of both readings")
	f.Cells = append(f.Cells, b.At.Cell)
	c.add(f, s)
}

func clock(m session.Moment) string { return m.Time.Format("15:04") }

// readAgain are the readings of a session that repeat an earlier one of it in
// every cell, where two or more do.
func readAgain(s *session.Session) map[*session.Reading]bool {
	again := map[*session.Reading]bool{}
	for i, r := range s.Readings {
		same := func(o *session.Reading) bool {
			return o.At.OK() && o.At.Text == r.At.Text && len(o.Values) > 1 && maps.EqualFunc(o.Values, r.Values, func(a, b session.Value) bool { return a.Text == b.Text })
		}
		if slices.ContainsFunc(s.Readings[:i], same) {
			again[r] = true
		}
	}
	if len(again) < 2 {
		return nil
	}
	return again
}

// pasted reports rows of readings that occur twice in the session.
func (c *checker) pasted(s *session.Session, again map[*session.Reading]bool) {
	var f issue.Finding
	for _, r := range s.Readings {
		switch {
		case !again[r]:
		case f.Rule == "":
			f = at("clin-reading-twice", "these readings stand in the session twice, each with the same time and the same numbers", r.At.Cell)
			f.Value, f.Mend = r.At.Text, issue.T("take the second set of rows out")
		default:
			f.Cells = append(f.Cells, r.At.Cell)
		}
	}
	if f.Rule != "" {
		c.add(f, s)
	}
}

// sameTime reports two rows of readings at the same time.
func (c *checker) sameTime(s *session.Session, a, b *session.Reading) {
	if !a.At.OK() || !b.At.OK() || !a.At.Time.Equal(b.At.Time) {
		return
	}
	for field, v := range b.Values {
		if _, both := a.Values[field]; both && v.OK() {
			f := at("clin-reading-twice", "two readings have the same time", b.At.Cell)
			f.Value = b.At.Text
			f.Cells = append(f.Cells, a.At.Cell)
			c.add(f, s)
			return
		}
	}
}

// farthest is how long before or after a session something is at most: a room
// in minutes, or three times the usual deviation, more than in the other
// sessions (common practice). sign is -1 for what is usually after its start.
func (usual measure) farthest(sign, room float64, most time.Duration) time.Duration {
	const spreads = 3
	if usual.n <= 2*fewest {
		return most
	}
	minutes := max(0, sign*usual.mid) + max(room, spreads*usual.spread)
	return min(most, time.Duration(minutes)*time.Minute)
}

// weighing is how long before or after a session a person weighs at most.
func (usual measure) weighing() time.Duration {
	return usual.farthest(1, 90, plausible.WeighingTimes.Early)
}

// aroundIt compares the times of weighing with start and end.
func (c *checker) aroundIt(s *session.Session) {
	if m := s.BeforeAt; m.OK() && (m.Time.After(s.Start.Time.Add(weighingSlack)) || m.Time.Before(s.Start.Time.Add(-c.routine.before.weighing()))) {
		f := at("clin-outside-session", "the time before the session is not shortly before its start", m.Cell)
		f.Value, f.Expected = m.Text, issue.T("a time shortly before {}", clock(s.Start))
		f.Cells = append(f.Cells, s.Start.Cell)
		c.add(f, s)
	}
	if m := s.AfterAt; m.OK() && s.End.OK() && (m.Time.Before(s.End.Time.Add(-weighingSlack)) || m.Time.After(s.End.Time.Add(c.routine.after.weighing()))) {
		f := at("clin-outside-session", "the time after the session is not shortly after its end", m.Cell)
		f.Value, f.Expected = m.Text, issue.T("a time shortly after {}", clock(s.End))
		f.Cells = append(f.Cells, s.End.Cell)
		c.add(f, s)
	}
}
