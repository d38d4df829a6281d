package session

import (
	"fmt"
	"slices"
	"strings"

	"runsheet.example/validate/issue"
)

// readSessions reads the sessions file into the log.
func (r *reader) readSessions(s *sheetReader) {
	var nameless []*Session
	for s.read() {
		one := &Session{Cell: s.spot(0).cell, Values: map[Field]Value{}, Texts: map[Field]Text{}}
		s.session = one
		s.realign()
		if !s.rowFaults() {
			continue
		}
		if s.foreignRow() {
			s.leaveRow(RowUnplaced)
			continue
		}
		r.sessionRow(s, one)
		r.log.Sessions = append(r.log.Sessions, one)
		if one.ID == "" {
			nameless = append(nameless, one)
		}
	}
	r.nameTheNameless(nameless)
}

// sessionRow reads one row of the sessions file.
func (r *reader) sessionRow(s *sheetReader, one *Session) {
	r.sessionID(s, one)
	if c, ok := s.column("date"); ok {
		one.Date = s.dateCell(c, r.log.About.DateStyle, r.log.Location)
		s.dayByName(one, r.log.About.DateStyle)
		s.require("date", one.Date.Absence, "the date of the session is missing")
		r.absurdDate(s, c, &one.Date)
	}
	r.sessionTexts(s, one)
	r.sessionZone(s, one)
	r.followed(s, one)
	r.dialyserNamed(s, one)
	for _, c := range s.columns {
		if c.Kind == KindNumber {
			s.put(one.Values, c, s.number(c, c.Unit, false))
		}
	}
	r.sessionTimes(s, one)
	s.timeInDate(one)
}

// dayByName proposes the day in a session's name where its date cannot be read.
func (s *sheetReader) dayByName(one *Session, style string) {
	day, named := one.NamedDay()
	if last := len(s.findings.found) - 1; named && last >= 0 && one.Date.Absence == Unreadable {
		if f := &s.findings.found[last]; f.session == one && f.Cells[0] == one.Date.Cell {
			f.Expected = issue.T("perhaps {}", SpellDay(one.Date.Text, style, day))
		}
	}
}

// timeInDate reports a time of day written after the date that is neither
// midnight, which spreadsheets add, nor the start of the session.
func (s *sheetReader) timeInDate(one *Session) {
	m := afterDate.FindStringSubmatch(one.Date.Text)
	c, ok := s.column("date")
	if m == nil || !ok || !one.Date.OK() {
		return
	}
	clock, read := readTimeOfDay(strings.TrimSuffix(m[2], ".0"))
	if read && (clock == 0 || one.Start.OK() && wallOf(one.Start.Time).Equal(wallOf(one.Date.Time).Add(clock))) {
		return
	}
	s.complain(c.position, "log-date-time", "the time after the date is not read; the times of the session stand in columns of their own",
		one.Date.Text, issue.Text{})
}

// sessionID reads the session's name and books it.
func (r *reader) sessionID(s *sheetReader, one *Session) {
	c, _ := s.column("session")
	text := s.text(c.position)
	r.bookKey(s, one)
	if _, absent := s.absence(c.position); absent {
		return
	}
	one.ID = text
	if !isPlain(text) {
		s.add(s.spot(c.position).finding("log-control", controlSeen))
	}
	first, twice := r.byID[text]
	if !twice {
		r.byID[text] = one
		return
	}
	f := s.spot(c.position).finding("log-session-twice", "another session has the same name")
	f.Value = text
	f.Cells = append(f.Cells, first.Cell)
	s.add(f)
	first.Broken = true
}

// sessionZone finds the zone of a session: the one written in its row, or else
// the log's. With one that cannot be read no time of the session is placed.
func (r *reader) sessionZone(s *sheetReader, one *Session) {
	own := one.Texts["time_zone"]
	if one.Location = r.log.Location; own.Absence == NotRecorded || own.Absence == NotApplicable {
		return
	}
	var err error
	if one.Location, err = loadZone(own.Text); err != nil {
		f := spot{cell: own.Cell}.finding("log-time-zone", "this is not one of the time zones of the IANA list, so the times of the session cannot be placed")
		f.Value, f.Expected = own.Text, zoneLike(own.Text)
		s.add(f)
	}
}

