package session

import (
	"time"

	"runsheet.example/validate/issue"
)

// sessionTimes places the times of a session row: the start on its date, the
// end after it, the others around them.
func (r *reader) sessionTimes(s *sheetReader, one *Session) {
	marker := one.Texts["clock_change"].Text
	if !one.Texts["clock_change"].OK() {
		marker = ""
	}
	t := rowTimes{r: r, s: s, one: one, marker: marker}
	if one.Location == nil || !one.Date.OK() {
		return
	}
	one.Start = t.start()
	if one.Status == Done || one.Status == CutShort {
		s.require("start", one.Start.Absence, "the time the session started is missing")
	}
	one.End = t.end()
	near := spanOf(one)
	before, after := near, near
	if one.Start.OK() {
		before.to = before.from
	}
	if one.End.OK() {
		after.from = after.to
	}
	one.BeforeAt = t.around("before_at", before)
	one.AfterAt = t.around("after_at", after)
	one.EnteredAt = t.later("entered_at", after.from)
	t.unneededMarker()
}

// rowTimes places the times of one session row.
type rowTimes struct {
	r      *reader
	s      *sheetReader
	one    *Session
	marker string
	// used is set when a repeated hour made use of the marker.
	used bool
}

// cell reads one time cell; ok is false when there is nothing to place.
func (t *rowTimes) cell(field Field) (written, Moment, bool) {
	c, ok := t.s.column(field)
	if !ok {
		return written{}, Moment{}, false
	}
	w, m, ok := t.s.clockCell(c, t.r.log.About.DateStyle)
	w.marker = t.marker
	return w, m, ok
}

// place makes a moment of a wall time.
func (t *rowTimes) place(w written, wall time.Time) Moment {
	return t.settle(w, wall, resolveLocal(wall, t.one.Location))
}

// settle makes a moment of the instants a wall time can be.
func (t *rowTimes) settle(w written, wall time.Time, instants []time.Time) Moment {
	if len(instants) == 2 && t.marker != "" {
		t.used = true
		instants = w.byMarker(instants)
	}
	switch len(instants) {
	case 1:
		return w.on(instants[0])
	case 0:
		t.s.add(w.missingHour(wall, t.one.Location))
	default:
		t.s.add(w.repeatedHour())
	}
	return w.absent(Unreadable)
}

func (t *rowTimes) start() Moment {
	w, m, ok := t.cell("start")
	if !ok {
		return m
	}
	wall := wallOf(t.one.Date.Time).Add(w.clock.clock)
	if day := w.clock.day; day != nil {
		if !day.day.Equal(wallOf(t.one.Date.Time)) {
			t.s.add(w.at.finding("log-time", "the day written here is not the date of the session").Seen(w.text, issue.Text{}))
			return w.absent(Unreadable)
		}
	}
	return t.place(w, wall)
}

// end places the end after the start, on the next day if need be.
func (t *rowTimes) end() Moment {
	w, m, ok := t.cell("end")
	start := t.one.Start
	if !ok {
		return m
	}
	if !start.OK() {
		// Without a start there is nothing to place the end by.
		if w.clock.day == nil {
			return w.absent(Unreadable)
		}
		return t.place(w, w.wall(span{}))
	}
	wall := wallOf(t.one.Date.Time).Add(w.clock.clock)
	if w.clock.day != nil {
		wall = w.wall(span{})
	}
	instants := resolveLocal(wall, t.one.Location)
	later := after(instants, start.Time)
	if len(later) == 0 && w.clock.day == nil && !wall.After(wallOf(start.Time)) {
		wall = wall.AddDate(0, 0, 1)
		instants = resolveLocal(wall, t.one.Location)
		later = after(instants, start.Time)
	}
	switch {
	case len(instants) == 0:
		return t.settle(w, wall, nil)
	case len(later) == 0 || later[0].Sub(start.Time) > longest:
		return t.endImpossible(w)
	default:
		return t.settle(w, wall, later)
	}
}

func after(instants []time.Time, start time.Time) []time.Time {
	var later []time.Time
	for _, at := range instants {
		if at.After(start) {
			later = append(later, at)
		}
	}
	return later
}

