package calc_test

import (
	"encoding/json"
	"math"
	"strconv"
	"strings"
	"testing"

	. "runsheet.example/calc"
	"runsheet.example/calc/kinetics"
)

// mondayWednesdayFriday is a week of three sessions alike.
// fraction reads a number that may be written as "1/3".
func (r checkRow) fraction(t *testing.T, key string) float64 {
	t.Helper()
	var text string
	if json.Unmarshal(r.Inputs[key].Value, &text) != nil {
		return r.in(t, key)
	}
	over, under, _ := strings.Cut(text, "/")
	a, errA := strconv.ParseFloat(over, 64)
	b, errB := strconv.ParseFloat(under, 64)
	if errA != nil || errB != nil {
		t.Fatalf("input %s: %q is no fraction", key, text)
	}
	return a / b
}

func (r checkRow) pools(t *testing.T, volume float64) kinetics.Pools {
	if _, two := r.Inputs["Kc"]; !two {
		return kinetics.Pools{}
	}
	p := kinetics.Pools{ExchangePerLitre: r.in(t, "Kc") / volume, PlasmaShare: r.fraction(t, "V1_fraction"), GenerationShare: r.fraction(t, "generation_fraction_pool1")}
	if _, stated := r.Inputs["fluid_fraction_pool1"]; stated && r.fraction(t, "fluid_fraction_pool1") != p.PlasmaShare {
		t.Fatal("the closed form needs fluid shared as volume")
	}
	return p
}

func addKineticComputations(all map[string]computation) {
	all["single-pool variable-volume periodic steady state"] = periodicWeek
	all["two-pool variable-volume periodic steady state"] = periodicWeek
	all["two-pool constant volume, analytic"] = func(t *testing.T, r checkRow) map[string]any {
		cycle := kinetics.Cycle{LengthMin: MinutesPerWeek}
		for _, day := range r.list(t, "days") {
			cycle.Treatments = append(cycle.Treatments, kinetics.Treatment{
				StartMin: 1440 * day, DurationMin: r.in(t, "t"), ClearanceMLPerMin: r.in(t, "K"), UFLitres: r.in(t, "uf") / 1000,
			})
		}
		volume := r.in(t, "V")
		return weekValues(steady(t, kinetics.Body{VolumeL: volume, GenerationMgPerMin: r.in(t, "G"), ResidualMLPerMin: r.in(t, "kr"), Pools: r.pools(t, volume)}, cycle))
	}
	all["single dialysis segment closed form"] = func(t *testing.T, r checkRow) map[string]any {
		run, err := kinetics.Follow(
			kinetics.Body{VolumeL: r.in(t, "V0"), GenerationMgPerMin: r.in(t, "G"), ResidualMLPerMin: r.in(t, "kr")},
			kinetics.Course{
				Start: kinetics.UreaState{VolumeL: r.in(t, "V0"), PlasmaMgPerDL: r.in(t, "C0")},
				Sessions: []kinetics.CourseSession{{Treatment: kinetics.Treatment{
					DurationMin: r.in(t, "t"), ClearanceMLPerMin: r.in(t, "K"), UFLitres: r.in(t, "uf") / 1000,
				}}},
				EndMin: r.in(t, "t"),
			})
		if err != nil {
			t.Fatal(err)
		}
		return only(run.Sessions[0].AfterMgPerDL)
	}
	all["inverse fit: V and G from midweek pre/post"] = inverseFit
	all["EKRc thrice weekly"] = func(t *testing.T, r checkRow) map[string]any {
		minutes, volume := r.in(t, "t"), r.in(t, "V")
		cycle := mondayWednesdayFriday(minutes, r.in(t, "ktv")*1000*volume/minutes, r.in(t, "uf"))
		return only(must(t)(EKRCorrected(steady(t, kinetics.Body{VolumeL: volume, GenerationMgPerMin: 6, ResidualMLPerMin: r.in(t, "kr")}, cycle).EKR(), volume)))
	}
	// The volume is free: the ratio of UF to volume is what matters.
	all["weekly measures equal to eKt/V 1.20"] = func(t *testing.T, r checkRow) map[string]any {
		const volume = 35.0
		minutes := r.in(t, "t")
		cycle := mondayWednesdayFriday(minutes, r.in(t, "ektv")*1000*volume/minutes, r.in(t, "weekly_uf_over_V")*volume/3)
		s := steady(t, kinetics.Body{VolumeL: volume, GenerationMgPerMin: 6}, cycle)
		return map[string]any{"EKRc": must(t)(EKRCorrected(s.EKR(), volume)), "stdKtV": s.StdKtV(), "stdEKR": must(t)(StdEKR(s.EKR(), volume))}
	}
	all["ratio of mean predialysis to time-averaged urea, single-pool model"] = func(t *testing.T, r checkRow) map[string]any {
		volume, minutes := r.in(t, "V"), r.in(t, "t")
		cycle := mondayWednesdayFriday(minutes, r.in(t, "ektv")*1000*volume/minutes, r.in(t, "weekly_uf")/3)
		s := steady(t, kinetics.Body{VolumeL: volume, GenerationMgPerMin: 6, ResidualMLPerMin: r.in(t, "kr")}, cycle)
		return only(s.MeanBeforeMgPerDL / s.TimeAveragedMgPerDL)
	}
}

