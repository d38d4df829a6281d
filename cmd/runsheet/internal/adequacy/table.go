// Package adequacy lays computed values out as tables: for each session, and
// for each week of sessions. It prints values with their methods, inputs and
// sources and the published figures to read beside them; it never judges.
package adequacy

import (
	"strconv"
	"time"

	"runsheet.example/calc"
	"runsheet.example/fhirmap/measure"
	"runsheet.example/fhirmap/session"
)

// Table is the computed values of a log.
type Table struct {
	Log      *session.Log
	Sessions []measure.Session
	Weeks    []Week
}

// Week is one local week, Monday to Sunday, by the start of its sessions.
type Week struct {
	Monday time.Time
	// Done, CutShort and NotDone count the sessions written for the week;
	// Held counts those held back because of mistakes.
	Done, CutShort, NotDone, Held int
	// Prescribed is the prescribed number of sessions, 0 when not stated.
	Prescribed string
	// Whole means that the log begins before the week and ends after it, so
	// that no session of it can lie outside.
	Whole bool
	// HoursTreated and UFLitres are sums over the sessions that say so;
	// WithoutTime and WithoutUF count those that do not.
	HoursTreated           float64
	WithoutTime, WithoutUF int
	UFLitres               float64
	// MaxUFRate is the highest UF rate per kg, "" when none was computed.
	MaxUFRate string
	// Doses are the weekly doses computed for sessions of the week.
	Doses []measure.Value
}

// Of computes the table of a log.
func Of(log *session.Log) Table {
	t := Table{Log: log, Sessions: measure.Log(log)}
	t.Weeks = weeks(log, t.Sessions)
	return t
}

func weeks(log *session.Log, sessions []measure.Session) []Week {
	var out []Week
	var first, last time.Time
	for _, s := range sessions {
		if !s.Date.OK() {
			continue
		}
		day := s.Date.Time
		if first.IsZero() {
			first = day
		}
		last = day
		monday := mondayOf(day)
		if len(out) == 0 || !out[len(out)-1].Monday.Equal(monday) {
			out = append(out, Week{Monday: monday, Prescribed: prescribed(log, day)})
		}
		out[len(out)-1].count(s)
	}
	for i := range out {
		w := &out[i]
		w.Whole = !first.After(w.Monday) && !last.Before(w.Monday.AddDate(0, 0, 6))
	}
	return out
}

func mondayOf(day time.Time) time.Time {
	back := (int(day.Weekday()) + 6) % 7
	return day.AddDate(0, 0, -back)
}

func prescribed(log *session.Log, day time.Time) string {
	p, ok := log.About.PrescriptionOn(day)
	switch {
	case ok && p.SessionsPerWeek.OK():
		return p.SessionsPerWeek.Decimal.String()
	case ok && len(p.Weekdays) > 0:
		return strconv.Itoa(len(p.Weekdays))
	default:
		return ""
	}
}

func (w *Week) count(s measure.Session) {
	switch {
	case s.Broken:
		w.Held++
		return
	case s.Status == session.SkippedStatus:
		w.NotDone++
		return
	case s.Status == session.CutShort:
		w.CutShort++
	default:
		w.Done++
	}
	if s.TreatedTime.Key == "" {
		w.WithoutTime++
	} else {
		w.HoursTreated += s.TreatedTime.Number / 60
	}
	w.fluid(s)
	for _, v := range s.Values {
		if v.Key() == "std_kt_v_weekly" && v.Result.OK() {
			w.Doses = append(w.Doses, v)
		}
	}
}

func (w *Week) fluid(s measure.Session) {
	if uf := s.Session.Value("uf_removed"); uf.OK() && uf.Unit == "L" {
		w.UFLitres += uf.Decimal.Float64()
	} else {
		w.WithoutUF++
	}
	rate, ok := s.Value("uf_rate_per_kg")
	if !ok {
		return
	}
	highest, err := strconv.ParseFloat(w.MaxUFRate, 64)
	if err != nil || rate.Result.Value > highest {
		w.MaxUFRate = rate.Result.Rounded()
	}
}

// targets lists the published recommendations that speak of a quantity in the
// table, for the schedule prescribed last.
func (t Table) targets() []calc.Target {
	var week calc.Week
	if n := len(t.Log.About.Prescriptions); n > 0 {
		p := t.Log.About.Prescriptions[n-1]
		week.SessionsPerWeek, _ = strconv.ParseFloat(prescribed(t.Log, p.ValidFrom.Time), 64)
		week.KruKnown = p.ResidualUreaClearance.OK()
		week.ResidualClearance = p.ResidualUreaClearance.Decimal.Float64()
	}
	var out []calc.Target
	for _, key := range []string{"urea_reduction_ratio", "sp_kt_v", "e_kt_v", "std_kt_v_weekly"} {
		if t.has(key) {
			out = append(out, calc.TargetsFor(key, week)...)
		}
	}
	return out
}

func (t Table) has(key string) bool {
	for _, s := range t.Sessions {
		if _, ok := s.Value(key); ok {
			return true
		}
	}
	return false
}
