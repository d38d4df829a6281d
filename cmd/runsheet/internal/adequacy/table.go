// Package adequacy lays computed values out as tables: for each session, for
// each week, and for the access. It prints values with their methods, inputs
// and sources; it never judges. Published figures appear only when asked for,
// each with the patients it is stated for.
//
// One list of rows ([Table.Rows]) holds everything for machines and for the
// long explanation; the tables for people show a choice of it.
package adequacy

import (
	"time"

	"runsheet.example/fhirmap/measure"
	"runsheet.example/fhirmap/session"
)

// Table is everything computed from a log. Forms, Plans and Pressures are
// parallel to Sessions.
type Table struct {
	Log       *session.Log
	Sessions  []measure.Session
	Forms     [][]measure.Value
	Plans     []measure.FluidPlan
	Pressures []measure.Haemodynamics
	Patterns  []measure.Definition
	Access    []measure.AccessTrend
	Kinetics  measure.Kinetics
	Weeks     []Week
}

// Week is one local week, Monday to Sunday, by the start of its sessions.
type Week struct {
	Monday time.Time
	// Whole means that the log begins before the week and ends after it, so
	// that no session of it can lie outside.
	Whole bool
	// Counted is what was done of what the rows say was planned; CutShort of
	// those done were ended early. Prescribed is the prescribed number of
	// sessions, "" when not stated.
	Counted    measure.Counted
	CutShort   int
	Prescribed string
	// Fewest and Most are the bounds of the sessions in any seven days that
	// end in the week, -1 when the log does not cover seven days.
	Fewest, Most int
	// Month counts the 28 days that end with the week, zero when the log
	// does not cover them.
	Month measure.Counted
	// UFLitres sums over the sessions that say so; WithoutUF counts those
	// that do not.
	UFLitres  float64
	WithoutUF int
	// MaxUFRate is the highest UF rate per kg, "" when none was computed.
	MaxUFRate string
	// Excess is the time-averaged weight above the dry weight.
	Excess measure.Value
	// Doses are the weekly doses by regression, of the sessions with samples,
	// those without a value too.
	Doses []measure.Value
	// Kinetic is the week by the kinetic model.
	Kinetic measure.KineticWeek
}

// Of computes the table of a log.
func Of(log *session.Log) Table {
	t := Table{
		Log: log, Sessions: measure.Log(log), Forms: measure.Forms(log), Plans: measure.FluidPlans(log),
		Pressures: measure.PressuresOf(log), Access: measure.AccessTrends(log), Kinetics: measure.FollowKinetics(log),
	}
	t.Patterns = measure.PressurePatterns(log, t.Pressures)
	t.Weeks = t.weeks()
	return t
}

func (t Table) has(key string) bool {
	for _, s := range t.Sessions {
		if _, ok := s.Value(key); ok {
			return true
		}
	}
	return false
}

func date(s measure.Session) string {
	if !s.Date.OK() {
		return "-"
	}
	return s.Date.Time.Format(time.DateOnly)
}

func orDash(s string) string {
	if s == "" {
		return "-"
	}
	return s
}
