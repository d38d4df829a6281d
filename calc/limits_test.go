package calc_test

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	. "runsheet.example/calc"
)

// Each definition at its limit and one step beyond, on both sides.
func TestPressureDefinitionsAtTheirLimits(t *testing.T) {
	flythe := func(present, of int) Answer { return FrequentHypotension(present, of)[0].Answer }
	kuipers := func(present, of int) Answer { return FrequentHypotension(present, of)[1].Answer }
	rises := func(last float64) Answer {
		return IntradialyticHypertension([]float64{0, 0, 11, 11, 11, last}).Answer
	}
	fall := func(systolic, diastolic float64) Answer {
		return OrthostaticFall(&Pressure{140, 80}, &Pressure{systolic, diastolic}).Answer
	}
	ebpg := func(systolic, diastolic float64) Answer {
		return HypotensionEBPG(&Pressure{150, 80}, []Pressure{{systolic, diastolic}}, Yes, Yes).Answer
	}
	for _, c := range []struct {
		what      string
		got, want Answer
	}{
		{"30 % of sessions is frequent", flythe(3, 10), Yes},
		{"29 % is not", flythe(29, 100), No},
		{"20 % of sessions is not more than 20 %", kuipers(2, 10), No},
		{"21 % is", kuipers(21, 100), Yes},
		{"none of the sessions", flythe(0, 10), No},
		{"all of the sessions", flythe(10, 10), Yes},
		{"more than all", flythe(11, 10), NotAssessable},
		{"a rise of 10 is not above 10", rises(10), No},
		{"a rise of 11 is the fourth", rises(11), Yes},
		{"systolic fall of 20", fall(120, 80), Yes},
		{"systolic fall of 19", fall(121, 80), No},
		{"diastolic fall of 10", fall(140, 70), Yes},
		{"diastolic fall of 9", fall(140, 71), No},
		{"standing above sitting", fall(165, 95), No},
		{"fall of 20 with an event and an intervention", ebpg(130, 90), Yes},
		{"fall of 19", ebpg(131, 86), No},
		{"mean fall of 10", ebpg(144, 68), Yes},
		{"mean fall of 9", ebpg(144, 69.5), No},
	} {
		if c.got != c.want {
			t.Errorf("%s: %v, want %v", c.what, c.got, c.want)
		}
	}
}

// What a method says about the schedule and length it was made for, at the
// limits of both.
func TestNotesAtTheirLimits(t *testing.T) {
	in := Inputs{"urea_before": 20, "urea_after": 6, "sp_kt_v": 1.3, "treated_time": 240, "uf_removed": 2, "weight_after": 70}
	note := func(id, text, key string, v float64) bool {
		with := Inputs{}
		for k, was := range in {
			with[k] = was
		}
		with[key] = v
		m, ok := MethodByID(id)
		if !ok {
			t.Fatal(id)
		}
		r := m.Compute(with)
		if !r.OK() {
			t.Fatal(id, r.WhyNot)
		}
		return slices.ContainsFunc(r.Notes, func(n string) bool { return strings.Contains(n, text) })
	}
	for _, c := range []struct {
		id, text, key string
		quiet, noted  []float64
	}{
		{"spktv-daugirdas2", "interval of 2 to 3 days", "preceding_interval", []float64{1.5, 2, 3.5}, []float64{1.49, 3.51}},
		{"spktv-daugirdas2", "about 2.5 to 5 h", "treated_time", []float64{150, 300}, []float64{149, 301}},
		{"spktv-daugirdas2", "three sessions a week", "sessions_per_week", []float64{3}, []float64{2, 4}},
		{"spktv-daugirdas2", "UF volume is negative", "uf_removed", []float64{0, 1}, []float64{-0.1}},
		{"ektv-rate-av", "sessions of 2.5 to 5 h", "treated_time", []float64{150, 300}, []float64{149, 301}},
	} {
		for _, v := range c.quiet {
			if note(c.id, c.text, c.key, v) {
				t.Errorf("%s notes %q at %s %v", c.id, c.text, c.key, v)
			}
		}
		for _, v := range c.noted {
			if !note(c.id, c.text, c.key, v) {
				t.Errorf("%s does not note %q at %s %v", c.id, c.text, c.key, v)
			}
		}
	}
}

