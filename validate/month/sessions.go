package month

import (
	"cmp"
	"slices"
	"strconv"
	"time"

	"runsheet.example/calc"
	"runsheet.example/profiles"
	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/resources"
)

// session is one haemodialysis session of any document.
type session struct {
	patient uint64 // a hash
	seq     uint64
	span    resources.Span
	day     int64 // local day of the start, in days since 1970
	done    bool
	cut     bool // stopped before its end
	at      place
}

func (a *adder) session(i int, res *resources.Resource) {
	d := a.d
	if !a.rec.HasCoding(res.Code, profiles.Haemodialysis) || d.Is(res.Status, "entered-in-error") {
		return
	}
	patient, _ := a.patient(i, res)
	text := d.Str(res.Effective)
	if d.Kind(res.Effective) == doc.Object {
		text = d.Str(d.Get(res.Effective, "start"))
	}
	day, ok := localDay(text)
	if !ok {
		return
	}
	a.out.sessions = append(a.out.sessions, session{
		patient: a.hash(patient), span: res.Span, day: day,
		done: !d.Is(res.Status, "not-done"), cut: d.Is(res.Status, "stopped"), at: a.lines.place(a.rec, i),
	})
}

// localDay parses the date of a time, in the local time of its offset.
func localDay(text []byte) (int64, bool) {
	day, err := time.Parse(time.DateOnly, string(text[:min(len(text), len(time.DateOnly))]))
	return day.Unix() / secondsPerDay, err == nil
}

const (
	secondsPerDay = 24 * 60 * 60
	daysPerWeek   = 7
	// sameStart is the largest difference between two starts of the same
	// session.
	sameStart = 5 * 60
	// longestGap is the largest number of days between two sessions without a
	// finding.
	longestGap = 4
)

// Expected is the number of sessions expected by a manifest.
type Expected struct {
	// Prescribed are the prescriptions, in the order of their first days.
	Prescribed []Prescribed
	// LeftOut counts sessions of the log that were not exported.
	LeftOut int
}

// Prescribed is a prescription from its first day on, counted in days from
// 1970-01-01; SessionsPerWeek is 0 if not prescribed.
type Prescribed struct {
	From            int64
	SessionsPerWeek float64
}

// perWeek returns the number of sessions prescribed for a week. If the
// prescription changes within it, the smaller number applies; a week not
// wholly covered by prescriptions requires none.
func (e Expected) perWeek(monday int64) float64 {
	least, known := 0.0, false
	for day := monday; day < monday+daysPerWeek; day++ {
		n := 0.0
		for _, p := range e.Prescribed {
			if p.From <= day {
				n = p.SessionsPerWeek
			}
		}
		if !known || n < least {
			least, known = n, true
		}
	}
	return least
}

// keepSession stores a session of a file.
func (m *Month) keepSession(s *session, from int32) {
	if m.tooMany = m.tooMany || len(m.sessions) >= m.limits.sessions; m.tooMany {
		m.sessions = nil // some would seem to be missing
		return
	}
	one := *s
	one.seq, one.at.file = m.seq, from
	m.sessions = append(m.sessions, one)
}

// compareSessions compares the sessions of each patient.
func (m *Month) compareSessions(found *late) {
	sessions := m.sessions
	slices.SortStableFunc(sessions, func(x, y session) int {
		return cmp.Or(cmp.Compare(x.patient, y.patient), cmp.Compare(x.day, y.day), cmp.Compare(x.span.Start, y.span.Start), cmp.Compare(x.at.identity, y.at.identity))
	})
	for first := 0; first < len(sessions); {
		end := first + 1
		for end < len(sessions) && sessions[end].patient == sessions[first].patient {
			end++
		}
		of := ofPatient{m, distinct(sessions[first:end]), found}
		of.overlaps()
		if expected := of.expected(); len(expected.Prescribed) > 0 {
			of.fewer(expected)
		} else {
			of.gaps()
		}
		first = end
	}
}

// distinct removes repeated sessions with the same identity. It reuses the
// memory of its argument.
func distinct(sessions []session) []session {
	seen := map[string]bool{}
	return slices.DeleteFunc(sessions, func(s session) bool {
		again := s.at.identity != "" && seen[s.at.identity]
		seen[s.at.identity] = true
		return again
	})
}

