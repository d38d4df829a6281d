package audit

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"time"

	"runsheet.example/calc"
	"runsheet.example/cmd/runsheet/internal/roster"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/manifest"
)

// patient is what is known of one patient.
type patient struct {
	key      string
	rows     []roster.Person // of the roster
	sessions []session
	held     []Held
	plan     []manifest.Expected
}

func (p *patient) number() string {
	if len(p.rows) > 0 {
		return p.rows[0].Value
	}
	return p.key
}

// row is the row of the roster, far behind all others if there is none.
func (p *patient) row() int {
	if len(p.rows) > 0 {
		return p.rows[0].Row
	}
	return math.MaxInt
}

// session is one session of the records.
type session struct {
	id         string
	from       *Export
	day        day
	start, end int64 // seconds since 1970, 0 if not known
	kind       kind
}

// kind is what became of a session. A session that was not done, without a
// reason, is unexplained.
type kind string

const (
	done        kind = "done"
	cutShort    kind = "cut-short"
	notDone     kind = "not-done"
	unexplained kind = "unexplained"
	heldBack    kind = "held-back"
)

// day is a day, counted from 1970-01-01, a Thursday.
type day int

const (
	daysPerWeek = 7
	secondsADay = 24 * 60 * 60
)

func dayOf(t time.Time) day { return day(t.Unix() / secondsADay) }

// parsed is the day of a text that was checked before, or otherwise.
func parsed(text string, otherwise day) day {
	if t, err := time.Parse(time.DateOnly, text); err == nil {
		return dayOf(t)
	}
	return otherwise
}

func (d day) String() string { return time.Unix(int64(d)*secondsADay, 0).UTC().Format(time.DateOnly) }

// MarshalText writes the day as YYYY-MM-DD.
func (d day) MarshalText() ([]byte, error) { return []byte(d.String()), nil }

// UnmarshalText reads it.
func (d *day) UnmarshalText(text []byte) error {
	t, err := time.Parse(time.DateOnly, string(text))
	*d = dayOf(t)
	return err
}

func (d day) month() string { return d.String()[:len("2025-11")] }

// monday is the first day of the week.
func (d day) monday() day { return d - (d+3)%daysPerWeek }

// attendance judges the days of one patient.
type attendance struct {
	*audit
	p        *patient
	from, to day
	months   map[string]*monthDays
	weeks    map[day]*Week
	// owed is the part of a session that was planned in the weeks before, is not
	// there and was not reported: after a week of 3 of 3.5 the next one has 4.
	owed float64
	// otherPlan is what the records say where the roster plans another number.
	otherPlan string
}

// monthDays are the days of a month on which the patient could have been treated,
// and what is there.
type monthDays struct{ days, sessions int }

// complete compares the sessions of a patient with the plan, week by week.
func (a *audit) complete(p *patient) {
	if p.key == "" && len(p.sessions)+len(p.held) == 0 {
		return // exports without records
	}
	t := attendance{audit: a, p: p, months: map[string]*monthDays{}, weeks: map[day]*Week{}}
	row := Patient{Number: p.number()}
	t.once()
	t.bounds()
	t.days()
	for i := range p.sessions {
		t.count(&row, p.sessions[i].day, p.sessions[i].kind)
	}
	slices.SortFunc(p.held, func(a, b Held) int {
		return cmp.Or(cmp.Compare(a.Day, b.Day), cmp.Compare(a.Session, b.Session))
	})
	p.held = slices.Compact(p.held)
	for _, left := range p.held {
		if d := parsed(left.Day, math.MinInt); left.Day != "" {
			t.count(&row, d, heldBack)
		} else {
			row.HeldBack++
		}
	}
	if n := len(p.sessions); n > 0 {
		row.First, row.Last = p.sessions[0].day.String(), p.sessions[n-1].day.String()
	}
	if t.otherPlan != "" {
		t.add(t.finding("audit-plan-differs", issue.T("the roster plans another number of sessions than the prescription in the records"), t.otherPlan))
	}
	absent := t.absent(&row)
	for monday := t.from.monday(); monday <= t.to; monday += daysPerWeek {
		if w := t.weeks[monday]; w != nil {
			t.judge(&row, w, monday, absent)
		}
	}
	a.report.Patients = append(a.report.Patients, row)
}

