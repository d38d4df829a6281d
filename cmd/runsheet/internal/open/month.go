package open

import (
	"net/http"
	"slices"
	"strings"
	"time"

	"runsheet.example/fhirmap/session"
	"runsheet.example/fhirmap/session/edit"
)

// monthPage is the sessions of one month, and of the start page that of today.
type monthPage struct {
	Month    time.Time // its first day; zero for the sessions without a readable day
	Today    string
	Sessions []sessionLine
	Weeks    [][]calendarDay
	Months   []monthLine // all months of the log, the newest first
	Earlier  time.Time
	Next     time.Time
	Checking bool
	Other    []found // of no session
	AboutDue bool    // the questions about the person are not answered yet
	Path     string
}

// sessionLine is a session in the list of a month.
type sessionLine struct {
	Row        int
	Day        time.Time
	Text       string // of the date, where it cannot be read
	Status     string
	Start, End string
	counts
}

type calendarDay struct {
	Day      time.Time // zero outside the month
	IsToday  bool
	IsPast   bool // or today
	Sessions []sessionLine
}

type monthLine struct {
	Month    time.Time
	Sessions int
	counts
}

// linesOf lists the sessions of the log by day.
func linesOf(l *edit.Log, c *checked) []sessionLine {
	style := l.About("log.date_style")
	var lines []sessionLine
	for _, row := range l.Rows(session.SheetSessions) {
		cell := func(column string) string { return strings.TrimSpace(l.Cell(session.SheetSessions, row, column)) }
		line := sessionLine{Row: row, Text: cell("date"), Status: cell("status"), Start: cell("start"), End: cell("end"), counts: c.countsOf(row)}
		if line.Text+line.Status+line.Start+cell("session") == "" {
			continue
		}
		line.Day, _ = dayOf(line.Text, style)
		if s := c.sessionAt(row); s != nil && s.Date.OK() {
			y, m, d := s.Date.Time.Date()
			line.Day = time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
		}
		lines = append(lines, line)
	}
	slices.SortStableFunc(lines, func(a, b sessionLine) int { return a.Day.Compare(b.Day) })
	return lines
}

// dayOf reads a date in ISO form or in the style of the log, for the order of
// lists while the log is not read yet.
func dayOf(text, style string) (time.Time, bool) {
	if t, err := time.Parse(time.DateOnly, text); err == nil {
		return t, true
	}
	part := strings.FieldsFunc(text, func(r rune) bool { return r == '/' || r == '.' || r == '-' })
	if len(part) != 3 {
		return time.Time{}, false
	}
	if style == "mdy" {
		part[0], part[1] = part[1], part[0]
	}
	t, err := time.Parse("2 1 2006", strings.Join(part, " "))
	return t, err == nil
}

func firstOf(t time.Time) time.Time { return time.Date(t.Year(), t.Month(), 1, 0, 0, 0, 0, time.UTC) }

// monthsOf counts the sessions of each month, the newest month first.
func monthsOf(lines []sessionLine) []monthLine {
	var months []monthLine
	for _, line := range slices.Backward(lines) {
		first := line.month()
		if n := len(months); n == 0 || !months[n-1].Month.Equal(first) {
			months = append(months, monthLine{Month: first})
		}
		m := &months[len(months)-1]
		m.Sessions++
		m.counts = m.plus(line.counts)
	}
	return months
}

// month is the first day of the month of a session, zero without a readable day.
func (l sessionLine) month() time.Time {
	if l.Day.IsZero() {
		return time.Time{}
	}
	return firstOf(l.Day)
}

func (c counts) plus(d counts) counts {
	return counts{Mistakes: c.Mistakes + d.Mistakes, Looks: c.Looks + d.Looks, Answered: c.Answered + d.Answered}
}

// monthAsked is the month that a request asks for, of the newest without one,
// and all months with sessions.
func monthAsked(r *http.Request, lines []sessionLine) (month time.Time, all []monthLine) {
	all = slices.DeleteFunc(monthsOf(lines), func(m monthLine) bool { return m.Month.IsZero() })
	month, err := time.Parse("2006-01", r.FormValue("month"))
	if err != nil && len(all) > 0 {
		month = all[0].Month
	}
	return month, all
}