// ofPatient compares the sessions of one patient in order of time.
type ofPatient struct {
	m        *Month
	sessions []session
	found    *late
}

// expected is what the manifest that was read last expects, of those beside the
// sessions.
func (p ofPatient) expected() (out Expected) {
	var last uint64
	for _, s := range p.sessions {
		if of := p.m.files[s.at.file].manifest; of != nil && s.seq >= last {
			last, out = s.seq, of.Expected
		}
	}
	return out
}

func (p ofPatient) overlaps() {
	var last *session
	for i := range p.sessions {
		s := &p.sessions[i]
		if !s.done || !s.span.HasStart || !s.span.HasEnd {
			continue
		}
		switch {
		case last == nil || s.span.Start >= last.span.End:
		case s.span.Start-last.span.Start <= sameStart:
			p.pair(s, "month-record-session-twice", "another session begins at the same time", last)
		default:
			p.pair(s, "month-record-overlap", "another session is not over yet when this one begins", last)
		}
		if last == nil || s.span.End > last.span.End {
			last = s
		}
	}
}

// gaps reports long intervals where no prescription gives a number of
// sessions.
func (p ofPatient) gaps() {
	for i := 1; i < len(p.sessions); i++ {
		s, before := &p.sessions[i], &p.sessions[i-1]
		if days := s.day - before.day; days > longestGap {
			f := p.m.finding(s.at, "month-record-gap", "more than four days lie between this session and the one before")
			f.Value = strconv.FormatInt(days, 10) + " days since " + p.m.where(before)
			p.found.add(s.seq, f)
		}
	}
}

// goesOn reports whether a record continues the treatment of the record before
// it.
func (p ofPatient) goesOn(at int) bool {
	if at == 0 {
		return false
	}
	before, s := &p.sessions[at-1], &p.sessions[at]
	return before.done && s.done && before.span.HasEnd && s.span.HasStart && s.span.Start >= before.span.End &&
		calc.StartedAgain(before.cut, time.Duration(s.span.Start-before.span.End)*time.Second)
}

// fewer counts the sessions of every whole week, Monday to Sunday, between the
// first and the last session.
func (p ofPatient) fewer(expected Expected) {
	first, last := p.sessions[0].day, p.sessions[len(p.sessions)-1].day
	// 1970-01-01 was a Thursday, so day 4 was a Monday.
	const monday = 4
	start := first + (monday-first%daysPerWeek+daysPerWeek)%daysPerWeek
	at := 0
	for ; start+daysPerWeek-1 <= last; start += daysPerWeek {
		for at < len(p.sessions) && p.sessions[at].day < start {
			at++
		}
		count := 0
		for i := at; i < len(p.sessions) && p.sessions[i].day < start+daysPerWeek; i++ {
			if !p.goesOn(i) {
				count++
			}
		}
		if float64(count) <= expected.perWeek(start)-1 {
			p.tooFew(&p.sessions[min(at, len(p.sessions)-1)], start, count, expected)
		}
	}
}

// tooFew reports a week at its first session, or the session after it.
func (p ofPatient) tooFew(s *session, monday int64, count int, expected Expected) {
	details := "a week holds fewer sessions, done or not done, than the prescription asks for"
	if expected.LeftOut > 0 {
		details += "; sessions that were left out of the export are not counted"
	}
	f := p.m.finding(s.at, "month-record-fewer", details)
	f.Value = strconv.Itoa(count) + " in the week from " + time.Unix(monday*secondsPerDay, 0).UTC().Format(time.DateOnly)
	f.Expected = issue.T("{} a week", strconv.FormatFloat(expected.perWeek(monday), 'f', -1, 64))
	p.found.add(s.seq, f)
}

// pair reports a finding about two sessions, at the later one.
func (p ofPatient) pair(s *session, rule, details string, earlier *session) {
	f := p.m.finding(s.at, rule, details)
	f.Value = s.at.identity + "; the other at " + p.m.where(earlier)
	p.found.add(s.seq, f)
}

func (m *Month) where(s *session) string {
	return m.files[s.at.file].name + " line " + strconv.Itoa(int(s.at.line))
}