// once sorts the sessions and drops those that stand there twice, and the second
// record of a treatment that was started again.
func (t *attendance) once() {
	p := t.p
	slices.SortStableFunc(p.sessions, func(x, y session) int {
		return cmp.Or(cmp.Compare(x.day, y.day), cmp.Compare(x.start, y.start), cmp.Compare(x.id, y.id), cmp.Compare(x.from.Dir, y.from.Dir))
	})
	twice, second := map[string]int{}, 0
	var kept []session
	for _, s := range p.sessions {
		if n := len(kept); n > 0 {
			last := &kept[n-1]
			switch {
			case s.id != "" && s.id == last.id:
				if s.from != last.from {
					twice[last.from.Dir+" and "+s.from.Dir]++
				}
				continue
			case s.day == last.day && s.from.Log != last.from.Log && s.from.Log != "" && last.from.Log != "":
				second++
			case last.kind == cutShort && (s.kind == done || s.kind == cutShort) && s.start >= last.end && last.end > 0 && calc.StartedAgain(true, time.Duration(s.start-last.end)*time.Second):
				last.kind, last.end = s.kind, s.end
				continue
			}
		}
		kept = append(kept, s)
	}
	p.sessions = kept
	for _, both := range sortedKeys(twice) {
		t.add(place("audit-session-twice", both, issue.T("the same sessions stand in two exports"), issue.Plural(twice[both], "session", "sessions")))
	}
	if second > 0 {
		t.add(t.finding("audit-log-second", issue.T("two logs of the patient have sessions of the same day"), issue.Plural(second, "session", "sessions")))
	}
}

// finding is a finding about the patient, at the row of the roster or at the
// first export.
func (t *attendance) finding(rule string, details issue.Text, value string) issue.Finding {
	f := place(rule, "", details, "patient "+t.p.number())
	if value != "" {
		f.Value += ": " + value
	}
	switch {
	case len(t.p.rows) > 0:
		f.File, f.Line = t.opts.Roster, t.p.rows[0].Row
	case len(t.p.sessions) > 0:
		f.File = t.p.sessions[0].from.Dir
	}
	return f
}

// bounds sets the days that are judged: those asked for, where none is asked for
// those from the first to the last session.
func (t *attendance) bounds() {
	t.from, t.to = 0, -1
	if n := len(t.p.sessions); n > 0 {
		t.from, t.to = t.p.sessions[0].day, t.p.sessions[n-1].day
	}
	if len(t.p.sessions) > 0 || t.opts.From != "" && t.opts.To != "" {
		t.from, t.to = parsed(t.opts.From, t.from), parsed(t.opts.To, t.to)
	}
}

// on returns the row of the roster for a day; ok is false if there is none or
// the day is not asked for.
func (t *attendance) on(d day) (row *roster.Person, ok bool) {
	if d < t.from || d > t.to {
		return nil, false
	}
	text := d.String()
	for i := range t.p.rows {
		if row := &t.p.rows[i]; roster.Covers(row.From, row.To, text) {
			return row, true
		}
	}
	return nil, !t.onRoster
}

// days begins the weeks and months of the days that are judged: how many
// sessions were planned, and on how many days none can be missing.
func (t *attendance) days() {
	slices.SortStableFunc(t.p.plan, func(a, b manifest.Expected) int { return cmp.Compare(a.From, b.From) })
	for d := t.from.monday(); d <= t.to.monday()+daysPerWeek-1; d++ {
		w := t.weeks[d.monday()]
		if w == nil {
			w = &Week{Monday: d.monday().String(), planned: math.Inf(1)}
			t.weeks[d.monday()] = w
		}
		row, ok := t.on(d)
		if !ok {
			w.Free++
			continue
		}
		if reason := leaveOn(row, d); reason != "" {
			w.Free++
			w.Leave = reason
			continue
		}
		m := t.months[d.month()]
		if m == nil {
			m = &monthDays{}
			t.months[d.month()] = m
		}
		m.days++
		w.planned = min(w.planned, t.planned(row, d))
	}
}