// Kinds of schedule by the Canadian Society of Nephrology 2013.
func TestScheduleKindAtItsLimits(t *testing.T) {
	for _, c := range []struct {
		sessions, hours float64
		want            string
	}{
		{5, 2.9, "short daily"}, {5, 3, ""}, {4.9, 2.9, ""}, {5, 0, ""},
		{3, 5.5, "long"}, {4.9, 8, "long"}, {3, 5.4, ""}, {2.9, 8, ""},
		{5, 5.5, "long-frequent"}, {7, 8, "long-frequent"}, {5, 5.4, ""},
	} {
		if got := ScheduleKind(c.sessions, c.hours); got != c.want {
			t.Errorf("%v sessions of %v h: %q, want %q", c.sessions, c.hours, got, c.want)
		}
	}
}

// Numbers at which a formula ends: the last that has a value and the first
// that has none.
func TestFormulasEndWhereTheyAreUndefined(t *testing.T) {
	adults := func(weight float64) error {
		_, err := DialysateNeeded(1, weight, 1, 40)
		return err
	}
	second := func(_ float64, err error) error { return err }
	for what, c := range map[string]struct{ defined, not error }{
		"urea after against before": {second(UreaRatio(10, 9.99)), second(UreaRatio(10, 10))},
		"urea ratio of the formula": {second(SpKtVDaugirdas2(0.99, 1, 0, 70, 0)), second(SpKtVDaugirdas2(1, 1, 0, 70, 0))},
		"generation in the formula": {second(SpKtVDaugirdas2(0.5, 3.9, 0, 70, 0.125)), second(SpKtVDaugirdas2(0.5, 4, 0, 70, 0.125))},
		"recirculation":             {second(Recirculation(10, 9, 9.9)), second(Recirculation(10, 9, 10))},
		"missing share":             {second(WeightBeforeAmputation(60, 0.99)), second(WeightBeforeAmputation(60, 1))},
		"fluid alone":               {second(ClearanceOfUF(0.01, 60)), second(ClearanceOfUF(0, 60))},
		"time of fluid alone":       {second(ClearanceOfUF(2, 0.01)), second(ClearanceOfUF(2, 0))},
		"UF rate":                   {second(ClearanceWithUF(200, 300, 299)), second(ClearanceWithUF(200, 300, 300))},
		"saturation":                {second(DialysateKt(1, 20, 1)), second(DialysateKt(1.01, 20, 1))},
		"saturation asked for":      {second(DialysateNeeded(1, 40, 1, 1)), second(DialysateNeeded(1, 40, 1.01, 1))},
		"UF alone clears it":        {adults(40.1), adults(40)},
		"pulse":                     {second(PulsePressure(81, 80)), second(PulsePressure(80, 80))},
		"nPCR with residual":        {second(NPCRTwoPoint(60, 1.2, 2, 0.1, NPCRCoefficients{A: 1})), second(NPCRTwoPoint(60, 1.2, 2, 0, NPCRCoefficients{A: 1}))},
		"weeks filled by dialysis":  {second(StdKtVFixedVolume(1, 3359, 3)), second(StdKtVFixedVolume(1, 3360, 3))},
		"water left by UF":          {second(StdKtVFHN(1, 1, 200, 3, 40.5*3, 30, 0)), second(StdKtVFHN(1, 1, 200, 3, 30*3/0.74, 30, 0))},
		"age of children":           {second(Morgenstern(20.9, SexMale, 170, 60)), second(Morgenstern(21, SexMale, 170, 60))},
		"nPCR without":              {second(NPCRTwoPoint(60, 1.2, 0, 0, NPCRCoefficients{A: 1})), second(NPCRTwoPoint(60, 1.2, -1, 40, NPCRCoefficients{A: 1}))},
	} {
		if c.defined != nil || c.not == nil {
			t.Errorf("%s: %v, and %v", what, c.defined, c.not)
		}
	}
}

