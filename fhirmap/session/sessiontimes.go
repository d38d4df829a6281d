package session

import "time"

// sessionTimes places the times of a session row: the start on its date, the
// end after it, the others around them.
func (r *reader) sessionTimes(s *sheetReader, one *Session) {
	loc := r.log.Location
	marker := one.Texts["clock_change"].Text
	if !one.Texts["clock_change"].OK() {
		marker = ""
	}
	t := rowTimes{r: r, s: s, one: one, marker: marker}
	if loc == nil || !one.Date.OK() {
		return
	}
	one.Start = t.start()
	if one.Status == Done || one.Status == CutShort {
		s.require("start", one.Start.Absence, "the time the session started is missing")
	}
	one.End = t.end()
	day := span{one.Date.Time, one.Date.Time.AddDate(0, 0, 1)}
	start, end := day.from, day.to
	if one.Start.OK() {
		start, end = one.Start.Time, one.Start.Time
	}
	if one.End.OK() {
		end = one.End.Time
	}
	one.BeforeAt = t.around("before_at", span{start, start})
	one.AfterAt = t.around("after_at", span{end, end})
	one.EnteredAt = t.later("entered_at", end)
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

// settle makes a moment of the instants a wall time can be.
func (t *rowTimes) settle(w written, instants []time.Time) Moment {
	if len(instants) == 2 && t.marker != "" {
		t.used = true
		instants = w.byMarker(instants)
	}
	switch len(instants) {
	case 1:
		return w.on(instants[0])
	case 0:
		t.s.add(w.missingHour())
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
			f := w.at.finding("log-time", "the day written here is not the date of the session")
			f.Value = w.text
			t.s.add(f)
			return w.absent(Unreadable)
		}
	}
	return t.settle(w, resolveLocal(wall, t.r.log.Location))
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
		return t.settle(w, resolveLocal(w.wall(span{}), t.r.log.Location))
	}
	wall := wallOf(t.one.Date.Time).Add(w.clock.clock)
	if w.clock.day != nil {
		wall = w.wall(span{})
	}
	later := t.after(resolveLocal(wall, t.r.log.Location), start.Time)
	if len(later) == 0 && w.clock.day == nil && !wall.After(wallOf(start.Time)) {
		later = t.after(resolveLocal(wall.AddDate(0, 0, 1), t.r.log.Location), start.Time)
	}
	if len(later) == 0 && len(resolveLocal(wall, t.r.log.Location)) == 0 {
		return t.settle(w, nil)
	}
	if len(later) == 0 || later[0].Sub(start.Time) > longest {
		return t.endImpossible(w)
	}
	return t.settle(w, later)
}

func (t *rowTimes) after(instants []time.Time, start time.Time) []time.Time {
	var later []time.Time
	for _, at := range instants {
		if at.After(start) {
			later = append(later, at)
		}
	}
	return later
}

func (t *rowTimes) endImpossible(w written) Moment {
	f := w.at.finding("log-end-before-start", "the session would end before it starts, or last more than 16 hours")
	f.Value = w.text
	f.Cells = append(f.Cells, t.one.Start.Cell)
	t.s.add(f)
	return w.absent(Unreadable)
}

// around places a time close to a moment of the session.
func (t *rowTimes) around(field Field, near span) Moment {
	w, m, ok := t.cell(field)
	if !ok {
		return m
	}
	return t.settle(w, resolveLocal(w.wall(near), t.r.log.Location))
}

// later places a time at its first occurrence after a moment.
func (t *rowTimes) later(field Field, moment time.Time) Moment {
	w, m, ok := t.cell(field)
	if !ok {
		return m
	}
	half := 12 * time.Hour
	return t.settle(w, resolveLocal(w.wall(span{moment, moment.Add(2*half - time.Minute)}), t.r.log.Location))
}

// unneededMarker tells that a marker had no effect.
func (t *rowTimes) unneededMarker() {
	c, ok := t.s.column("clock_change")
	if ok && t.marker != "" && !t.used {
		t.s.add(t.s.spot(c.position).finding("log-time-marker", "no time in this row comes twice"))
	}
}
