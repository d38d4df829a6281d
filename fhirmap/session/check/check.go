// Package check looks at a log as read for values that cannot be, values that
// are unlikely, and values that contradict each other, and says so at the
// cell in plain words.
//
// An error is certain: the value is impossible, or two entries cannot both be
// true. What is only unlikely is a warning, and a suggestion is never more
// than that: nothing in the log is changed but [session.Session.Broken].
//
// Limits are those of [issue.LimitOf]; the arithmetic is that of package calc.
package check

import (
	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// Check returns what is wrong or unlikely in a log, ordered by [issue.Sort],
// and sets Broken on each session with an error.
func Check(log *session.Log) []issue.Finding {
	return nil
}
