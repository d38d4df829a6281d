// Package adequacy formats computed values as tables: for each session, for
// each week, and for the access. It prints values with their methods, inputs
// and sources; it never judges. It prints published figures only on request,
// each with the patients that it applies to.
//
// One list of rows ([Table.Rows]) has everything for the machine-readable
// forms and the long explanation; the tables for people show a selection.
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
	// Whole reports that the log begins before the week and ends after it, so
	// that it has every session of the week.
	Whole bool
	// Counted is the attendance among the planned sessions of the log;
	// CutShort counts those that ended early. Prescribed is the prescribed
	// number of sessions, "" if not stated.
	Counted    measure.Counted
	CutShort   int
	Prescribed string
	// Fewest and Most are the smallest and largest number of sessions in any
	// seven days that end in the week, -1 if the log does not cover seven
	// days.
	Fewest, Most int
	// Month counts the 28 days that end with the week, zero if the log does
	// not cover them.
	Month measure.Counted
	// UFLitres is the sum over sessions with a value; WithoutUF counts the
	// sessions without one.
	UFLitres  float64
	WithoutUF int
	// MaxUFRate is the highest UF rate per kg, "" if none was computed.
	MaxUFRate string
	// Excess is the time-averaged weight above the dry weight.
	Excess measure.Value
	// Doses are the weekly doses by regression of the sessions with samples,
	// including those without a value.
	Doses []measure.Value
	// Kinetic is the week of the kinetic model.
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
