package session

import (
	"strings"
	"time"

	"runsheet.example/validate/issue"
)

// fewestProving is how many dates or numbers prove a form that log.toml does
// not declare, and nearlyAll how many times as many they are as those of the
// declared form (common practice).
const (
	fewestProving = 5
	nearlyAll     = 10
)

// proves reports whether so many in one form, against so many in another, prove
// it.
func proves(of, other int) bool { return of >= fewestProving && of >= nearlyAll*other }

// settleForms finds the decimal mark of a file, and the order of day and month
// in the dates of the sessions: the declared ones, or those that the file shows
// in a pass of its own. It reports whether there is any
// number with a mark, or a declaration.
//
// A declaration that the file contradicts gives a finding at its line in
// log.toml, which holds every session back; the file is read in its own form,
// so that its correct cells give none.
func (r *reader) settleForms(s *sheetReader) bool {
	scan := s.again()
	s.clock = r.log.About.TimeForm
	s.mark = byte(r.log.About.DecimalMark)
	if s.sheet != SheetSessions && s.mark != 0 && r.marked {
		return true
	}
	var evidence markEvidence
	var dates dateEvidence
	for scan.read() {
		for _, c := range scan.columns {
			if c.Kind == KindNumber && !scan.row.Cell(c.position).Number {
				evidence.see(scan.text(c.position))
			}
		}
		dates.see(scan)
	}
	r.settleDates(dates)
	if s.mark == 0 {
		s.mark = evidence.mark()
		return evidence != markEvidence{}
	}
	own, other := evidence.point, evidence.comma
	if s.mark == ',' {
		own, other = other, own
	}
	r.marked = r.marked || own > 0
	if proves(other, own) && !r.marked {
		s.mark = otherMark(s.mark)
		r.log.About.DecimalMark = rune(s.mark)
		r.written.complain("decimal_mark", "about-form", "nearly all numbers of the log have the other decimal mark", issue.T("perhaps {}", `"`+string(s.mark)+`"`))
	}
	return true
}

// settleDates compares the declared order of day and month with the dates.
func (r *reader) settleDates(dates dateEvidence) {
	about := &r.log.About
	proven := ""
	switch {
	case proves(dates.dayFirst, dates.monthFirst):
		proven = styleDMY
	case proves(dates.monthFirst, dates.dayFirst):
		proven = styleMDY
	}
	if proven == "" || proven == about.DateStyle || about.DateStyle == "" && !dates.ambiguous {
		return
	}
	about.DateStyle = proven
	r.written.complain("date_style", "about-form", "nearly all dates of the sessions are written in another order", issue.T("perhaps {}", `"`+proven+`"`))
}

// dateEvidence counts the dates of the sessions that prove the order of day
// and month: a date that is a day in one order only, or the day in the name of
// its session.
type dateEvidence struct {
	dayFirst, monthFirst int
	// ambiguous is set by a date that is a day in both orders.
	ambiguous bool
}

// see takes the date of a row into account.
func (e *dateEvidence) see(s *sheetReader) {
	date, dated := s.column("date")
	name, named := s.column("session")
	if !dated || s.sheet != SheetSessions || s.mapped != nil && s.mapped.Dates.declared() {
		return
	}
	m := yearLast.FindStringSubmatch(afterDate.ReplaceAllString(s.text(date.position), "$1"))
	if m == nil {
		return
	}
	a, b := dayOf(m[3], m[2], m[1]), dayOf(m[3], m[1], m[2])
	one := Session{}
	if named {
		one.ID = strings.TrimSpace(s.text(name.position))
	}
	day, ok := one.NamedDay()
	is := func(d dateReading) bool { return ok && d.day.Format(time.DateOnly) == day.Format(time.DateOnly) }
	switch {
	case a.usable() && (!b.usable() || is(a)) && !a.day.Equal(b.day):
		e.dayFirst++
	case b.usable() && (!a.usable() || is(b)) && !a.day.Equal(b.day):
		e.monthFirst++
	}
	e.ambiguous = e.ambiguous || a.usable() && b.usable() && !a.day.Equal(b.day)
}
