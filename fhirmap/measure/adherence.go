package measure

import (
	"slices"
	"time"

	"runsheet.example/calc"
	"runsheet.example/fhirmap/session"
)

// Calendar counts the sessions of a log by local days.
type Calendar struct {
	first, last time.Time
	sessions    []calc.PlannedSession
	held        []float64 // starts of held-back sessions
}

// NewCalendar reads the sessions of a log: done and not done by their rows,
// with the length prescribed on that day. A session without a row is not
// counted; a held-back one is counted separately.
func NewCalendar(log *session.Log) Calendar {
	var c Calendar
	for i, s := range log.Sessions {
		if !s.Date.OK() {
			continue
		}
		if c.first.IsZero() {
			c.first = s.Date.Time
		}
		c.last = s.Date.Time
		at := c.minute(s.Date.Time)
		if s.Broken {
			c.held = append(c.held, at)
			continue
		}
		planned := calc.PlannedSession{StartMin: at, Missed: s.Status == session.SkippedStatus}
		planned.PlannedMin = PlannedMinutes(log, i)
		if in, _ := treatedTime(s); in.Key != "" && !planned.Missed {
			planned.TreatedMin = calc.Known(in.Number)
		}
		if !planned.Missed && len(parts(log, i)) > 1 {
			c.goOn(planned)
			continue
		}
		c.sessions = append(c.sessions, planned)
	}
	return c
}

// goOn adds the time of a restarted session to the last one done.
func (c *Calendar) goOn(again calc.PlannedSession) {
	both := func(a, b calc.Maybe) calc.Maybe {
		return calc.Maybe{Value: a.Value + b.Value, Known: a.Known && b.Known}
	}
	for i := len(c.sessions) - 1; i >= 0; i-- {
		if first := &c.sessions[i]; !first.Missed {
			first.TreatedMin, first.PlannedMin = both(first.TreatedMin, again.TreatedMin), both(first.PlannedMin, again.PlannedMin)
			return
		}
	}
}

// PlannedMinutes is the prescribed length of a session. The records of one
// treatment share it, as do the treatments of one day if at most one a day is
// prescribed: the last gets the remainder.
func PlannedMinutes(log *session.Log, at int) calc.Maybe {
	s := log.Sessions[at]
	if !s.Date.OK() {
		return calc.Maybe{}
	}
	p, _ := log.About.PrescriptionFor(s)
	planned := maybe(p.DurationMin, "min")
	if !planned.Known || s.Status == session.SkippedStatus {
		return planned
	}
	weekly, known := perWeek(p)
	shares := func(i int) bool {
		one := log.Sessions[i]
		return one.Date.OK() && one.Status != session.SkippedStatus && !one.Broken &&
			(known && weekly.Number <= 7 && one.Date.Time.Equal(s.Date.Time) || slices.Contains(parts(log, max(i, at)), min(i, at)))
	}
	treated := func(i int) float64 { in, _ := treatedTime(log.Sessions[i]); return in.Number }
	for i := at - 1; i >= 0 && shares(i); i-- {
		planned.Value -= treated(i)
	}
	if at+1 < len(log.Sessions) && shares(at+1) {
		planned.Value = min(planned.Value, treated(at))
	}
	planned.Value = max(planned.Value, 0)
	return planned
}

// minute is local midnight of a day on the calendar's clock, on which every
// day has 1440 minutes regardless of clock changes.
func (c Calendar) minute(day time.Time) float64 { return 1440 * float64(daysBetween(c.first, day)) }

// Covers reports whether the log begins on or before the first day and
// continues to the last.
func (c Calendar) Covers(first, last time.Time) bool {
	return !c.first.IsZero() && !c.first.After(first) && !c.last.Before(last)
}

// Counted is an adherence count with the number of sessions excluded from it.
type Counted struct {
	calc.Adherence
	HeldBack int
}

// Days counts the sessions of a number of local days from a given day on.
func (c Calendar) Days(first time.Time, days int) Counted {
	from := c.minute(first)
	to := from + 1440*float64(days)
	a, err := calc.CountAdherence(c.sessions, from, to)
	if err != nil {
		return Counted{}
	}
	out := Counted{Adherence: a}
	for _, at := range c.held {
		if at >= from && at < to {
			out.HeldBack++
		}
	}
	return out
}
