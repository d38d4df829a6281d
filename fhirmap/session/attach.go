package session

import (
	"slices"
	"strings"
	"time"

	"runsheet.example/validate/issue"
)

// attached is what the rows of the other files have in common while they are
// read.
type attached struct {
	r *reader
	s *sheetReader
	// open are the rows whose time comes twice and has no marker, with all
	// rows of their session, from whose order the instant may follow.
	open map[*Session]bool
	rows map[*Session][]timed
	// last and near are the session of the row before and its span: rows of
	// one session are mostly adjacent.
	last *Session
	near span
}

// timed is one row's time: settled when one instant is left.
type timed struct {
	at       *Moment
	written  written
	instants []time.Time
}

func newAttached(r *reader, s *sheetReader) *attached {
	return &attached{r: r, s: s, open: map[*Session]bool{}, rows: map[*Session][]timed{}}
}

// find looks up the session that the current row names. It reports and leaves out
// a row without one.
func (a *attached) find() *Session {
	if one, tied := a.byRowKey(); tied {
		return one
	}
	c, _ := a.s.column("session")
	if a.s.row.fault != nil && c.position >= len(a.s.cells)-1 {
		return nil // the cell itself may be damaged
	}
	name := a.s.text(c.position)
	if one, ok := a.r.byID[name]; ok && name != "" {
		return one
	}
	if a.s.row.fault != nil || len(a.r.log.Sessions) == 0 || a.s.foreignRow() { // a log without sessions is reported once
		return nil
	}
	if _, absent := a.s.absence(c.position); absent {
		a.s.add(a.s.spot(c.position).finding("log-cell-missing", "the row does not say which session it belongs to, so it is left out"))
		return nil
	}
	f := a.s.spot(c.position).finding("log-session-unknown", "no session has this name, so the row is left out")
	f.Value = name
	f.Expected = issue.Literal(Nearest(name, a.r.names()))
	a.s.add(f)
	return nil
}

// next moves to the next row that belongs to a session.
func (a *attached) next() (*Session, bool) {
	for a.s.read() {
		a.s.realign()
		one := a.find()
		a.s.session = one
		if a.s.rowFaults() && one != nil {
			if one != a.last {
				a.last, a.near = one, spanOf(one)
			}
			return one, true
		}
		if one == nil && a.s.row.fault == nil {
			a.s.leaveRow(RowUnplaced)
		}
	}
	return nil, false
}

// spanOf is when a session took place, as far as is known.
func spanOf(one *Session) span {
	switch {
	case one.Start.OK() && one.End.OK():
		return span{one.Start.Time, one.End.Time}
	case one.Start.OK():
		return span{one.Start.Time, one.Start.Time.Add(longest)}
	case one.Date.OK():
		day := midnightOf(wallOf(one.Date.Time), one.Location)
		return span{day, day.AddDate(0, 0, 1)}
	default:
		return span{}
	}
}

// marker is the row's clock_change mark.
func (a *attached) marker() string {
	c, ok := a.s.column("clock_change")
	if !ok || a.s.text(c.position) == "" {
		return ""
	}
	if t := a.s.choice(c); t.OK() {
		return t.Text
	}
	return ""
}

// time reads the time cell of a row into m. A time that occurs twice stays open
// until all rows of the sheet are read; then [attached.settle] decides.
func (a *attached) time(field Field, marker string, one *Session, m *Moment) {
	c, ok := a.s.column(field)
	if !ok || a.relative(c, one, m) {
		return
	}
	w, absent, ok := a.s.clockCell(c, a.r.log.About.DateStyle)
	w.marker = marker
	if !ok {
		*m = absent
		return
	}
	if one.Location == nil || a.near.from.IsZero() {
		*m = w.absent(Unreadable) // the session's own finding has the reason
		return
	}
	a.place(w, w.wall(a.near), one, m)
}

// wantedTime reads the time of a row that should have one. A time marked as not
// known is an answer. Only a reading is of little use without a time.
func (a *attached) wantedTime(marker string, one *Session, m *Moment, details string, severity issue.Severity) {
	a.time("time", marker, one, m)
	if m.Absence == NotRecorded {
		f := a.s.lacking("log-time-missing", "time", details)
		f.Severity = severity
		a.s.add(f)
	}
}

// timeOn reads the time a sample was drawn, on a given day.
func (a *attached) timeOn(day time.Time, marker string, one *Session, row *Lab) {
	c, _ := a.s.column("drawn_time")
	w, absent, ok := a.s.clockCell(c, a.r.log.About.DateStyle)
	w.marker = marker
	if !ok {
		row.Drawn = absent
		return
	}
	if one.Location == nil {
		row.Drawn = w.absent(Unreadable)
		return
	}
	a.place(w, day.Add(w.clock.clock), one, &row.Drawn)
}