// Counter-current clearance keeps every digit from flows far apart to flows
// that are equal, and belongs to the smaller flow where the dialyser is large.
func TestDiffusiveClearanceOverItsRange(t *testing.T) {
	for _, flows := range [][2]float64{{300, 500}, {500, 300}, {300, 300 + 1e-7}, {300, 200}, {200, 130}} {
		for _, koa := range []float64{1, 400, 1200} {
			qb, qd := flows[0], flows[1]
			e := math.Exp(koa / qb * (1 - qb/qd))
			want, tolerance := qb*(e-1)/(e-qb/qd), 1e-10
			if math.Abs(qb-qd) < 1e-3 {
				want, tolerance = qb*koa/(qb+koa), 1e-6
			}
			near(t, fmt.Sprint(qb, qd, koa), must(t)(DiffusiveClearance(qb, qd, koa)), want, tolerance)
		}
	}
	near(t, "large dialyser", must(t)(DiffusiveClearance(50, 500, 40000)), 50, 1e-9)
	near(t, "large dialyser, small dialysate flow", must(t)(DiffusiveClearance(500, 50, 40000)), 50, 1e-9)
}

// The divided difference of the growth function against exact arithmetic, at
// arguments that meet, nearly meet and lie apart.
// A run keeps the books of each session: volumes in litres, urea after the
// rebound as all urea over all water.
// A stretch that begins late on the clock has the attendance of one that
// begins at zero.
func TestAdherenceDoesNotDependOnTheClock(t *testing.T) {
	for _, from := range []float64{0, 5e5} {
		sessions := []PlannedSession{
			{StartMin: from, TreatedMin: Known(180)}, {StartMin: from + 2*MinutesPerWeek - 1, TreatedMin: Known(120)},
			{StartMin: from + 2*MinutesPerWeek, TreatedMin: Known(180)},
		}
		a, err := CountAdherence(sessions, from, from+2*MinutesPerWeek)
		if err != nil {
			t.Fatal(err)
		}
		if a.SessionsPerWeek != 1 || a.HoursPerWeek != 2.5 {
			t.Errorf("from %v: %v sessions and %v h a week", from, a.SessionsPerWeek, a.HoursPerWeek)
		}
	}
}

// An even number of readings has the mean of the middle two as its median;
// readings at one moment have no slope; the reason names what was the same.
func TestTrendsOfFewReadings(t *testing.T) {
	readings := func(gauge int, minutes ...float64) []CircuitReading {
		var out []CircuitReading
		for i, at := range minutes {
			out = append(out, CircuitReading{AtMin: at, BloodFlow: 300, NeedleGauge: gauge, Pressure: 100 + 10*float64(i)})
		}
		return out
	}
	four := Trends(readings(15, 0, 1, 2, 3))[0]
	if four.Median != 115 || four.WhyNot != "too few readings at the same blood flow and needle" {
		t.Errorf("four readings: %+v", four)
	}
	if same := Trends(readings(0, 7, 7, 7, 7, 7, 7))[0]; same.WhyNot != "too few readings at the same blood flow" {
		t.Errorf("readings at one moment: %+v", same)
	}
	if five := Trends(readings(0, 0, 1, 2, 3, 4))[0]; five.WhyNot != "" || five.PerMonth != 10*30*1440 {
		t.Errorf("five readings: %+v", five)
	}
}

// An input that is not finite names itself, and only the first of two does.
func TestComputeNamesTheInputThatIsNotFinite(t *testing.T) {
	for _, c := range []struct {
		id   string
		in   Inputs
		want string
	}{
		{"urr", Inputs{"urea_before": math.Inf(1), "urea_after": math.NaN()}, "urea before dialysis is not a finite number"},
		{"urr", Inputs{"urea_before": 20, "urea_after": math.NaN()}, "urea after dialysis is not a finite number"},
		{"uf-rate-mean", Inputs{"uf_removed": math.NaN(), "treated_time": 180}, Spec("uf_removed").Name + " is not a finite number"}, // as people call it
	} {
		m, _ := MethodByID(c.id)
		if r := m.Compute(c.in); r.WhyNot != c.want {
			t.Errorf("%v: %q, want %q", c.in, r.WhyNot, c.want)
		}
	}
}

// Volume and rate × time agree up to the tolerance itself.
func TestAgreementAtItsTolerance(t *testing.T) {
	for volume, want := range map[float64]bool{2: true, 2.5: true, 2.51: false, 1.6: false} {
		got := VolumeRateTime{VolumeL: Known(volume), RateLPerH: Known(0.5), TimeMin: Known(240)}.Implies(0.2).Agree
		if got != want {
			t.Errorf("%v L against 2 L: %v", volume, got)
		}
	}
}

