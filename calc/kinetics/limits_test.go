package kinetics

import (
	"math"
	"math/big"
	"slices"
	"testing"
)

func TestGrowthDifferenceKeepsItsDigits(t *testing.T) {
	const digits = 400
	float := func(v float64) *big.Float { return new(big.Float).SetPrec(digits).SetFloat64(v) }
	growth := func(x, s float64) *big.Float { // sum of x^n s^(n+1)/(n+1)!
		sum, term := float(0), float(s)
		for n := 1.0; n < 80; n++ {
			sum.Add(sum, term)
			term.Mul(term, float(x))
			term.Mul(term, float(s))
			term.Quo(term, float(n+1))
		}
		return sum
	}
	for _, s := range []float64{1e-3, 0.1, 1, 40} {
		for _, x := range []float64{-0.1, 0, 0.05} {
			for _, apart := range []float64{1e-9, 1e-3, 0.02, 0.3} {
				difference := new(big.Float).SetPrec(digits).Sub(growth(x+apart, s), growth(x, s))
				difference.Quo(difference, new(big.Float).SetPrec(digits).Sub(float(x+apart), float(x)))
				want, _ := difference.Float64()
				if got := growthDifference(x+apart, x, s); math.Abs(got/want-1) > 1e-12 {
					t.Errorf("x %v, y %v, s %v: %v, want %v", x+apart, x, s, got, want)
				}
			}
		}
	}
}

func TestRunTellsVolumesAndRebound(t *testing.T) {
	body := Body{VolumeL: 40, GenerationMgPerMin: 5, Pools: TwoPools()}
	run, err := Follow(body, Course{
		Start: UreaState{AtMin: 100, VolumeL: 42, PlasmaMgPerDL: 60, InnerMgPerDL: 60}, EndMin: 2400,
		Sessions: []CourseSession{{Treatment: Treatment{StartMin: 1000, DurationMin: 240, ClearanceMLPerMin: 200, UFLitres: 3}, GainLitres: 1}},
	})
	if err != nil {
		t.Fatal(err)
	}
	s := run.Sessions[0]
	near(t, "volume before", s.VolumeBeforeL, 43, 1e-9)
	near(t, "volume after", s.VolumeAfterL, 40, 1e-9)
	end, err := run.At(1240)
	if err != nil {
		t.Fatal(err)
	}
	p := TwoPools()
	near(t, "rebound", s.EquilibratedMgPerDL, p.PlasmaShare*end.PlasmaMgPerDL+(1-p.PlasmaShare)*end.InnerMgPerDL, 1e-9)
	for _, at := range []float64{100, 2400} {
		if _, err := run.At(at); err != nil {
			t.Errorf("the run has no state at its end %v: %v", at, err)
		}
	}
	for _, at := range []float64{99, 2401} {
		if _, err := run.At(at); err == nil {
			t.Errorf("the run has a state at %v", at)
		}
	}
	if _, err := run.Window(100, 100); err == nil {
		t.Error("a window without length has a dose")
	}
	day, err := run.Window(960, 2400)
	if err != nil {
		t.Fatal(err)
	}
	if notes := day.Results()[0].Notes; !slices.Contains(notes, "1 sessions in 1 days as they were done") {
		t.Errorf("notes of a day: %q", notes)
	}
}

// The mean urea before dialysis also counts the moments of sessions planned and
// not done, from the start of a window up to its end.
func TestWindowCountsSessionsNotDone(t *testing.T) {
	run, err := Follow(Body{VolumeL: 40, GenerationMgPerMin: 5, Pools: TwoPools()}, Course{
		Start: UreaState{VolumeL: 42, PlasmaMgPerDL: 60, InnerMgPerDL: 60}, EndMin: 4000, NotDone: []float64{999, 2000, 3000, 3500},
		Sessions: []CourseSession{{Treatment: Treatment{StartMin: 1000, DurationMin: 240, ClearanceMLPerMin: 200}}},
	})
	if err != nil {
		t.Fatal(err)
	}
	at := func(minute float64) float64 {
		s, err := run.At(minute)
		if err != nil {
			t.Fatal(err)
		}
		return s.PlasmaMgPerDL
	}
	for _, c := range []struct {
		from, to          float64
		sessions, notDone int
		mean              float64
	}{
		{999, 1000, 0, 1, at(999)}, {1000, 2000, 1, 0, at(1000)}, {1000, 2001, 1, 1, (at(1000) + at(2000)) / 2},
		{2000, 3001, 0, 2, (at(2000) + at(3000)) / 2}, {900, 4000, 1, 4, (at(999) + at(1000) + at(2000) + at(3000) + at(3500)) / 5},
	} {
		w, err := run.Window(c.from, c.to)
		if err != nil || w.Sessions != c.sessions || w.NotDone != c.notDone {
			t.Fatalf("from %v to %v: %d sessions, %d not done, %v", c.from, c.to, w.Sessions, w.NotDone, err)
		}
		near(t, "mean urea before", w.MeanBeforeMgPerDL, c.mean, 1e-9)
	}
}

// Numbers at which the model ends: the last that has a value and the first
// that has none.
func TestModelEndsWhereItIsUndefined(t *testing.T) {
	week := func(second float64) error {
		_, err := SteadyState(Body{VolumeL: 40, GenerationMgPerMin: 5}, Cycle{LengthMin: 1000, Treatments: []Treatment{
			{StartMin: 0, DurationMin: 200, ClearanceMLPerMin: 200}, {StartMin: second, DurationMin: 200, ClearanceMLPerMin: 200},
		}})
		return err
	}
	pools := func(share, generation float64) error {
		p := TwoPools()
		p.PlasmaShare, p.GenerationShare = share, generation
		_, err := SteadyState(Body{VolumeL: 40, GenerationMgPerMin: 5, Pools: p}, mondayWednesdayFriday(240, 200, 0))
		return err
	}
	for what, c := range map[string]struct{ defined, not error }{
		"sessions that touch":       {week(200), week(199)},
		"last session in the cycle": {week(799), week(800)},
		"share of pool 1":           {pools(0.01, 0), pools(0, 0)},
		"share of pool 1, all":      {pools(0.99, 0), pools(1, 0)},
		"share of generation":       {pools(0.3, 1), pools(0.3, 1.01)},
	} {
		if c.defined != nil || c.not == nil {
			t.Errorf("%s: %v, and %v", what, c.defined, c.not)
		}
	}
}
