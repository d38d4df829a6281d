package visit

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"runsheet.example/calc"
	"runsheet.example/cmd/runsheet/internal/adequacy"
	"runsheet.example/fhirmap/session"
	"runsheet.example/profiles"
	"runsheet.example/validate/issue"
)

// Record is what a page is made of, read from a log ([FromLog]) or from
// exported records ([FromRecords]).
type Record struct {
	patient, system string
	// local reports that the log names no clinic's number for the patient.
	local, fromLog bool
	treatments     []treatment // in the order of their start
	undated        int         // sessions held back whose day is not known
	plans          []plan      // in the order of their first day
	accesses       []access
	weeks          []weekly
	weekDone       map[time.Time]int // sessions done, by the Monday
	labs           []lab
	questions      []string
	zones          []string
	// child reports that definitions for adults are left out.
	child bool
	// logID, digest and rules identify what was read; digest is the SHA-256
	// over the digests of the files of the log, as [manifest.Root] forms it.
	logID, digest, rules string
}

type status uint8

const (
	done status = iota
	cutShort
	notDone
	heldBack
)

// value is a number as it was written, or as its method rounds it.
type value struct {
	text, unit string
	number     float64
	// method is that of a computed value, "" for an entered one.
	method      string
	preliminary bool
}

// treatment is one session. values has entered numbers by their field,
// computed ones by their key, and those named below.
type treatment struct {
	id     string
	start  time.Time // local time of day in UTC; only the day if not done
	status status
	reason string
	events []event
	// medicines are those given, in the order of the log.
	medicines []dose
	values    map[string]value
	readings  []map[string]value
	// hypotension has the answers by definition; what is not assessable is
	// absent.
	hypotension map[string]bool
}

// event is one row of the events; text is "" if nothing is written.
type event struct{ kind, text string }

// dose is one giving of a medicine; amount has no text if none is written down.
type dose struct {
	name   string
	amount value
}

// took reports whether the treatment took place and has values.
func (t treatment) took() bool { return t.status == done || t.status == cutShort }

// Values of a treatment that are neither a field nor the key of a method.
const (
	lowestSystolic  = "lowest_systolic"
	prescribedTime  = "prescribed_time"
	ufLimit         = "uf_limit"
	shortTime       = "treated_time_less_prescribed"
	aboveLimit      = "uf_rate_less_limit"
	venousPressure  = "venous_line_pressure"
	arterialPresure = "arterial_line_pressure"
)

// plan is what is prescribed from a day on.
type plan struct {
	from   time.Time
	values map[string]value
}

type access struct {
	from time.Time
	kind string
}

// weekly is a value of the week from a Monday.
type weekly struct {
	monday time.Time
	value
}

// lab is a laboratory value; name is a text of the table or as written.
type lab struct {
	day  time.Time
	name issue.Text
	value
}

// day is the calendar day of a time, in UTC, so that days compare.
func day(t time.Time) time.Time {
	return time.Date(t.Year(), t.Month(), t.Day(), 0, 0, 0, 0, time.UTC)
}

// wall is a local time with its zone left out.
func wall(t time.Time) time.Time {
	return time.Date(t.Year(), t.Month(), t.Day(), t.Hour(), t.Minute(), 0, 0, time.UTC)
}

// ErrNoSession is returned for a log or records without a dated session.
var ErrNoSession = errors.New("there is no session with a date to report on")

// FromLog takes the sessions of a checked log ([export.Check] marks those held
// back) and the measures computed from it.
func FromLog(log *session.Log) (*Record, error) {
	table := adequacy.Of(log)
	about := log.About
	r := &Record{
		patient: about.PatientValue, system: about.PatientSystem, local: about.Local, fromLog: true,
		logID: about.LogID, rules: issue.RulesDigest(), digest: digestOf(log.Sources), zones: []string{about.TimeZone}, questions: about.Questions, weekDone: map[time.Time]int{},
	}
	at := map[string]int{}
	for i, s := range table.Sessions {
		switch {
		case s.Broken && s.Date.OK():
			r.treatments = append(r.treatments, treatment{start: day(s.Date.Time), status: heldBack, events: eventsOf(s.Session)})
		case s.Broken:
			r.undated++
		case s.Date.OK():
			at[s.ID] = len(r.treatments)
			r.treatments = append(r.treatments, treatmentOf(table, i))
			if zone := s.Location; zone != nil && !slices.Contains(r.zones, zone.String()) {
				r.zones = append(r.zones, zone.String())
			}
			r.addLabs(s.Labs)
		}
	}
	for _, row := range table.Rows() {
		i, known := at[row.Session]
		switch {
		case row.Scope == "session" && known:
			r.treatments[i].computed(row)
			r.child = r.child || row.WhyNot == calc.ForAdults
		case row.Scope == "week":
			r.addWeek(row.Key, row.Date, value{text: row.Value, unit: row.Unit, method: row.Method})
		}
	}
	r.prescribed(about)
	return r, r.usable()
}

