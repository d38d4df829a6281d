package calc

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// A home week of five short sessions with the third missed: what comes before
// is untouched, what comes after starts higher, and the dose of the week is
// lower than that of the schedule.
func TestMissedSessionIsFollowedForward(t *testing.T) {
	body := Body{VolumeL: 36, GenerationMgPerMin: 6, ResidualMLPerMin: 1, Pools: TwoPools()}
	week := WeekOf()
	for _, day := range []float64{0, 1, 3, 4, 6} {
		week.Treatments = append(week.Treatments, Treatment{StartMin: 1440 * day, DurationMin: 165, ClearanceMLPerMin: 150, UFLitres: 1.5})
	}
	planned := steady(t, body, week)
	course := Course{Start: planned.Start, EndMin: 2 * MinutesPerWeek}
	gain := 5 * 1.5 / (MinutesPerWeek - 5*165)
	free := 0.0
	for n := range 2 {
		for i, x := range week.Treatments {
			if n == 0 && i == 2 {
				continue
			}
			x.StartMin += float64(n) * MinutesPerWeek
			course.Sessions = append(course.Sessions, CourseSession{Treatment: x, GainLitres: gain * (x.StartMin - free)})
			free = x.StartMin + x.DurationMin
		}
	}
	run, err := Follow(body, course)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "session before the gap", run.Sessions[1].BeforeMgPerDL, planned.Sessions[1].BeforeMgPerDL, 1e-6)
	if run.Sessions[2].BeforeMgPerDL < planned.Sessions[3].BeforeMgPerDL+5 {
		t.Errorf("after the gap %.1f, planned %.1f", run.Sessions[2].BeforeMgPerDL, planned.Sessions[3].BeforeMgPerDL)
	}
	first, err := run.Window(0, MinutesPerWeek)
	if err != nil {
		t.Fatal(err)
	}
	second, err := run.Window(MinutesPerWeek, 2*MinutesPerWeek)
	if err != nil {
		t.Fatal(err)
	}
	if !(first.Sessions == 4 && second.Sessions == 5 && first.EKR() < second.EKR() && second.EKR() < planned.EKR() && second.StdKtV() < planned.StdKtV()) {
		t.Errorf("weeks %+v %+v", first, second)
	}
	// A week without any session has no mean before dialysis, and says so.
	empty, err := run.Window(free+1, course.EndMin)
	if err != nil {
		t.Fatal(err)
	}
	if r := empty.Results()[0]; r.OK() || r.WhyNot != noSession {
		t.Errorf("standard Kt/V of no session: %v %q", r.Value, r.WhyNot)
	}
}

func dosesOf(s Steady) []Result {
	return doses(s.Body, s.MeanBeforeMgPerDL, s.TimeAveragedMgPerDL, kineticSuffix(s.Body.Pools.Single()))
}

func TestKineticResultsCarryTheirMethod(t *testing.T) {
	s := steady(t, Body{VolumeL: 35, GenerationMgPerMin: 6.25, Pools: TwoPools()}, mondayWednesdayFriday(240, 210, 2.9, 2.3, 2.3))
	results := dosesOf(s)
	if got := results[0]; got.Method.Code() != "stdktv-done-two-pool-2" || got.Rounded() != "2.32" || len(got.Inputs) != 3 || !strings.Contains(modelNotes(s.Body)[0], "exchange 16 mL/min") {
		t.Errorf("%s %s %v %q", got.Method.Code(), got.Rounded(), got.Inputs, modelNotes(s.Body))
	}
	for _, r := range results {
		if !r.OK() {
			t.Errorf("%s: %s", r.Method.ID, r.WhyNot)
		}
	}
	near(t, "corrected EKR", results[2].Value, s.EKRc(), 1e-12)
}

