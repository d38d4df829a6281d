package calc

import (
	"math"
	"time"
)

// ShortenedByMin is the number of minutes below its planned length at which a
// session counts as shortened (Saran et al, Kidney Int 2003).
const ShortenedByMin = 10.0

// PlannedSession is a session as planned and as done.
type PlannedSession struct {
	StartMin   float64 // planned or true start, minutes on any one clock
	PlannedMin Maybe   // planned length
	TreatedMin Maybe   // treated time; unknown differs from zero
	Missed     bool    // not done
}

// Adherence counts the planned sessions that were done in a period.
type Adherence struct {
	Planned      int
	Done         int // whatever their length
	Missed       int
	Shortened    int     // done, both times known, short by more than [ShortenedByMin]
	TimeNotKnown int     // done, treated time not recorded: not part of the hours
	ShortMin     float64 // minutes missing from shortened sessions
	TreatedMin   float64 // of sessions with a treated time
	PlannedMin   float64 // of sessions with a planned length, missed ones included
	// SessionsPerWeek and HoursPerWeek are means over the period. HoursPerWeek
	// is a lower bound if TimeNotKnown is not 0.
	SessionsPerWeek float64
	HoursPerWeek    float64
}

// CountAdherence counts the sessions that start from fromMin up to but not
// including toMin. In the DOPPS, one missed session a month or one shortened
// by more than 10 min was associated with higher mortality (Saran et al,
// Kidney Int 2003).
func CountAdherence(sessions []PlannedSession, fromMin, toMin float64) (Adherence, error) {
	if err := Guard(Finite("the start", fromMin), Finite("the end", toMin), When(toMin <= fromMin, "the stretch has no length")); err != nil {
		return Adherence{}, err
	}
	var a Adherence
	for _, s := range sessions {
		if s.StartMin >= fromMin && s.StartMin < toMin {
			a.add(s)
		}
	}
	weeks := (toMin - fromMin) / MinutesPerWeek
	a.SessionsPerWeek = float64(a.Done) / weeks
	a.HoursPerWeek = a.TreatedMin / 60 / weeks
	return a, nil
}

func (a *Adherence) add(s PlannedSession) {
	a.Planned++
	if s.PlannedMin.Known {
		a.PlannedMin += s.PlannedMin.Value
	}
	if s.Missed {
		a.Missed++
		return
	}
	a.Done++
	if !s.TreatedMin.Known {
		a.TimeNotKnown++
		return
	}
	a.TreatedMin += s.TreatedMin.Value
	if short := s.PlannedMin.Value - s.TreatedMin.Value; s.PlannedMin.Known && short > ShortenedByMin {
		a.Shortened++
		a.ShortMin += short
	}
}

// A record has two treatments if one was stopped and restarted. They are one
// treatment if the first was cut short and the next starts within
// restartWithin of its end, or if the pause is at most pauseWithin. Two
// treatments of one day are further apart (our choice).
const (
	restartWithin = 6 * time.Hour
	pauseWithin   = time.Hour
)

// StartedAgain reports whether a record continues the treatment of the one
// before it, given the pause between them.
func StartedAgain(cutShort bool, pause time.Duration) bool {
	return pause <= pauseWithin || cutShort && pause <= restartWithin
}

// TimeAveragedExcess returns the mean weight above the dry weight in kg
// between sessions: the trapezoid over the intervals from each weight after to
// the next weight before, minus the dry weight. before[i] and after[i] are the
// weights of session i in kg; intervalsH[i] the hours from the end of session
// i to the start of the next, the last one leads back to the first if there
// are as many intervals as sessions.
func TimeAveragedExcess(before, after, intervalsH []float64, dryWeightKg float64) (float64, error) {
	n := len(after)
	if n == 0 || len(before) != n || (len(intervalsH) != n && len(intervalsH) != n-1) || len(intervalsH) == 0 {
		return given(0, "weights before and after and the intervals between sessions do not match")
	}
	sum, hours := 0.0, 0.0
	for i, interval := range intervalsH {
		next := before[(i+1)%n]
		if err := Guard(Positive("an interval", interval), Positive("weight after dialysis", after[i]), Positive("weight before dialysis", next), Positive("dry weight", dryWeightKg)); err != nil {
			return math.NaN(), err
		}
		sum += (after[i] + next) / 2 * interval
		hours += interval
	}
	return sum/hours - dryWeightKg, nil
}

// attendanceMethods compute the attendance of one local week, Monday to
// Sunday, from sums over the sessions of the week.
func attendanceMethods() []Method {
	const week = "one local week, Monday to Sunday; a session belongs to the week in which it started"
	same := func(id, key, quantity, unit, of, scope string, decimals int, share float64, formula string) Method {
		return Method{
			ID: id, Version: "1", Quantity: quantity, Key: key, Unit: unit, Decimals: decimals,
			Formula: key + " = " + formula, Source: "definition", Range: scope, Inputs: need(of),
			eval: func(in Inputs) (float64, error) {
				return given(in[of]/share, NotNegative("the "+need(of)[0].Name, in[of]))
			},
		}
	}
	planned := same("sessions-planned", "sessions_planned", "sessions planned for a week", "/wk", "sessions_per_week", "a week of which one prescription holds on every day", 1, 1, "sessions_per_week")
	planned.Version, planned.Trim = "2", true // 3.5 on alternate days
	return []Method{
		same("sessions-done", "sessions_done", "sessions done in a week", "/wk", "sessions_counted", week, 0, 1, "sessions_counted"),
		planned,
		same("hours-done", "hours_done", "hours treated in a week", "h", "weekly_treated_time", week, 2, 60, "weekly_treated_time/60"),
		same("uf-done", "uf_done", "fluid removed in a week", "L", "weekly_uf", week, 2, 1, "weekly_uf"),
	}
}