func periodicWeek(t *testing.T, r checkRow) map[string]any {
	starts, minutes, clearances, uf := r.list(t, "start"), r.list(t, "t"), r.list(t, "K"), r.list(t, "uf")
	cycle := kinetics.Cycle{LengthMin: r.in(t, "cycle")}
	for i := range starts {
		cycle.Treatments = append(cycle.Treatments, kinetics.Treatment{StartMin: starts[i], DurationMin: minutes[i], ClearanceMLPerMin: clearances[i], UFLitres: uf[i] / 1000})
	}
	volume := r.in(t, "V_post_mean")
	return weekValues(steady(t, kinetics.Body{VolumeL: volume, GenerationMgPerMin: r.in(t, "G"), ResidualMLPerMin: r.in(t, "kr"), Pools: r.pools(t, volume)}, cycle))
}

func weekValues(s kinetics.Steady) map[string]any {
	var before, after, equilibrated []float64
	for _, session := range s.Sessions {
		before = append(before, session.BeforeMgPerDL)
		after = append(after, session.AfterMgPerDL)
		equilibrated = append(equilibrated, session.EquilibratedMgPerDL)
	}
	return map[string]any{
		"pre": before, "post": after, "equilibrated_post": equilibrated,
		"TAC": s.TimeAveragedMgPerDL, "stdKtV": s.StdKtV(), "EKR": s.EKR(),
	}
}

func inverseFit(t *testing.T, r checkRow) map[string]any {
	var litres []float64
	for _, ml := range r.list(t, "uf") {
		litres = append(litres, ml/1000)
	}
	cycle := mondayWednesdayFriday(r.in(t, "t"), r.in(t, "K"), litres...)
	sample := kinetics.PairedSample{Session: int(r.in(t, "sample_session")) - 1, BeforeMgPerDL: r.in(t, "pre"), AfterMgPerDL: r.in(t, "post")}
	s, err := kinetics.FitVolume(kinetics.Body{ResidualMLPerMin: r.in(t, "kr")}, cycle, sample)
	if err != nil {
		t.Fatal(err)
	}
	sampled := s.Cycle.Treatments[sample.Session]
	return map[string]any{
		"V_post": s.Body.VolumeL, "G": s.Body.GenerationMgPerMin,
		"KtV":  sampled.ClearanceMLPerMin * sampled.DurationMin / (1000 * s.Body.VolumeL),
		"nPCR": must(t)(NPCRFromGeneration(s.Body.GenerationMgPerMin, s.Body.VolumeL)),
	}
}

// mondayWednesdayFriday is a week of three sessions alike.
func mondayWednesdayFriday(minutes, clearance float64, uf ...float64) kinetics.Cycle {
	c := kinetics.Cycle{LengthMin: MinutesPerWeek}
	for i := range 3 {
		c.Treatments = append(c.Treatments, kinetics.Treatment{
			StartMin: 480 + 2880*float64(i), DurationMin: minutes, ClearanceMLPerMin: clearance, UFLitres: uf[i%len(uf)],
		})
	}
	return c
}

func steady(t *testing.T, body kinetics.Body, cycle kinetics.Cycle) kinetics.Steady {
	t.Helper()
	s, err := kinetics.SteadyState(body, cycle)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// near fails the test unless got is within tolerance of want.
func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: got %.9g, want %.9g ± %g", what, got, want, tolerance)
	}
}