func TestAssumedGenerationLeavesNPCROut(t *testing.T) {
	body := Body{VolumeL: 35, GenerationMgPerMin: 1, GenerationAssumed: true}
	assumed := dosesOf(steady(t, body, mondayWednesdayFriday(240, 210, 2.5)))
	body.GenerationMgPerMin, body.GenerationAssumed = 6, false
	measured := dosesOf(steady(t, body, mondayWednesdayFriday(240, 210, 2.5)))
	if len(assumed) != 4 || len(measured) != 5 || assumed[0].Rounded() != measured[0].Rounded() || assumed[1].Rounded() != measured[1].Rounded() {
		t.Errorf("assumed %v, measured %v", assumed, measured)
	}
}

func TestKineticsSaysWhyNot(t *testing.T) {
	good := Body{VolumeL: 35, GenerationMgPerMin: 6, Pools: TwoPools()}
	session := Treatment{StartMin: 0, DurationMin: 240, ClearanceMLPerMin: 200, UFLitres: 2}
	shifted := session
	shifted.StartMin = 100
	idle := session
	idle.ClearanceMLPerMin = 0
	huge := session
	huge.UFLitres = 200
	later := session
	later.StartMin, later.UFLitres = 5000, 0
	share := good
	share.Pools.PlasmaShare = 1
	for _, c := range []struct {
		why   string
		body  Body
		cycle Cycle
	}{
		{"no session", good, WeekOf()},
		{"overlap", good, WeekOf(session, shifted)},
		{"do not fit", good, Cycle{LengthMin: 200, Treatments: []Treatment{session}}},
		{"length of the cycle", good, Cycle{Treatments: []Treatment{session}}},
		{"nothing removes urea", good, WeekOf(idle)},
		{"nothing removes urea", Body{VolumeL: 35, GenerationMgPerMin: 6}, WeekOf(idle)},
		{"more fluid is removed", good, WeekOf(huge, later)},
		{"urea volume", Body{GenerationMgPerMin: 6}, WeekOf(session)},
		{"share of pool 1", share, WeekOf(session)},
	} {
		if _, err := SteadyState(c.body, c.cycle); err == nil || !strings.Contains(err.Error(), c.why) {
			t.Errorf("want %q, got %v", c.why, err)
		}
	}
}

func TestCourseSaysWhyNot(t *testing.T) {
	good := Body{VolumeL: 35, GenerationMgPerMin: 6, Pools: TwoPools()}
	session := Treatment{StartMin: 0, DurationMin: 240, ClearanceMLPerMin: 200, UFLitres: 2}
	shifted, huge := session, session
	shifted.StartMin, huge.UFLitres = 100, 200
	start := UreaState{VolumeL: 35, PlasmaMgPerDL: 60, InnerMgPerDL: 60}
	for why, course := range map[string]Course{
		"session 2: starts before":    {Start: start, Sessions: []CourseSession{{Treatment: session}, {Treatment: shifted}}, EndMin: 1000},
		"session 1: fluid was gained": {Start: start, Sessions: []CourseSession{{Treatment: session, GainLitres: 1}}, EndMin: 1000},
		"ends before its last":        {Start: start, Sessions: []CourseSession{{Treatment: session}}, EndMin: 100},
		"volume at the start":         {EndMin: 100},
		"session 1: more fluid":       {Start: start, Sessions: []CourseSession{{Treatment: huge}}, EndMin: 1000},
	} {
		if _, err := Follow(good, course); err == nil || !strings.Contains(err.Error(), why) {
			t.Errorf("want %q, got %v", why, err)
		}
	}
	run, err := Follow(good, Course{Start: start, EndMin: 1000})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := run.Window(-5, 100); err == nil {
		t.Error("a window before the course has a dose")
	}
	if _, err := run.At(2000); err == nil {
		t.Error("a moment after the course has a state")
	}
}