func (r *Record) usable() error {
	if len(r.treatments) == 0 {
		return ErrNoSession
	}
	slices.SortStableFunc(r.treatments, func(a, b treatment) int { return a.start.Compare(b.start) })
	slices.SortStableFunc(r.labs, func(a, b lab) int { return a.day.Compare(b.day) })
	slices.SortStableFunc(r.weeks, func(a, b weekly) int { return a.monday.Compare(b.monday) })
	return nil
}

func digestOf(sources []session.Source) string {
	lines := make([]string, len(sources))
	for i, s := range sources {
		lines[i] = s.SHA256 + "  " + s.Name + "\n"
	}
	return digest(lines)
}

func digest(lines []string) string {
	slices.Sort(lines)
	sum := sha256.Sum256([]byte(strings.Join(lines, "")))
	return hex.EncodeToString(sum[:])
}

func entered(v session.Value) (value, bool) {
	return value{text: v.Decimal.String(), unit: v.Unit, number: v.Decimal.Float64()}, v.OK() && v.Comparator == ""
}

func treatmentOf(table adequacy.Table, i int) treatment {
	s := table.Sessions[i]
	t := treatment{id: s.ID, start: day(s.Date.Time), reason: s.Reason.Text, events: eventsOf(s.Session), values: map[string]value{}, hypotension: map[string]bool{}}
	if s.Start.OK() && !s.Start.DateOnly {
		t.start = wall(s.Start.Time)
	}
	t.status = map[session.Status]status{session.Done: done, session.CutShort: cutShort, session.SkippedStatus: notDone}[s.Status]
	if t.status == notDone {
		return t
	}
	for field, v := range s.Session.Values {
		if one, ok := entered(v); ok {
			t.values[string(field)] = one
		}
	}
	if s.TreatedTime.Key != "" {
		t.values["treated_time"] = value{text: s.TreatedTime.Text, unit: "min", number: s.TreatedTime.Number, preliminary: s.TreatedFromClock}
	}
	for _, m := range s.Medicines {
		amount, known := entered(m.Dose)
		if !known {
			amount, known = entered(m.Rate)
		}
		if !known {
			amount = value{}
		}
		t.medicines = append(t.medicines, dose{m.Name.Text, amount})
	}
	for _, reading := range s.Readings {
		one := map[string]value{}
		for field, v := range reading.Values {
			if number, ok := entered(v); ok {
				one[string(field)] = number
			}
		}
		t.readings = append(t.readings, one)
	}
	t.lowest()
	return t
}

// eventsOf are the events of a session, with the number of an alarm where
// nothing else is written.
func eventsOf(s *session.Session) (events []event) {
	for _, e := range s.Events {
		events = append(events, event{strings.ToLower(e.Kind.Text), cmp.Or(e.What.Text, e.AlarmNumber.Text, e.Action.Text)})
	}
	return events
}

// lowest sets the lowest systolic pressure during the treatment, the first of
// equals.
func (t *treatment) lowest() {
	for _, reading := range t.readings {
		low, known := t.values[lowestSystolic]
		if v, ok := reading["bp_systolic"]; ok && (!known || v.number < low.number) {
			t.values[lowestSystolic] = v
		}
	}
}

// computed adds a computed value, the first of its key, and those of its
// inputs that say what was prescribed.
func (t *treatment) computed(row adequacy.Row) {
	const definition = "intradialytic hypotension by "
	if row.Key == "intradialytic_hypotension" && row.Value != calc.NotAssessable.String() {
		t.hypotension[strings.TrimPrefix(row.Quantity, definition)] = row.Value == calc.Yes.String()
	}
	if row.When != "" {
		return // twice in a session, and not on the page
	}
	for _, in := range row.Inputs {
		if in.Key == "dry_weight" || in.Key == prescribedTime || in.Key == ufLimit {
			t.set(in.Key, value{text: in.Value, unit: in.Unit})
		}
	}
	if row.Key != "recovery_time" { // as entered
		t.set(row.Key, value{text: row.Value, unit: row.Unit, method: row.Method})
	}
}

