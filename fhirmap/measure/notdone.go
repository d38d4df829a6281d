package measure

import (
	"math"
	"time"

	"runsheet.example/fhirmap/session"
)

// notDoneAt is the planned time of a session that was not done: on its day, at
// the start time of the session before it, or the one after. ok is false if it
// was made up for: by another treatment on the day, or because the week has
// the prescribed number.
func notDoneAt(log *session.Log, at int) (moment time.Time, ok bool) {
	date := log.Sessions[at].Date.Time
	monday := mondayOf(date)
	done := 0
	var clock time.Time
	for i, s := range log.Sessions {
		if !s.Date.OK() || s.Status == session.SkippedStatus {
			continue
		}
		if !s.Date.Time.Before(monday) && s.Date.Time.Before(monday.AddDate(0, 0, 7)) {
			done++
		}
		if s.Date.Time.Equal(date) {
			return moment, false
		}
		if s.Start.OK() && !s.Start.DateOnly && (i < at || clock.IsZero()) {
			clock = s.Start.Time
		}
	}
	p, _ := log.About.PrescriptionOn(date)
	if planned, known := perWeek(p); known && float64(done) >= math.Floor(planned.Number) {
		return moment, false
	}
	return time.Date(date.Year(), date.Month(), date.Day(), clock.Hour(), clock.Minute(), 0, 0, date.Location()), !clock.IsZero()
}