// newMonthPage is the page of the month that begins on a day.
func newMonthPage(f frame, l *edit.Log, c *checked, month, today time.Time) *monthPage {
	lines := linesOf(l, c)
	p := &monthPage{Month: month, Today: today.Format(time.DateOnly), Checking: c == nil, Months: monthsOf(lines)}
	for _, line := range lines {
		if line.month().Equal(month) {
			p.Sessions = append(p.Sessions, line)
		}
	}
	for _, m := range p.Months {
		switch {
		case m.Month.IsZero():
		case m.Month.After(month):
			p.Next = m.Month
		case m.Month.Before(month) && p.Earlier.IsZero():
			p.Earlier = m.Month
		}
	}
	p.Weeks = weeksOf(month, today, p.Sessions)
	p.Other = c.otherFound(f.Lang)
	p.AboutDue = l.About("patient.birth_date") == "" && l.AboutParts("prescription") == 0
	return p
}

// weeksOf is the calendar of a month, Monday first.
func weeksOf(month, today time.Time, lines []sessionLine) (weeks [][]calendarDay) {
	if month.IsZero() {
		return nil
	}
	day := month.AddDate(0, 0, -(int(month.Weekday())+6)%7)
	for day.Before(month.AddDate(0, 1, 0)) {
		week := make([]calendarDay, 7)
		for i := range week {
			if day.Month() == month.Month() {
				week[i] = calendarDay{Day: day, IsToday: day.Format(time.DateOnly) == today.Format(time.DateOnly), IsPast: !day.After(today)}
				for _, line := range lines {
					if line.Day.Equal(day) {
						week[i].Sessions = append(week[i].Sessions, line)
					}
				}
			}
			day = day.AddDate(0, 0, 1)
		}
		weeks = append(weeks, week)
	}
	return weeks
}

// start is the first page: the month of today, or how to begin.
func (s *server) start(w http.ResponseWriter, r *http.Request, said frame) {
	if s.missing() {
		f := frame{Lang: languageOf("", r), Nav: "start", Data: s.opts.Log}
		if s.own != nil {
			s.showSheet(w, r, http.StatusOK, newSheetPage(f, s, nil))
			return
		}
		f.Title = f.say("Welcome")
		s.render(w, http.StatusOK, "begin", f)
		return
	}
	s.monthOf(w, r, firstOf(s.opts.Now()), said.Said)
}

// month is the page of any month.
func (s *server) month(w http.ResponseWriter, r *http.Request) {
	month, err := time.Parse("2006-01", r.PathValue("month"))
	if err != nil && r.PathValue("month") != "undated" {
		s.fail(w, r, http.StatusNotFound, "there is no such page")
		return
	}
	s.monthOf(w, r, month, "")
}

func (s *server) monthOf(w http.ResponseWriter, r *http.Request, month time.Time, said string) {
	l, f, ok := s.openLog(w, r)
	if !ok {
		return
	}
	p := newMonthPage(f, l, s.checks.of(l.Digest(), waitFirst), month, s.opts.Now())
	for _, one := range s.copiedFound {
		p.Other = append(p.Other, foundOf(f.Lang, one))
	}
	if p.Path = s.opts.Log; said == "" && s.copied != "" {
		said = f.say("This log is a copy of {}, which stays as it is. The copy is the folder {}.", s.copied, p.Path)
	}
	if said == "" && s.opened != "" {
		said = f.say("This is the copy of {} that was made before. What was written into the file since is not in it.", s.opened)
	}
	f.Nav, f.Said, f.Data = "month", said, p
	f.Title = f.say("Treatments without a readable day")
	if !month.IsZero() {
		f.Title = monthIn(f.Lang, month)
	}
	s.render(w, http.StatusOK, "month", f)
}

// removeSession takes a session out of the log, with the rows that name it.
func (s *server) removeSession(w http.ResponseWriter, r *http.Request, l *edit.Log, f frame) {
	row := number(r.PathValue("row"))
	if r.PostForm.Get("digest") != l.Digest() || !slices.Contains(l.Rows(session.SheetSessions), row) {
		s.fail(w, r, http.StatusConflict, "the log was changed by another page or program after this page was made, so nothing was removed")
		return
	}
	p := newSessionPage(asked{lang: f.Lang, log: l, Row: row})
	err := l.RemoveRow(session.SheetSessions, row)
	for sheet := range rowWords {
		for _, row := range slices.Backward(p.rowsOf(sheet)) {
			if err == nil {
				err = l.RemoveRow(sheet, row)
			}
		}
	}
	if err == nil {
		err = l.Save(r.PostForm.Get("digest"))
	}
	if err != nil {
		s.fail(w, r, http.StatusConflict, err.Error())
		return
	}
	s.start(w, r, frame{Said: f.say("The treatment is removed. “Undo the last save” brings it back.")})
}

func monthPath(t time.Time) string {
	if t.IsZero() {
		return "/month/undated"
	}
	return "/month/" + t.Format("2006-01")
}