func TestFitSaysWhyNot(t *testing.T) {
	good := Body{VolumeL: 35, GenerationMgPerMin: 6, Pools: TwoPools()}
	session := Treatment{StartMin: 0, DurationMin: 240, ClearanceMLPerMin: 200, UFLitres: 2}
	if _, err := FitVolume(good, WeekOf(session), PairedSample{Session: 3, BeforeMgPerDL: 60, AfterMgPerDL: 20}); err == nil {
		t.Error("a sample of no session was fitted")
	}
	if _, err := FitVolume(good, WeekOf(session), PairedSample{BeforeMgPerDL: 20, AfterMgPerDL: 60}); err == nil {
		t.Error("swapped samples were fitted")
	}
	if _, err := FitVolume(good, WeekOf(session), PairedSample{BeforeMgPerDL: 60, AfterMgPerDL: 59.99}); err == nil {
		t.Error("samples that no volume explains were fitted")
	}
}

// Whatever numbers come in, a method gives a finite value or says why not.
func TestMethodsGiveFiniteValuesOrReasons(t *testing.T) {
	anything := rapid.OneOf(
		rapid.Float64(), rapid.Float64Range(-1, 1), rapid.Float64Range(0, 500),
		rapid.SampledFrom([]float64{0, math.Inf(1), math.Inf(-1), math.NaN(), math.MaxFloat64, -math.MaxFloat64, math.SmallestNonzeroFloat64}),
	)
	for _, m := range Methods() {
		t.Run(m.ID, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				in := Inputs{}
				for _, spec := range m.Inputs {
					if rapid.IntRange(0, 9).Draw(t, "leave out") > 0 {
						in[spec.Key] = anything.Draw(t, spec.Key)
					}
				}
				r := m.Compute(in)
				if finite := !math.IsNaN(r.Value) && !math.IsInf(r.Value, 0); finite != r.OK() {
					t.Fatalf("value %v, why not %q", r.Value, r.WhyNot)
				}
				if text := r.Rounded(); (text != "") != r.OK() || strings.ContainsAny(text, "eEN") {
					t.Fatalf("text %q of %v", text, r.Value)
				}
				if r.Explain() == "" {
					t.Fatal("no explanation")
				}
			})
		})
	}
}

// Monotone in dose, time and number of sessions, within the ranges of use.
func TestFormulaProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := rapid.Float64Range(0.2, 2.5).Draw(t, "Kt/V")
		minutes := rapid.Float64Range(60, 600).Draw(t, "t")
		n := rapid.Float64Range(1, 7).Draw(t, "N")
		std := func(k, minutes, n float64) float64 {
			v, err := StdKtVFixedVolume(k, minutes, n)
			if err != nil {
				t.Fatal(err)
			}
			return v
		}
		base := std(k, minutes, n)
		if !(std(k*1.1, minutes, n) > base && std(k, minutes*1.1, n) > base && std(k, minutes, n*1.05) > base) {
			t.Fatal("weekly dose does not rise with dose, time and number")
		}
		if ceiling := MinutesPerWeek * n / (MinutesPerWeek - n*minutes); base >= ceiling {
			t.Fatalf("dose %v, ceiling %v", base, ceiling)
		}
		if base >= n*k+1e-9 {
			t.Fatalf("weekly dose %v is above the sum of the sessions %v", base, n*k)
		}
		ratio := rapid.Float64Range(0.15, 0.9).Draw(t, "R")
		sp := func(r, uf float64) float64 {
			v, err := SpKtVDaugirdas2(r, 3, uf, 70, GFACThriceWeekly)
			if err != nil {
				t.Fatal(err)
			}
			return v
		}
		if !(sp(ratio*0.95, 2) > sp(ratio, 2) && sp(ratio, 2.5) > sp(ratio, 2)) {
			t.Fatal("spKt/V does not rise with the fall of urea and with fluid removed")
		}
		qb, qd, koa := rapid.Float64Range(100, 500).Draw(t, "Qb"), rapid.Float64Range(60, 900).Draw(t, "Qd"), rapid.Float64Range(200, 2000).Draw(t, "KoA")
		clearance, err := DiffusiveClearance(qb, qd, koa)
		more, errMore := DiffusiveClearance(qb, qd, koa*1.2)
		if err != nil || errMore != nil || clearance >= math.Min(qb, qd) || more <= clearance*(1-1e-12) {
			t.Fatalf("clearance %v of flows %v and %v", clearance, qb, qd)
		}
	})
}