// until reads when an infusion ended: the first such time after it began.
func (a *attached) until(marker string, one *Session, began Moment) Moment {
	c, ok := a.s.column("until")
	if !ok {
		return Moment{}
	}
	w, absent, ok := a.s.clockCell(c, a.r.log.About.DateStyle)
	w.marker = marker
	if !ok {
		return absent
	}
	if !began.OK() {
		return w.absent(Unreadable)
	}
	wall := w.wall(span{began.Time, began.Time.Add(longest)})
	all := resolveLocal(wall, one.Location)
	instants := w.byMarker(slices.DeleteFunc(all, began.Time.After))
	switch len(instants) {
	case 1:
		return w.on(instants[0])
	case 2:
		a.s.add(w.repeatedHour())
	default:
		f := w.at.finding("log-end-before-start", "the infusion would end before it began")
		f.Value = w.text
		f.Cells = append(f.Cells, began.Cell)
		a.s.add(f)
	}
	return w.absent(Unreadable)
}

// place resolves a wall time of a row.
func (a *attached) place(w written, wall time.Time, one *Session, m *Moment) {
	all := resolveLocal(wall, one.Location)
	instants := w.byMarker(all)
	*m = w.absent(Unreadable)
	if c, ok := a.s.column("clock_change"); ok && w.marker != "" && len(all) == 1 {
		a.s.add(a.s.spot(c.position).finding("log-time-marker", "no time in this row comes twice"))
	}
	switch len(instants) {
	case 0:
		a.s.add(w.missingHour(wall, one.Location))
		return
	case 1:
		*m = w.on(instants[0])
	default:
		a.open[one] = true
	}
	a.rows[one] = append(a.rows[one], timed{m, w, instants})
}

// settle decides the times left open by the order of their session's rows,
// or reports them.
func (a *attached) settle() {
	for _, one := range a.r.log.Sessions {
		if !a.open[one] {
			continue
		}
		rows := a.rows[one]
		for i := range rows {
			if len(rows[i].instants) == 2 {
				a.settleOne(one, rows, i)
			}
		}
	}
}

func (a *attached) settleOne(one *Session, rows []timed, i int) {
	row := rows[i]
	possible := spanOf(one).keepInside(row.instants)
	if len(possible) == 2 {
		possible = inOrder(one, rows, i)
	}
	if len(possible) != 1 {
		a.r.add(row.written.repeatedHour(), one)
		return
	}
	*row.at = row.written.on(possible[0])
	f := row.written.at.finding("log-time-order", "this time came twice that night; the other times of the session tell which is meant")
	f.Value = row.written.text
	f.Expected = issue.Literal("before")
	if possible[0].Equal(row.instants[1]) {
		f.Expected = issue.Literal("after")
	}
	a.r.add(f, one)
}

// inOrder returns the possible instants of row i if the rows of a session are
// in the order of time.
func inOrder(one *Session, rows []timed, i int) []time.Time {
	earliest := spanOf(one).from
	for _, row := range rows[:i] {
		earliest = firstFrom(row.instants, earliest)
	}
	latest := spanOf(one).to
	for j := len(rows) - 1; j > i; j-- {
		latest = lastUntil(rows[j].instants, latest)
	}
	var left []time.Time
	for _, at := range rows[i].instants {
		if !at.Before(earliest) && !at.After(latest) {
			left = append(left, at)
		}
	}
	return left
}

// firstFrom is the first of the instants not before a bound, or the bound
// itself if the row is out of order.
func firstFrom(instants []time.Time, bound time.Time) time.Time {
	for _, at := range instants {
		if !at.Before(bound) {
			return at
		}
	}
	return bound
}

// lastUntil is the last of the instants not after a bound, or the bound.
func lastUntil(instants []time.Time, bound time.Time) time.Time {
	for i := len(instants) - 1; i >= 0; i-- {
		if !instants[i].After(bound) {
			return instants[i]
		}
	}
	return bound
}

// names are the names of all sessions, for suggestions.
func (r *reader) names() []string {
	names := make([]string, 0, len(r.log.Sessions))
	for _, one := range r.log.Sessions {
		names = append(names, one.ID)
	}
	return names
}

// unitCell reads a unit column of the current row.
func (s *sheetReader) unitCell(field Field, find func(string) (string, bool)) (ucum string, ok bool) {
	c, have := s.column(field)
	if !have {
		s.add(s.rowSpot().finding("log-cell-missing", "the number has no unit"))
		return "", false
	}
	text := s.text(c.position)
	if _, absent := s.absence(c.position); absent {
		s.add(s.spot(c.position).finding("log-cell-missing", "the number has no unit"))
		return "", false
	}
	ucum, ok = find(text)
	if !ok {
		f := s.spot(c.position).finding("log-unit", "the log does not know this unit")
		f.Value = text
		if strings.EqualFold(text, "u") {
			f.Expected = issue.T("IU for international units")
		}
		s.add(f)
	}
	return ucum, ok
}