// At the ends of their bands the paediatric formulas leave no gap and do not
// overlap.
func TestPaediatricBandsMeet(t *testing.T) {
	for _, c := range []struct {
		methods []string
		key     string
		at      map[float64]int // the one that has a value
	}{
		{[]string{"morgenstern-infant", "morgenstern-boy", "morgenstern-boy-teen"}, "age", map[float64]int{0.24: 0, 0.25: 1, 13: 1, 13.01: 2}},
		{[]string{"morgenstern-infant", "morgenstern-girl", "morgenstern-girl-teen"}, "age", map[float64]int{0.24: 0, 0.25: 1, 13: 1, 13.01: 2}},
		{[]string{"mellits-boy-small", "mellits-boy-tall"}, "height", map[float64]int{132.7: 0, 132.71: 1}},
		{[]string{"mellits-girl-small", "mellits-girl-tall"}, "height", map[float64]int{110.8: 0, 110.81: 1}},
	} {
		for v, want := range c.at {
			in := Inputs{"age": 9, "height": 120, "weight_after": 26}
			in[c.key] = v
			for i, id := range c.methods {
				m, ok := MethodByID(id)
				if !ok {
					t.Fatal(id)
				}
				if got := m.Compute(in).OK(); got != (i == want) {
					t.Errorf("%s at %s %v has a value: %v", id, c.key, v, got)
				}
			}
		}
	}
}

// The formulas of body water change exactly where their authors' bands do.
func TestBodyWaterFormulasAtTheirAges(t *testing.T) {
	for _, c := range []struct {
		sex, age, height float64
		want             []string
	}{
		{SexMale, 0.24, 60, []string{"morgenstern-infant", "mellits-boy-small"}},
		{SexMale, 0.25, 60, []string{"morgenstern-boy", "mellits-boy-small"}},
		{SexMale, 13, 132.7, []string{"morgenstern-boy", "mellits-boy-small"}},
		{SexMale, 13.1, 132.8, []string{"morgenstern-boy-teen", "mellits-boy-tall"}},
		{SexFemale, 13, 110.8, []string{"morgenstern-girl", "mellits-girl-small"}},
		{SexFemale, 17.9, 110.9, []string{"morgenstern-girl-teen", "mellits-girl-tall"}},
		{SexFemale, 18, 165, []string{"watson-female", "hume-female"}},
	} {
		if got := BodyWaterMethods(c.sex, Known(c.age), c.height); !slices.Equal(got, c.want) {
			t.Errorf("sex %v, age %v, %v cm: %v, want %v", c.sex, c.age, c.height, got, c.want)
		}
	}
	// Both forms of the formula give one volume on either side of a band's end.
	for _, c := range []struct {
		height float64
		line   func(h, w float64) (float64, error)
		want   float64
	}{
		{132.7, MellitsCheekBoy, -1.927 + 0.465*26 + 0.045*132.7}, {132.8, MellitsCheekBoy, -21.993 + 0.406*26 + 0.209*132.8},
		{110.8, MellitsCheekGirl, 0.076 + 0.507*26 + 0.013*110.8}, {110.9, MellitsCheekGirl, -10.313 + 0.252*26 + 0.154*110.9},
	} {
		near(t, "Mellits and Cheek", must(t)(c.line(c.height, 26)), c.want, 1e-9)
	}
}

// Guideline figures are for adults from the birthday on, and end where their
// scopes do.
func TestScopesAtTheirLimits(t *testing.T) {
	scope := Scope{MinSessions: 3, MaxSessions: 3, BelowHours: 5, BelowKru: 2, Per173: true}
	patient := func(age, sessions, hours, kru float64) Patient {
		return Patient{AgeYears: Known(age), SessionsPerWeek: Known(sessions), HoursPerSession: Known(hours), KruMLPerMin: Known(kru), SurfaceM2: Known(1.73)}
	}
	for _, c := range []struct {
		patient Patient
		want    bool
	}{
		{patient(18, 3, 4.9, 1.9), true}, {patient(17.9, 3, 4.9, 1.9), false}, {patient(18, 2.9, 4.9, 1.9), false},
		{patient(18, 3.1, 4.9, 1.9), false}, {patient(18, 3, 5, 1.9), false}, {patient(18, 3, 4.9, 2), false},
	} {
		if got := scope.Includes(c.patient); got != c.want {
			t.Errorf("%+v: %v", c.patient, got)
		}
	}
}
