package calc_test

import (
	"testing"
	"time"

	. "runsheet.example/calc"
)

func TestCountAdherence(t *testing.T) {
	day := func(d float64) float64 { return 1440 * d }
	sessions := []PlannedSession{
		{StartMin: day(0), PlannedMin: Known(180), TreatedMin: Known(180)},
		{StartMin: day(1), PlannedMin: Known(180), TreatedMin: Known(170)}, // 10 min short does not count
		{StartMin: day(2), PlannedMin: Known(180), TreatedMin: Known(120)},
		{StartMin: day(3), PlannedMin: Known(180), Missed: true},
		{StartMin: day(5), PlannedMin: Known(180)}, // done, time not recorded
		{StartMin: day(7), PlannedMin: Known(180), TreatedMin: Known(180)},
	}
	a, err := CountAdherence(sessions, 0, day(7))
	if err != nil {
		t.Fatal(err)
	}
	want := Adherence{
		Planned: 5, Done: 4, Missed: 1, Shortened: 1, TimeNotKnown: 1, ShortMin: 60,
		TreatedMin: 470, PlannedMin: 900, SessionsPerWeek: 4, HoursPerWeek: 470.0 / 60,
	}
	if a != want {
		t.Errorf("got  %+v\nwant %+v", a, want)
	}
	if _, err := CountAdherence(sessions, day(7), day(7)); err == nil {
		t.Error("a stretch without length was counted")
	}
}

func TestTimeAveragedExcessNeedsMatchingLists(t *testing.T) {
	if _, err := TimeAveragedExcess([]float64{72, 72}, []float64{70}, []float64{44}, 70); err == nil {
		t.Error("lists of different length were averaged")
	}
	// Two sessions, one interval: 70 to 72 over any time, dry weight 70.
	near(t, "open stretch", must(t)(TimeAveragedExcess([]float64{73, 72}, []float64{70, 70.5}, []float64{44}, 70)), 1, 1e-12)
}

// A pause of an hour continues any treatment, one of six hours a treatment cut
// short.
func TestStartedAgainAtItsLimits(t *testing.T) {
	for _, c := range []struct {
		pause              time.Duration
		cutShort, complete bool
	}{
		{0, true, true}, {time.Hour, true, true}, {time.Hour + 1, true, false}, {6 * time.Hour, true, false}, {6*time.Hour + 1, false, false},
	} {
		if got := StartedAgain(true, c.pause); got != c.cutShort {
			t.Errorf("cut short, %v later: %v", c.pause, got)
		}
		if got := StartedAgain(false, c.pause); got != c.complete {
			t.Errorf("complete, %v later: %v", c.pause, got)
		}
	}
}