func leaveOn(row *roster.Person, d day) string {
	if row == nil {
		return ""
	}
	for _, l := range row.Leave {
		if roster.Covers(l.From, l.To, d.String()) {
			return l.Reason
		}
	}
	return ""
}

// planned is the number of sessions a week, of the roster or else of the
// prescription in the records; 0 if neither says it.
func (t *attendance) planned(row *roster.Person, d day) float64 {
	perWeek := 0.0
	for _, e := range t.p.plan {
		if e.From <= d.String() {
			perWeek, _ = e.SessionsPerWeek.Float64() // 0 means none
		}
	}
	if row == nil || row.PerWeek == 0 {
		return perWeek
	}
	if perWeek > 0 && perWeek != row.PerWeek && t.otherPlan == "" {
		t.otherPlan = fmt.Sprintf("%v a week, the records %v, from %s", row.PerWeek, perWeek, d)
	}
	return row.PerWeek
}

// count adds a session to its week.
func (t *attendance) count(row *Patient, d day, k kind) {
	if d < t.from || d > t.to {
		return // not asked for
	}
	if _, ok := t.on(d); !ok {
		row.unknown++
		return
	}
	if m := t.months[d.month()]; m != nil {
		m.sessions++
	}
	for _, c := range []*Counts{&t.weeks[d.monday()].Counts, &row.Counts} {
		switch k {
		case done:
			c.Done++
		case cutShort:
			c.CutShort++
		case notDone:
			c.NotDone++
		case heldBack:
			c.HeldBack++
		case unexplained: // the plan says how many are missing
		}
	}
}

// absent reports what is not there as a whole, and returns its months. A part of
// a month that is shorter than a week is not judged.
func (t *attendance) absent(row *Patient) map[string]bool {
	if t.onRoster && (len(t.p.rows) == 0 || row.unknown > 0) {
		value := issue.Plural(row.unknown, "session", "sessions") + " on other days"
		if len(t.p.rows) == 0 {
			value = issue.Plural(len(t.p.sessions), "session", "sessions")
		}
		t.add(t.finding("audit-patient-unknown", issue.T("there are sessions of a patient, or of days, that the roster does not have"), value))
	}
	absent := map[string]bool{}
	attended := false
	for name, m := range t.months {
		if attended = attended || m.sessions > 0; m.days >= daysPerWeek && m.sessions == 0 {
			absent[name] = true
		}
	}
	if len(t.p.rows) > 0 && !attended && (len(absent) > 0 || len(t.p.sessions)+len(t.p.held) == 0 && t.to < t.from) {
		t.add(t.finding("audit-patient-absent", issue.T("there is no record of a patient on the roster"), ""))
		return absent
	}
	for _, name := range sortedKeys(absent) {
		t.add(t.finding("audit-month-absent", issue.T("a month has no session, done or not done"), name))
	}
	return absent
}

// judge completes a week: what is missing of the plan and could not have fallen
// on a day that is free.
func (t *attendance) judge(row *Patient, w *Week, monday day, absent map[string]bool) {
	if w.Free == daysPerWeek && w.Counts == (Counts{}) && w.Leave == "" {
		return
	}
	if w.planned > 0 && !math.IsInf(w.planned, 1) {
		w.Planned = strconv.FormatFloat(w.planned, 'f', -1, 64)
		short := t.owed + w.planned - float64(w.Done+w.CutShort+w.NotDone+w.HeldBack+w.Free)
		w.Unexplained = max(int(math.Floor(short)), 0)
		t.owed = max(short-float64(w.Unexplained), 0)
		row.planned += w.planned
		row.Unexplained += w.Unexplained
	} else if t.owed = 0; w.Free < daysPerWeek {
		row.Unplanned++
	}
	row.Weeks = append(row.Weeks, *w)
	reported := absent[monday.month()] || absent[(monday+daysPerWeek-1).month()]
	if w.Unexplained > 0 && !reported {
		t.add(t.finding("audit-week-unexplained", issue.T("a week has fewer sessions than were planned, and nothing says why"),
			fmt.Sprintf("week from %s, %d unexplained of %s", w.Monday, w.Unexplained, w.Planned)))
	}
}
