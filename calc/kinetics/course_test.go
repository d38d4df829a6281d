package kinetics

import (
	"strings"
	"testing"

	"runsheet.example/calc"
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
	course := Course{Start: planned.Start, EndMin: 2 * calc.MinutesPerWeek}
	gain := 5 * 1.5 / (calc.MinutesPerWeek - 5*165)
	free := 0.0
	for n := range 2 {
		for i, x := range week.Treatments {
			if n == 0 && i == 2 {
				continue
			}
			x.StartMin += float64(n) * calc.MinutesPerWeek
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
	first, err := run.Window(0, calc.MinutesPerWeek)
	if err != nil {
		t.Fatal(err)
	}
	second, err := run.Window(calc.MinutesPerWeek, 2*calc.MinutesPerWeek)
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

func dosesOf(s Steady) []calc.Result {
	return doses(s.Body, s.MeanBeforeMgPerDL, s.TimeAveragedMgPerDL, calc.KineticSuffix(s.Body.Pools.Single()))
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
	noShare := good
	noShare.Pools.PlasmaShare = 0
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
		{"share of pool 1", noShare, WeekOf(session)},
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
		"session 2: starts before":     {Start: start, Sessions: []CourseSession{{Treatment: session}, {Treatment: shifted}}, EndMin: 1000},
		"session 1: fluid was gained":  {Start: start, Sessions: []CourseSession{{Treatment: session, GainLitres: 1}}, EndMin: 1000},
		"ends before its last":         {Start: start, Sessions: []CourseSession{{Treatment: session}}, EndMin: 100},
		"volume at the start":          {EndMin: 100},
		"before session 1: more fluid": {Start: start, Sessions: []CourseSession{{Treatment: shifted, GainLitres: -40}}, EndMin: 1000},
		"after the last session: more": {Start: start, EndMin: 1000, TailLitres: -40},
		"session 1: more fluid":        {Start: start, Sessions: []CourseSession{{Treatment: huge}}, EndMin: 1000},
	} {
		if _, err := Follow(good, course); err == nil || !strings.Contains(err.Error(), why) {
			t.Errorf("want %q, got %v", why, err)
		}
	}
	for moment, inside := range map[float64]bool{-1: false, 0: true, 1000: true, 1001: false} {
		_, err := Follow(good, Course{Start: start, EndMin: 1000, NotDone: []float64{moment}})
		if (err == nil) != inside || err != nil && !strings.Contains(err.Error(), "planned and not done") {
			t.Errorf("a session not done at %v: %v", moment, err)
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
// Monotone in dose, time and number of sessions, within the ranges of use.