func (t *treatment) set(key string, v value) {
	number, err := strconv.ParseFloat(v.text, 64)
	if _, known := t.values[key]; known || err != nil {
		return
	}
	v.number = number
	t.values[key] = v
}

// addWeek adds the sessions done in a week, and its first weekly dose by the
// urea model, which is that of the main model.
func (r *Record) addWeek(key, monday string, v value) {
	at, err := time.Parse(time.DateOnly, monday[:min(len(monday), len(time.DateOnly))])
	number, bad := strconv.ParseFloat(v.text, 64)
	if key == "sessions_done" && err == nil && bad == nil {
		r.weekDone[at] = int(number)
	}
	if key != weeklyDoseKey || err != nil || bad != nil || !strings.Contains(v.method, calc.KineticSuffix(false)) ||
		slices.ContainsFunc(r.weeks, func(w weekly) bool { return w.monday.Equal(at) }) {
		return
	}
	v.number = number
	r.weeks = append(r.weeks, weekly{at, v})
}

func (r *Record) addLabs(labs []*session.Lab) {
	for _, l := range labs {
		drawn := l.Drawn
		if !drawn.OK() {
			drawn = l.Day
		}
		if !drawn.OK() || !l.Value.OK() {
			continue
		}
		name := issue.Literal(l.Test.Text)
		if field, ok := session.TestField(l.Test.Text); ok {
			name = nameOf(string(field), l.When.Text)
		}
		r.labs = append(r.labs, lab{day(drawn.Time), name, value{text: l.Value.Comparator + l.Value.Decimal.String(), unit: l.Value.Unit}})
	}
}

// nameOf is the name of a laboratory test, with the side of the dialysis that
// it was taken on: values before and after are never compared.
func nameOf(field, when string) issue.Text {
	for _, side := range [...]string{"before", "after"} {
		if bare, ok := strings.CutSuffix(field, "_"+side); ok {
			field, when = bare, side
		}
	}
	name := issue.Literal(strings.ReplaceAll(field, "_", " "))
	if row, ok := profiles.RowOf(profiles.Field(field)); ok && row.Name.English() != "" {
		name = issue.T(row.Name.English())
	}
	switch when {
	case "before":
		return issue.T("{} before", name)
	case "after":
		return issue.T("{} after", name)
	}
	return name
}

// prescribed takes the usual prescriptions, and the accesses.
func (r *Record) prescribed(about session.About) {
	for _, p := range about.Prescriptions {
		if !p.ValidFrom.OK() || p.Name.OK() {
			continue
		}
		one := plan{day(p.ValidFrom.Time), map[string]value{}}
		for key, v := range map[string]session.Value{
			"treated_time": p.DurationMin, "weight_after": p.Values["dry_weight"], "uf_rate_per_kg": p.Values["uf_limit"], "sessions": p.SessionsPerWeek,
		} {
			if number, ok := entered(v); ok {
				one.values[key] = number
			}
		}
		if _, stated := one.values["sessions"]; !stated && len(p.Weekdays) > 0 {
			one.values["sessions"] = value{text: fmt.Sprint(len(p.Weekdays)), number: float64(len(p.Weekdays)), unit: "/wk"}
		}
		r.plans = append(r.plans, one)
	}
	for _, a := range about.Accesses {
		if a.ValidFrom.OK() {
			r.accesses = append(r.accesses, access{day(a.ValidFrom.Time), cmp.Or(a.Kind.Text, "access")})
		}
	}
	slices.SortStableFunc(r.plans, func(a, b plan) int { return a.from.Compare(b.from) })
	slices.SortStableFunc(r.accesses, func(a, b access) int { return a.from.Compare(b.from) })
}

// planOn is the prescription in force on a day.
func (r *Record) planOn(d time.Time) (plan, bool) {
	for i := len(r.plans) - 1; i >= 0; i-- {
		if !r.plans[i].from.After(d) {
			return r.plans[i], true
		}
	}
	return plan{}, false
}
