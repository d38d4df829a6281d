// Package measure computes the adequacy and fluid measures of a log: it
// selects the inputs of each method of package calc from the session model,
// keeps their origin, and selects the method for the session.
//
// It has no formulas and rounds nothing. A value without inputs is left out,
// except where the log promises one: if blood samples were drawn, a dose is
// expected, and the result has the reason of its absence.
//
// Four kinds of value: those of [Log] go into the record with their session,
// those of [Weeks] with the weeks; each can be computed again from what the
// record holds. Other forms of the same quantities ([Forms]) are for
// comparison. The other values over many sessions ([FollowKinetics] with its
// other models, adherence, pressures, access, weight between sessions) are for
// people and are not exported.
package measure

import (
	"time"

	"runsheet.example/calc"
	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// Origin is where an input comes from; it decides how a record refers to it.
type Origin uint8

const (
	// Entered: a measurement of the same session.
	Entered Origin = iota
	// Computed: another computed value of the same session.
	Computed
	// Previous: a measurement of the session before, or of an earlier part of
	// a restarted treatment.
	Previous
	// Stated: from the log as a whole or from counting its sessions: age,
	// height, sessions per week.
	Stated
)

// Input is one input of a computed value.
type Input struct {
	Key string
	// Number is the value in Unit, the unit that the method requires.
	Number float64
	Unit   string
	// Text is the number as a decimal text for the record: as written if no
	// conversion was needed; for sex, "male" or "female".
	Text   string
	Origin Origin
	// Field is the measurement, for Entered and Previous inputs.
	Field session.Field
	// Method is the id of the method, for Computed inputs.
	Method string
	// Session is the session of the measurement, for Previous, and Lab its
	// ordinal if it is a laboratory value.
	Session *session.Session
	Lab     int
	// Cells are the log cells of the input.
	Cells []issue.Cell
}

// Value is one computed value of a session.
type Value struct {
	Result calc.Result
	// Inputs are parallel to Result.Inputs.
	Inputs []Input
	// Start and End are the period of the value: the treatment, or the week.
	// For a value at a moment both are that moment.
	Start, End time.Time
	// When is "before" or "after" if the session has the value twice.
	When string
	// Modelled reports that the value comes from the urea model of a week.
	Modelled bool
}

// Key returns the vocabulary key of the value.
func (v Value) Key() string { return v.Result.Method.Key }

// Cells returns the log cells of the value, without repetition.
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
	// TreatedTime is the delivered treatment time: as entered, or from start
	// and end if not entered (TreatedFromClock). An empty Key means unknown.
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

// Log computes the measures of every session; see [At]. The result is parallel
// to log.Sessions.
func Log(log *session.Log) []Session {
	sessions := make([]Session, len(log.Sessions))
	for i := range log.Sessions {
		sessions[i] = At(log, i)
	}
	return sessions
}

// At computes the measures of one session of the log. A broken or skipped
// session has no values.
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
