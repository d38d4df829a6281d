package session

import (
	"time"

	"runsheet.example/validate/issue"
)

// longest is the longest a session can be (common practice: 16 hours).
const longest = 960 * time.Minute

// written is a time cell before its day is known.
type written struct {
	at    spot
	text  string
	clock clockReading
	// marker is "before", "after" or "", from the clock_change column.
	marker string
}

// moment is a time that could not be read or is not there.
func (w written) absent(a Absence) Moment {
	return Moment{Text: w.text, Absence: a, Cell: w.at.cell}
}

// on makes a moment of an instant.
func (w written) on(instant time.Time) Moment {
	return Moment{Text: w.text, Time: instant, Absence: Present, Cell: w.at.cell}
}

// clockCell reads a time cell of the current row. ok is false when there is
// no time to place; m then says why.
func (s *sheetReader) clockCell(c boundColumn, style string) (w written, m Moment, ok bool) {
	w = written{at: s.spot(c.position), text: s.text(c.position)}
	if absence, absent := s.absence(c.position); absent {
		return w, w.absent(absence), false
	}
	w.clock = s.readClock(w.text, style)
	if !w.clock.ok {
		s.add(w.at.finding("log-time", "this cannot be read as a time of day").Seen(w.text, w.clock.expected))
		return w, w.absent(Unreadable), false
	}
	if day := w.clock.day; day != nil && day.rule != "" {
		s.add(w.at.finding(day.rule, day.details).Seen(w.text, day.expected))
		if !day.usable() {
			return w, w.absent(Unreadable), false
		}
	}
	return w, Moment{}, true
}

// dateCell reads a date cell of the current row as local midnight.
func (s *sheetReader) dateCell(c boundColumn, style string, loc *time.Location) Moment {
	at := s.spot(c.position)
	m := Moment{Text: s.text(c.position), DateOnly: true, Cell: at.cell}
	var absent bool
	if m.Absence, absent = s.absence(c.position); absent {
		return m
	}
	day := s.readDate(m.Text, style)
	if day.rule != "" {
		f := at.finding(day.rule, day.details).Seen(m.Text, day.expected)
		if day.rule == "log-date" && (style == styleDMY || style == styleMDY) {
			f.Mend = issue.T("write the date as those of the other rows")
		}
		s.add(f)
	}
	if !day.usable() {
		m.Absence = Unreadable
		return m
	}
	m.Time = midnightOf(day.day, loc)
	return m
}

// midnightOf is the start of a wall-clock day in a zone. Where midnight itself
// is left out by a clock change, the first instant of the day is meant.
func midnightOf(wall time.Time, loc *time.Location) time.Time {
	if loc == nil {
		return wall
	}
	y, m, d := wall.Date()
	return time.Date(y, m, d, 0, 0, 0, 0, loc)
}

// span is the stretch of time that a row is expected in or near.
type span struct{ from, to time.Time }

// distance is how far a wall time is from the span by wall clocks; 0 inside.
func (p span) distance(wall time.Time) time.Duration {
	from, to := wallOf(p.from), wallOf(p.to)
	switch {
	case wall.Before(from):
		return from.Sub(wall)
	case wall.After(to):
		return wall.Sub(to)
	default:
		return 0
	}
}

// nearestDay returns the wall time of a time of day on the day on which it is
// in the span or closest to it, the earlier day on a tie.
func (p span) nearestDay(clock time.Duration) time.Time {
	first := wallOf(p.from).Truncate(24 * time.Hour).Add(-24*time.Hour + clock)
	best := first
	for day := 1; day <= 3; day++ {
		if wall := first.AddDate(0, 0, day); p.distance(wall) < p.distance(best) {
			best = wall
		}
	}
	return best
}

// keepInside leaves only the instants inside the span if there are any.
func (p span) keepInside(instants []time.Time) []time.Time {
	var inside []time.Time
	for _, t := range instants {
		if !t.Before(p.from) && !t.After(p.to) {
			inside = append(inside, t)
		}
	}
	if len(inside) == 0 {
		return instants
	}
	return inside
}

// wall is the wall time of a written time, on its own day if one was written
// and else on the day nearest to the span.
func (w written) wall(near span) time.Time {
	if w.clock.day != nil {
		return w.clock.day.day.Add(w.clock.clock)
	}
	return near.nearestDay(w.clock.clock)
}

// byMarker picks one of two instants by the clock_change marker; all are
// returned when there is nothing to pick or no marker.
func (w written) byMarker(instants []time.Time) []time.Time {
	if len(instants) != 2 {
		return instants
	}
	switch w.marker {
	case "before":
		return instants[:1]
	case "after":
		return instants[1:]
	default:
		return instants
	}
}

// missingHour is the finding for a wall time no clock showed.
func (w written) missingHour(wall time.Time, loc *time.Location) issue.Finding {
	f := w.at.finding("log-time-missing-hour", "there was no such time on that day: the clocks went forward over it")
	f.Value = w.text
	// time.Date picks an instant near the gap; the change is at one end of
	// the zone's period there.
	near := time.Date(wall.Year(), wall.Month(), wall.Day(), wall.Hour(), wall.Minute(), wall.Second(), 0, loc)
	from, to := near.ZoneBounds()
	change := to
	if near.Sub(from) < reach {
		change = from
	}
	before := wallOf(change.Add(-time.Second).In(loc)).Add(time.Second)
	f.Expected = issue.T("a time before {} or from {} on", before.Format("15:04"), change.In(loc).Format("15:04"))
	return f
}

// repeatedHour is the finding for a wall time that came twice.
func (w written) repeatedHour() issue.Finding {
	f := w.at.finding("log-time-repeated-hour", "this time came twice that night: once before and once after the clocks went back")
	f.Value = w.text
	f.Expected = issue.T("before or after in the clock_change column")
	return f
}