// endImpossible reports an end that is no end of this start.
func (t *rowTimes) endImpossible(w written) Moment {
	const shortest, usual = 30 * time.Minute, 12 * time.Hour
	start := wallOf(t.one.Start.Time)
	f := w.at.finding("log-end-before-start", "the session would end before it starts, or last more than 16 hours")
	f.Value = w.text
	f.Cells = append(f.Cells, t.one.Start.Cell)
	f.Expected = issue.T("an end within 16 hours after {}", start.Format("15:04"))
	other := start.Sub(start.Truncate(24*time.Hour)) - w.clock.clock
	if other < 0 {
		other += 24 * time.Hour
	}
	if other >= shortest && other <= usual {
		f.Details = f.Details.And(issue.T("start and end may be swapped"))
		f.Expected = issue.T("perhaps start {} and end {}", time.Time{}.Add(w.clock.clock).Format("15:04"), start.Format("15:04"))
	}
	t.r.ends = append(t.r.ends, impossibleEnd{f, t.one, w})
	return w.absent(Unreadable)
}

// impossibleEnd is an end that is none of its start. Which of the two is wrong
// is settled when all starts are known.
type impossibleEnd struct {
	finding issue.Finding
	one     *Session
	written written
}

// settleEnds reports impossible ends, or the start where the person usually
// starts half a day earlier or later.
func (r *reader) settleEnds() {
	const day, half, fewest = 24 * time.Hour, 12 * time.Hour, 4
	var starts []time.Duration
	for _, s := range r.log.Sessions {
		if s.Start.OK() && s.End.OK() {
			starts = append(starts, wallOf(s.Start.Time).Sub(wallOf(s.Date.Time)))
		}
	}
	for _, e := range r.ends {
		clock := wallOf(e.one.Start.Time).Sub(wallOf(e.one.Date.Time))
		near, opposite := 0, 0
		for _, start := range starts {
			switch apart := (start - clock).Abs(); {
			case min(apart, day-apart) < half/4:
				near++
			case min(apart, day-apart) > half*3/4:
				opposite++
			}
		}
		e.byTreatedTime(clock)
		meant := (clock + half) % day
		if length := (e.written.clock.clock - meant + day) % day; opposite >= fewest && opposite > 3*near && length <= longest {
			f := e.finding
			f.Cells = []issue.Cell{e.one.Start.Cell, f.Cells[0]}
			f.Value, f.Expected = e.one.Start.Text, issue.T("perhaps {}", time.Time{}.Add(meant).Format("15:04"))
			f.Details = issue.T("the session would end before it starts, or last more than 16 hours").And(issue.T("the other sessions start half a day apart"))
			e.finding = f
		}
		r.add(e.finding, e.one)
	}
}

// byTreatedTime keeps the proposal to exchange start and end to what fits the
// treatment time; otherwise it proposes the end that has the minutes written
// and fits it. A pause adds less than an hour.
func (e *impossibleEnd) byTreatedTime(start time.Duration) {
	const day, early = 24 * time.Hour, 5 * time.Minute
	v := e.one.Value("treated_time")
	if !v.OK() || v.Unit != "min" {
		return
	}
	treated := time.Duration(v.Decimal.Float64() * float64(time.Minute))
	fits := func(length time.Duration) bool { return length >= treated-early && length < treated+time.Hour-early }
	if fits((start - e.written.clock.clock + day) % day) {
		return
	}
	e.finding.Details = issue.T("the session would end before it starts, or last more than 16 hours")
	e.finding.Expected = issue.T("an end within 16 hours after {}", time.Time{}.Add(start).Format("15:04"))
	for hours := range 24 * time.Hour / time.Hour {
		if end := (e.written.clock.clock + hours*time.Hour) % day; fits((end - start + day) % day) {
			e.finding.Expected = issue.T("perhaps {}", time.Time{}.Add(end).Format("15:04"))
		}
	}
}

// around places a time close to a moment of the session.
func (t *rowTimes) around(field Field, near span) Moment {
	w, m, ok := t.cell(field)
	if !ok {
		return m
	}
	return t.place(w, w.wall(near))
}

// later places a time at its first occurrence after a moment.
func (t *rowTimes) later(field Field, moment time.Time) Moment {
	w, m, ok := t.cell(field)
	if !ok {
		return m
	}
	return t.place(w, w.wall(span{moment, moment.Add(24*time.Hour - time.Second)}))
}

// unneededMarker reports a marker without effect.
func (t *rowTimes) unneededMarker() {
	c, ok := t.s.column("clock_change")
	if ok && t.marker != "" && !t.used {
		t.s.add(t.s.spot(c.position).finding("log-time-marker", "no time in this row comes twice"))
	}
}
