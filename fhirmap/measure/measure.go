// Package measure computes the adequacy and fluid measures of a log: it picks
// the inputs of each method of package calc from the session model, keeps
// where each came from, and chooses the method that fits the session.
//
// It computes nothing itself and rounds nothing. A value whose inputs are not
// there is left out, except where the log promises it: blood samples were
// drawn, so a dose is expected, and then the result says why there is none.
//
// Four kinds of value: those of [Log] go into the record with their session,
// those of [Weeks] with the weeks; each can be computed again from what the
// record holds. Other forms of the same quantities ([Forms]) are for reading
// beside them; and what else needs many sessions ([FollowKinetics] with its
// other models, adherence, pressures, access, weight between sessions) is for
// people to read and is not exported.
package measure

import (
	"time"

	"runsheet.example/calc"
	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// Origin tells where an input came from, which decides how a record refers to
// it.
type Origin uint8

const (
	// Entered inputs are a measurement of the same session.
	Entered Origin = iota
	// Computed inputs are another computed value of the same session.
	Computed
	// Previous inputs are a measurement of the session before, or of an
	// earlier part of a treatment that was started again.
	Previous
	// Stated inputs come from the log as a whole or from counting its
	// sessions: age, height, sessions per week.
	Stated
)

// Input is one input of a computed value.
type Input struct {
	Key string
	// Number is the value in Unit, the unit the method asks for.
	Number float64
	Unit   string
	// Text is the number as a decimal text for the record: as written where
	// no conversion was needed; for sex, "male" or "female".
	Text   string
	Origin Origin
	// Field is the measurement, for Entered and Previous inputs.
	Field session.Field
	// Method is the id of the method, for Computed inputs.
	Method string
	// Session is the session the measurement belongs to, for Previous, and
	// Lab its ordinal where it is a laboratory value.
	Session *session.Session
	Lab     int
	// Cells are the log cells behind the input.
	Cells []issue.Cell
}

// Value is one computed value of a session.
type Value struct {
	Result calc.Result
	// Inputs are parallel to Result.Inputs.
	Inputs []Input
	// Start and End are the time the value belongs to: the treatment, or
	// the week. For a value at a moment both are that moment.
	Start, End time.Time
	// When is "before" or "after" where a session has the value twice.
	When string
	// Modelled says that it comes from the urea model of a week.
	Modelled bool
}

// Key is what the value is, in the shared vocabulary.
func (v Value) Key() string { return v.Result.Method.Key }

// Cells are the log cells behind the value, without repetition.
func (v Value) Cells() []issue.Cell {
	var cells []issue.Cell
	seen := map[issue.Cell]bool{}
	for _, in := range v.Inputs {
		for _, c := range in.Cells {
			if !seen[c] {
				seen[c] = true
				cells = append(cells, c)
			}
		}
	}
	return cells
}

// Session is a session with its computed values, in the order computed.
type Session struct {
	*session.Session
	// TreatedTime is the treatment time delivered: as entered, or from start
	// and end when not entered (TreatedFromClock). Zero Key means unknown.
	TreatedTime      Input
	TreatedFromClock bool
	Values           []Value
}

// Value returns the first computed value with a key that has one.
func (s Session) Value(key string) (Value, bool) {
	for _, v := range s.Values {
		if v.Key() == key && v.Result.OK() {
			return v, true
		}
	}
	return Value{}, false
}

// Log computes the measures of every session, see [At]. The result is parallel
// to log.Sessions.
func Log(log *session.Log) []Session {
	sessions := make([]Session, len(log.Sessions))
	for i := range log.Sessions {
		sessions[i] = At(log, i)
	}
	return sessions
}

// At computes the measures of one session of the log. One that is broken or was
// skipped has no values.
func At(log *session.Log, at int) Session {
	s := log.Sessions[at]
	out := Session{Session: s}
	if s.Broken || s.Status == session.SkippedStatus {
		return out
	}
	out.TreatedTime, out.TreatedFromClock = treatedTime(s)
	out.Values = newCollector(log, at).compute()
	return out
}