// followed reports a prescription named by the session that the log does not
// have on its day.
func (r *reader) followed(s *sheetReader, one *Session) {
	named := one.Texts["prescription"]
	if !named.OK() || !one.Date.OK() {
		return
	}
	if _, known := r.log.About.PrescriptionFor(one); known {
		return
	}
	var names []string
	for _, p := range r.log.About.Prescriptions {
		if p.Name.OK() {
			names = append(names, strings.ToLower(p.Name.Text))
		}
	}
	f := spot{cell: named.Cell}.finding("log-prescription-unknown", "no prescription has this name on that day")
	f.Value, f.Expected = named.Text, issue.Literal(Nearest(strings.ToLower(named.Text), names))
	s.add(f)
}

// dialyserNamed reports a dialyser that no prescription of the log names, where
// some name one: its KoA is not known. It reports each once.
func (r *reader) dialyserNamed(s *sheetReader, one *Session) {
	own := one.Texts["dialyser"]
	if r.strange[own.Text] {
		return // reported at its first occurrence
	}
	var names []string
	for _, p := range r.log.About.Prescriptions {
		if p.Dialyser.OK() && !slices.Contains(names, p.Dialyser.Text) {
			names = append(names, p.Dialyser.Text)
		}
	}
	if !own.OK() || len(names) == 0 || slices.ContainsFunc(names, func(n string) bool { return strings.EqualFold(n, own.Text) }) {
		return
	}
	f := spot{cell: own.Cell}.finding("log-dialyser-unknown", "log.toml does not know this dialyser, so there is no Kt/V for the session")
	f.Value, f.Expected = own.Text, issue.Literal(Nearest(own.Text, names))
	s.add(f)
	if r.strange == nil {
		r.strange = map[string]bool{}
	}
	r.strange[own.Text] = true
}

// sessionTexts reads status, reason and the other words.
func (r *reader) sessionTexts(s *sheetReader, one *Session) {
	for _, c := range s.columns {
		switch {
		case c.Field == "status":
			status := s.choice(c)
			s.require("status", status.Absence, "it is not said whether the session was done, cut short or not done")
			if status.OK() {
				one.Status = Status(status.Text)
			}
			one.Texts[c.Field] = status
		case c.Choices != nil:
			one.Texts[c.Field] = s.choice(c)
		case c.Kind == KindText:
			one.Texts[c.Field] = s.words(c)
		}
	}
	one.Reason = one.Texts["reason"]
}

// firstDialysis is the year in which a person was first dialysed (Kolff).
const (
	firstDialysis = 1943
	lastYear      = 2100
)

// absurdDate reports a date on which no session can have been.
func (r *reader) absurdDate(s *sheetReader, c boundColumn, m *Moment) {
	if !m.OK() {
		return
	}
	details := ""
	switch {
	case m.Time.Year() > lastYear:
		details = "the year is far in the future"
	case m.Time.Year() < firstDialysis:
		details = "the year is before there was dialysis"
	default:
		return
	}
	s.complain(c.position, "log-date-absurd", details, m.Text, issue.Text{})
}

// nameTheNameless gives sessions without a name one made of date and ordinal.
func (r *reader) nameTheNameless(nameless []*Session) {
	unnamed := map[*Session]bool{}
	for _, one := range nameless {
		unnamed[one] = true
	}
	ofDay := map[string]int{}
	for _, one := range r.log.Sessions {
		if !one.Date.OK() {
			continue
		}
		day := one.Date.Time.Format(isoDay)
		ofDay[day]++
		if !unnamed[one] {
			continue
		}
		r.deriveID(one, day, ofDay[day])
	}
}

func (r *reader) deriveID(one *Session, day string, ordinal int) {
	for ; ; ordinal++ {
		one.ID = fmt.Sprintf("%s-%d", day, ordinal)
		if _, taken := r.byID[one.ID]; !taken {
			break
		}
	}
	one.IDDerived = true
	r.byID[one.ID] = one
	if r.byKey != nil {
		return // said once for the whole table
	}
	at := spot{cell: one.Cell}
	f := at.finding("log-session-derived", "the session has no name; one is made from its date")
	f.Expected = issue.Literal(one.ID)
	r.add(f, one)
}
