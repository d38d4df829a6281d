package month

import (
	"bytes"
	"cmp"
	"slices"
	"strconv"
	"time"

	"runsheet.example/profiles"
	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/record"
)

var haemodialysis = profiles.Coding{System: profiles.SNOMED, Code: "302497006"}

// session is one haemodialysis session of any document.
type session struct {
	patient, identity string
	span              record.Span
	day               int64 // local day of the start, in days since 1970
	done              bool
	at                issue.Finding // place, without rule
}

func (a *adder) session(i int, res *record.Resource) {
	d := a.d
	if !a.rec.HasCoding(res.Code, haemodialysis) || d.Is(res.Status, "entered-in-error") {
		return
	}
	if len(a.m.sessions) >= MaxKept/10 {
		a.m.full = true
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
	at := issue.Finding{File: d.File, Expression: d.Path(res.Node)}
	at.Line, at.Column = a.position(res.Node)
	a.m.sessions = append(a.m.sessions, session{
		patient: string(patient), identity: string(res.Identity), span: res.Span, day: day,
		done: !d.Is(res.Status, "not-done"), at: at,
	})
}

// position is the line and column of a node in its file. The lines are counted
// from the session before, which is cheaper than an index of all lines.
func (a *adder) position(n doc.Node) (line, column int) {
	offset := a.d.Offset(n)
	since := a.d.Data[a.counted:offset]
	if last := bytes.LastIndexByte(since, '\n'); last >= 0 {
		a.lines += bytes.Count(since, []byte{'\n'})
		a.lineStart = a.counted + last + 1
	}
	a.counted = offset
	line = 1 + a.lines
	if a.base > 0 {
		line += a.base - 1
	}
	return line, 1 + offset - a.lineStart
}

// localDay reads the day a time was written with, in the local time of its
// offset.
func localDay(text []byte) (int64, bool) {
	const date = len("2006-01-02")
	if len(text) < date {
		return 0, false
	}
	seconds, ok := record.Seconds(append(append(make([]byte, 0, date+len("T00:00:00Z")), text[:date]...), "T00:00:00Z"...))
	return seconds / secondsPerDay, ok
}

const (
	secondsPerDay = 24 * 60 * 60
	daysPerWeek   = 7
	// sameStart is how far apart two starts may be to be the same session.
	sameStart = 5 * 60
	// longestGap is the most days between two sessions that needs no word.
	longestGap = 4
)

// Expected is what a manifest says about the number of sessions.
type Expected struct {
	// Prescribed is what the prescriptions ask for, in the order they begin.
	Prescribed []Prescribed
	// LeftOut counts sessions of the log that were not exported.
	LeftOut int
}

// Prescribed is a prescription from its first day, counted in days from
// 1970-01-01, on; SessionsPerWeek is 0 when it does not say.
type Prescribed struct {
	From            int64
	SessionsPerWeek float64
}

// perWeek is the number of sessions prescribed for a week. Where the
// prescription changes within it the smaller number counts, and a week that
// is not wholly prescribed for asks for nothing.
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

// Finish compares the sessions of all documents with each other and with what
// is expected.
func (m *Month) Finish(expected Expected, add func(issue.Finding)) {
	slices.SortStableFunc(m.sessions, func(x, y session) int {
		return cmp.Or(cmp.Compare(x.patient, y.patient), cmp.Compare(x.day, y.day), cmp.Compare(x.span.Start, y.span.Start), cmp.Compare(x.identity, y.identity))
	})
	for first := 0; first < len(m.sessions); {
		end := first + 1
		for end < len(m.sessions) && m.sessions[end].patient == m.sessions[first].patient {
			end++
		}
		of := distinct(m.sessions[first:end])
		overlaps(of, add)
		if len(expected.Prescribed) > 0 {
			fewer(of, expected, add)
		} else {
			gaps(of, add)
		}
		first = end
	}
}

// distinct leaves out sessions that stand again under the same identity.
func distinct(sessions []session) []session {
	seen := map[string]bool{}
	var out []session
	for _, s := range sessions {
		if s.identity != "" && seen[s.identity] {
			continue
		}
		seen[s.identity] = true
		out = append(out, s)
	}
	return out
}

func overlaps(sessions []session, add func(issue.Finding)) {
	var last *session
	for i := range sessions {
		s := &sessions[i]
		if !s.done || !s.span.HasStart || !s.span.HasEnd {
			continue
		}
		switch {
		case last == nil || s.span.Start >= last.span.End:
		case s.span.Start-last.span.Start <= sameStart:
			s.report("month-record-session-twice", "another session begins at the same time", last, add)
		default:
			s.report("month-record-overlap", "another session is not over yet when this one begins", last, add)
		}
		if last == nil || s.span.End > last.span.End {
			last = s
		}
	}
}

// gaps looks for long spaces where no prescription says how many sessions
// there should be.
func gaps(sessions []session, add func(issue.Finding)) {
	for i := 1; i < len(sessions); i++ {
		if days := sessions[i].day - sessions[i-1].day; days > longestGap {
			f := sessions[i].finding("month-record-gap")
			f.Details = "more than four days lie between this session and the one before"
			f.Value = strconv.FormatInt(days, 10) + " days since " + sessions[i-1].where()
			add(f)
		}
	}
}

// fewer counts the sessions of every whole week, Monday to Sunday, between the
// first and the last session.
func fewer(sessions []session, expected Expected, add func(issue.Finding)) {
	first, last := sessions[0].day, sessions[len(sessions)-1].day
	// 1970-01-01 was a Thursday, so day 4 was a Monday.
	const monday = 4
	start := first + (monday-first%daysPerWeek+daysPerWeek)%daysPerWeek
	at := 0
	for ; start+daysPerWeek-1 <= last; start += daysPerWeek {
		for at < len(sessions) && sessions[at].day < start {
			at++
		}
		count := 0
		for at+count < len(sessions) && sessions[at+count].day < start+daysPerWeek {
			count++
		}
		if float64(count) <= expected.perWeek(start)-1 {
			sessions[min(at, len(sessions)-1)].tooFew(start, count, expected, add)
		}
	}
}

// tooFew reports a week at its first session, or the one after it.
func (s *session) tooFew(monday int64, count int, expected Expected, add func(issue.Finding)) {
	f := s.finding("month-record-fewer")
	f.Details = "a week holds fewer sessions, done or not done, than the prescription asks for"
	if expected.LeftOut > 0 {
		f.Details += "; sessions that were left out of the export are not counted"
	}
	f.Value = strconv.Itoa(count) + " in the week from " + time.Unix(monday*secondsPerDay, 0).UTC().Format(time.DateOnly)
	f.Expected = strconv.FormatFloat(expected.perWeek(monday), 'f', -1, 64) + " a week"
	add(f)
}

func (s *session) finding(rule string) issue.Finding {
	f := issue.At(rule)
	f.File, f.Line, f.Column, f.Expression = s.at.File, s.at.Line, s.at.Column, s.at.Expression
	return f
}

// report adds a finding about two sessions, at the later one.
func (s *session) report(rule, details string, earlier *session, add func(issue.Finding)) {
	f := s.finding(rule)
	f.Details, f.Value = details, s.identity+"; the other at "+earlier.where()
	add(f)
}

func (s *session) where() string { return s.at.File + " line " + strconv.Itoa(s.at.Line) }
