package check

import (
	"slices"
	"time"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/plausible"
)

// exchangedClock finds a time of weighing inside the session that was exchanged
// with the start or the end, where the person always weighs outside it.
func (c *checker) exchangedClock(s *session.Session) {
	const room, spreads, display = 15, 3, 3 // minutes, but spreads (common practice)
	c.clockByWeighing(s)
	elapsed, timed := c.elapsed(s)
	treated, known := c.good(s.Value("treated_time"))
	for _, p := range []struct {
		early, late session.Moment // as they should be
		usual       measure
		words       string
	}{
		{s.BeforeAt, s.Start, c.routine.before, "these two times look exchanged: the time before and the start"},
		{s.End, s.AfterAt, c.routine.after, "these two times look exchanged: the end and the time after"},
	} {
		if !timed || !p.early.OK() || !p.late.OK() || p.usual.n <= 2*fewest || p.usual.mid <= p.usual.spread {
			continue
		}
		inside := p.early.Time.Sub(p.late.Time).Minutes()
		if inside <= 0 || inside > p.usual.mid+max(room, spreads*p.usual.spread) || known && elapsed-inside < treated-display {
			continue
		}
		f := at("clin-exchanged", p.words, p.early.Cell)
		f.Severity, f.Value = issue.Warning, p.early.Text
		f.Cells = append(f.Cells, p.late.Cell)
		f.Expected = issue.T("perhaps {} and {}", spelt(p.late, p.late.Time), spelt(p.early, p.early.Time))
		c.doubt(f, s)
	}
}

// clockByWeighing blames start or end of a session with a weighing between them,
// if it is longer than the treatment, by more than an exchange of the two times
// would take away, and another start or end fits the other times better.
func (c *checker) clockByWeighing(s *session.Session) {
	const long, better = 10, 15 // minutes (common practice)
	elapsed, timed := c.elapsed(s)
	treated, known := c.good(s.Value("treated_time"))
	inside := 0.0
	if s.BeforeAt.OK() {
		inside = s.BeforeAt.Time.Sub(s.Start.Time).Minutes()
	}
	if s.AfterAt.OK() {
		inside = max(inside, s.End.Time.Sub(s.AfterAt.Time).Minutes())
	}
	if !timed || !known || !c.routine.paused || inside <= 0 || elapsed-inside-treated-c.routine.pause < long {
		return
	}
	length := time.Duration(treated+c.routine.pause) * time.Minute
	least := min(c.cost(s, s.End.Time.Add(-length), s.End.Time), c.cost(s, s.Start.Time, s.Start.Time.Add(length)))
	if least+better <= c.cost(s, s.Start.Time, s.End.Time) {
		c.blameClock(s, treated, []issue.Cell{s.Value("treated_time").Cell})
	}
}

// exchangedReadings finds two sessions whose readings have each other's name:
// some are outside the session named, and none outside the other one.
func (c *checker) exchangedReadings() {
	const several = 3 // readings (common practice)
	rows := c.inRows()
	for i, a := range rows {
		for _, b := range rows[i+1 : min(len(rows), i+1+neighbours)] {
			ofA, ofB := c.outsideOf(a, a), c.outsideOf(b, b)
			if ofA < 1 || ofB < 1 || ofA+ofB < several || c.outsideOf(a, b) != 0 || c.outsideOf(b, a) != 0 {
				continue
			}
			f := at("clin-outside-session", "the readings of this session and those of another one look exchanged: each fit the times of the other one", a.Readings[0].Cell)
			f.Value, f.Expected, f.Mend = a.ID, issue.T("perhaps {} here and {} there", b.ID, a.ID), issue.T("look at the session's name in these rows")
			for _, r := range slices.Concat(a.Readings, b.Readings) {
				f.Cells = append(f.Cells, r.At.Cell)
				for _, v := range r.Values {
					c.suspect[v.Cell] = true
				}
			}
			c.doubt(f, a)
		}
	}
}

// outsideOf counts the readings of one session that are outside another one by
// the time of day, -1 if that is not known.
func (c *checker) outsideOf(one, s *session.Session) (n int) {
	if _, timed := c.elapsed(s); !timed {
		return -1
	}
	from, to := s.Start.Time.Add(-plausible.ReadingTimes.Early), s.End.Time.Add(plausible.ReadingTimes.Late)
	for _, r := range one.Readings {
		if r.At.OK() && !clockWithin(r.At.Time, from, to) {
			n++
		}
	}
	return n
}
