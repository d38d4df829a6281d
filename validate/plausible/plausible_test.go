package plausible

import (
	"math"
	"testing"
)

// The machine may remove half a litre, and half a digit of the
// scales, more or less than the weights say; less by what
// breath and sweat take after four hours, more by what is eaten where nothing is written.
func TestMarginOfTheFluidByWeights(t *testing.T) {
	for _, c := range []struct {
		kg, minutes float64
		drinks      bool
		less, more  float64
	}{
		{80, 240, true, 0.55, 0.55}, {80, 239, true, 0.55, 0.55}, {80, 0, true, 0.55, 0.55},
		{80, 300, true, 0.598, 0.55}, {80, 480, true, 0.742, 0.55}, {40, 480, true, 0.646, 0.55}, {80, 480, false, 0.742, 1.05},
	} {
		s := &Session{Values: map[string]float64{"weight_before": c.kg, "weight_after": c.kg - 2, "treated_time": c.minutes}, ElapsedMin: c.minutes}
		if c.drinks {
			s.Values["drinks"] = 0
		}
		expected, room, ok := s.FluidByWeights()
		if !ok || expected != 2 || math.Abs(room.Less-c.less) > 1e-9 || math.Abs(room.More-c.more) > 1e-9 {
			t.Errorf("%+v: %v %+v %v", c, expected, room, ok)
		}
		for _, step := range []float64{-0.001, 0.001} {
			if got, want := FluidFits(2-c.less+step, expected, room), step > 0; got != want {
				t.Errorf("%+v: %v L fits %v", c, 2-c.less+step, got)
			}
			if got, want := FluidFits(2+c.more+step, expected, room), step < 0; got != want {
				t.Errorf("%+v: %v L fits %v", c, 2+c.more+step, got)
			}
		}
	}
}

// The urea removed was generated in the days since the last session, at least the
// mean interval of the schedule.
func TestIntervalOfTheProteinRate(t *testing.T) {
	rate := func(days, perWeek float64) float64 {
		s := &Session{Values: map[string]float64{"urea_before": 25, "urea_after": 12, "weight_after": 70, "uf_removed": 2, "treated_time": 160}}
		s.Days = days
		if perWeek > 0 {
			s.Values["sessions_per_week"] = perWeek
		}
		got, ok := s.CatabolicRate(1)
		if !ok {
			return 0
		}
		return got
	}
	for _, c := range []struct{ days, perWeek, likeDays float64 }{
		{1, 0, 1}, {2, 0, 2}, {1, 3.5, 2}, {1, 7, 1}, {2, 7, 2}, {2, 3.5, 2}, {3, 3.5, 3}, {0, 3.5, 2}, {0.4, 0, 0}, {0.5, 0, 1}, {0.4, 3.5, 2}, {1.6, 7, 2}, {0, 0, 0},
	} {
		got, want := rate(c.days, c.perWeek), rate(c.likeDays, 0)
		if got != want || (want == 0) != (c.likeDays == 0) {
			t.Errorf("%v days, %v a week: %v g/kg/d, want %v as after %v days", c.days, c.perWeek, got, want, c.likeDays)
		}
	}
}
