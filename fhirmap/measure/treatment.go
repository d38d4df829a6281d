package measure

import (
	"time"

	"runsheet.example/calc"
	"runsheet.example/fhirmap/session"
)

// parts returns the records, as indexes in the log, of the treatment that ends
// or continues with the record at: the earlier parts and the record itself.
func parts(log *session.Log, at int) []int {
	all := []int{at}
	for {
		before, found := doneBefore(log, all[0])
		if !found || !startedAgain(log.Sessions[before], log.Sessions[all[0]]) {
			return all
		}
		all = append([]int{before}, all...)
	}
}

// goesOn reports whether a later record continues the treatment of this one.
func goesOn(log *session.Log, at int) bool {
	for i := at + 1; i < len(log.Sessions); i++ {
		if next := log.Sessions[i]; next.Broken || next.Status != session.SkippedStatus {
			return startedAgain(log.Sessions[at], next)
		}
	}
	return false
}

// doneBefore finds the previous record that was not skipped.
func doneBefore(log *session.Log, at int) (before int, found bool) {
	for i := at - 1; i >= 0; i-- {
		if s := log.Sessions[i]; s.Broken || s.Status != session.SkippedStatus {
			return i, true
		}
	}
	return 0, false
}

func startedAgain(first, next *session.Session) bool {
	if first.Broken || next.Broken || !next.Start.OK() || next.Start.DateOnly || next.Start.Time.Before(begin(first)) {
		return false
	}
	return calc.StartedAgain(first.Status == session.CutShort, next.Start.Time.Sub(end(first)))
}

// begin is the start of a session, or its day if the start is not recorded.
func begin(s *session.Session) time.Time {
	if s.Start.OK() {
		return s.Start.Time
	}
	return s.Date.Time
}

// end is the end of a session, or its start plus treated time if the end is
// not recorded.
func end(s *session.Session) time.Time {
	if s.End.OK() {
		return s.End.Time
	}
	in, _ := treatedTime(s)
	return begin(s).Add(minutes(in.Number))
}

// nearWeeks is the largest distance from a whole number of weeks for a session
// at the same place in the week.
const nearWeeks = 8 * time.Hour

// weeksApart finds the longest span of whole weeks, at most four, between a
// moment and one of the starts: before it if direction is -1, after it if 1.
// It returns the index of the start nearest to that many weeks away, within
// nearWeeks, or -1. A schedule repeats by weeks, and on alternate days by 14
// days: then no session is one or three weeks away.
func weeksApart(from time.Time, starts []time.Time, direction int) int {
	for days := longestSpanDays; days >= shortestSpanDays; days -= 7 {
		target := from.AddDate(0, 0, direction*days)
		found, nearest := -1, nearWeeks+1
		for i, start := range starts {
			if off := start.Sub(target).Abs(); off < nearest {
				found, nearest = i, off
			}
		}
		if found >= 0 {
			return found
		}
	}
	return -1
}
