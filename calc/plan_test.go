package calc_test

import (
	"strings"
	"testing"

	"pgregory.net/rapid"
	. "runsheet.example/calc"
)

// Facts of the trade; common practice, no source.
func TestFactsOfTheTrade(t *testing.T) {
	near(t, "30 L at 10 L/h takes three hours", value(t, "time-from-dialysate", Inputs{"dialysate_volume": 30, "dialysate_flow": 10000.0 / 60}), 180, 1e-9)
	near(t, "1.0 L over three hours is 0.33 L/h", value(t, "uf-rate-mean", Inputs{"uf_removed": 1, "treated_time": 180}), 0.33, 0.005)
	near(t, "0.5 L/h removes 1.0 L in two hours", value(t, "uf-time", Inputs{"uf_goal": 1, "uf_rate": 0.5}), 120, 1e-9)
	near(t, "0.6 L without dialysate in an hour clears 10 mL/min", must(t)(ClearanceOfUF(0.6, 60)), 10, 1e-12)
}

// The same facts as the plan of a session shows them together (common
// practice, no source): a rate at half the total finishes an hour early.
func TestFluidPlanSaysWhatFollows(t *testing.T) {
	plan := FluidPlan{DialysateL: Known(30), DialysateLPerH: Known(10), UFLitres: Known(1), UFLPerH: Known(0.5)}
	got := plan.Implies(0.1)
	const want = `dialysate: 30.00 L at 10.00 L/h takes 3 h 00 min
fluid removal: 0.50 L/h for 3 h 00 min is 1.50 L
fluid removal: 1.00 L over 3 h 00 min is 0.33 L/h
fluid removal: 1.00 L at 0.50 L/h takes 2 h 00 min`
	if text := strings.Join(got.Text, "\n"); text != want {
		t.Errorf("got\n%s\nwant\n%s", text, want)
	}
	if got.UF.Agree || !got.Dialysate.Agree {
		t.Errorf("fluid removal agrees %v, dialysate agrees %v", got.UF.Agree, got.Dialysate.Agree)
	}
	near(t, "ends early", got.UFEndsEarlyMin.Value, 60, 1e-9)
}

func TestUnknownPartsImplyNothing(t *testing.T) {
	for _, q := range []VolumeRateTime{{}, {VolumeL: Known(1)}, {VolumeL: Known(1), RateLPerH: Known(0)}, {RateLPerH: Known(-1), TimeMin: Known(60)}} {
		got := q.Implies(0.1)
		if !got.Agree || len(got.Text) != 0 || got.VolumeL.Known || got.RateLPerH.Known || got.TimeMin.Known {
			t.Errorf("%+v implies %+v", q, got)
		}
	}
}

// Any two of volume, rate and time imply a third with which all three agree.
func TestTwoImplyTheThird(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		volume := Known(rapid.Float64Range(0.1, 100).Draw(t, "L"))
		rate := Known(rapid.Float64Range(0.1, 30).Draw(t, "L/h"))
		minutes := VolumeRateTime{VolumeL: volume, RateLPerH: rate}.Implies(0).TimeMin
		full := VolumeRateTime{volume, rate, minutes}
		if !full.Implies(1e-12).Agree {
			t.Fatalf("%+v do not agree", full)
		}
		full.TimeMin.Value *= 1.3
		if full.Implies(0.1).Agree {
			t.Fatalf("%+v agree", full)
		}
	})
}

// Definitions of the Canadian Society of Nephrology 2013.
func TestScheduleKind(t *testing.T) {
	for _, c := range []struct {
		sessions, hours float64
		want            string
	}{{5, 2.5, "short daily"}, {6, 8, "long-frequent"}, {3.5, 8, "long"}, {3, 4, ""}, {5, 4, ""}, {2, 8, ""}, {6, 0, ""}} {
		if got := ScheduleKind(c.sessions, c.hours); got != c.want {
			t.Errorf("%v × %v h: %q, want %q", c.sessions, c.hours, got, c.want)
		}
	}
}
