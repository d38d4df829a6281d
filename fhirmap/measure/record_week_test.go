package measure

import (
	"math"
	"testing"

	"runsheet.example/calc"
	"runsheet.example/calc/kinetics"
	"runsheet.example/fhirmap/session"
)

// again builds a week anew from what the record states: the state at its start
// and its sessions.
func again(log *session.Log, w Week) kinetics.DoneWeek {
	state := map[string]float64{}
	var koa, notDone []float64
	for _, in := range w.State {
		state[in.Key] = in.Number
		if in.Key == "planned_not_done" {
			notDone = append(notDone, in.Number)
		}
		if in.Key == "dialyser_koa" {
			koa = append(koa, in.Number)
		}
	}
	out := kinetics.DoneWeek{
		Body: kinetics.Body{VolumeL: state["total_body_water"], GenerationMgPerMin: state["urea_generation"],
			ResidualMLPerMin: state["residual_urea_clearance"], Pools: kinetics.TwoPools()},
		Start:       kinetics.UreaState{VolumeL: state["body_water"], PlasmaMgPerDL: state["urea_pool_1"], InnerMgPerDL: state["urea_pool_2"]},
		ReferenceKg: state["reference_weight"], ClearanceFactor: state["clearance_factor"],
		LengthMin: w.End.Sub(w.Monday).Minutes(), NotDone: notDone, GainLPerDay: state["fluid_gain_rate"],
	}
	clearance, _ := calc.MethodByID("clearance-michaels-in-use")
	for i, s := range w.Sessions {
		in := calc.Inputs{"dialyser_koa": koa[min(i, len(koa)-1)]}
		for _, f := range SessionFields(s) {
			c := collector{inputs: map[string]Input{}}
			c.entered(string(f), f, s.Value(f))
			in[string(f)] = c.inputs[string(f)].Number
		}
		treated, _ := treatedTime(s)
		in["treated_time"] = treated.Number
		cleared := clearance.Compute(in).Value
		if in["dialysate_flow"] == 0 {
			cleared = 1000 * in["uf_removed"] / treated.Number
		}
		out.Sessions = append(out.Sessions, kinetics.WeekSession{
			StartMin: s.Start.Time.Sub(w.Monday).Minutes(), DurationMin: treated.Number,
			ClearanceMLPerMin: cleared, UFLitres: in["uf_removed"], WeightBeforeKg: in["weight_before"],
		})
	}
	return out
}

// followAgain holds every week to what its state and its sessions give, and
// its end to the start of the next. It returns how many weeks have a model.
func followAgain(t *testing.T, log *session.Log) int {
	t.Helper()
	modelled := 0
	var end *kinetics.UreaState
	for _, w := range Weeks(log) {
		if w.State == nil {
			if w.WhyNot == "" {
				t.Errorf("%s: neither state nor reason", day(w.Monday))
			}
			end = nil
			continue
		}
		modelled++
		run, err := again(log, w).Follow()
		if err != nil {
			t.Fatalf("%s: %v", day(w.Monday), err)
		}
		window, err := run.Window(0, w.End.Sub(w.Monday).Minutes())
		if err != nil {
			t.Fatal(err)
		}
		in := window.Inputs()
		for _, v := range w.Values {
			if !v.Result.OK() || v.Key() == "sessions_done" || v.Key() == "sessions_planned" || v.Key() == "hours_done" || v.Key() == "uf_done" {
				continue
			}
			got := v.Result.Method.Compute(in)
			if step := math.Pow10(-v.Result.Method.Decimals); math.Abs(got.Value-v.Result.Value) > step/1000 {
				t.Errorf("%s: %s is %v, again %v", day(w.Monday), v.Key(), v.Result.Value, got.Value)
			}
		}
		start := again(log, w).Start
		if w.Continues {
			for i, pair := range [][2]float64{{end.VolumeL, start.VolumeL}, {end.PlasmaMgPerDL, start.PlasmaMgPerDL}, {end.InnerMgPerDL, start.InnerMgPerDL}} {
				if math.Abs(pair[0]-pair[1]) > 2e-5 {
					t.Errorf("%s: number %d of the state is %v, the week before ends with %v", day(w.Monday), i, pair[1], pair[0])
				}
			}
		}
		end = &run.End
	}
	return modelled
}

func TestWeeksFollowFromTheirState(t *testing.T) {
	log, _, err := session.ReadFolder("../../testdata/month", session.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if n := followAgain(t, log); n < 3 {
		t.Errorf("%d weeks of the demo month have a model", n)
	}
	regular := thrice(8)
	regular[10].sample = "25.0 9.0"
	overnight := weigh([]made{ // across midnight, and from Sunday into Monday
		{day: 0, minute: 1320, treated: 480, uf: 2}, {day: 2, minute: 1320, treated: 480, uf: 2}, {day: 4, minute: 1320, treated: 480, uf: 2}, {day: 6, minute: 1320, treated: 480, uf: 2},
		{day: 9, minute: 1320, treated: 480, uf: 2}, {day: 11, minute: 1320, treated: 480, uf: 2, sample: "20.0 6.0"}, {day: 13, minute: 1320, treated: 480, uf: 2},
		{day: 16, minute: 1320, treated: 480, uf: 2}, {day: 18, minute: 1320, treated: 480, uf: 2}, {day: 20, minute: 1320, treated: 480, uf: 2}, {day: 23, minute: 1320, treated: 480, uf: 2},
	}, 70, 0.8)
	missed, alone := thrice(6), thrice(5)
	missed[11].skipped, missed[12].skipped = true, true
	alone[7].alone = true
	for name, sessions := range map[string][]made{"three a week": regular, "from flows": thrice(5), "overnight": overnight, "two missed": weigh(missed, 70, madeGain), "fluid alone": alone} {
		t.Run(name, func(t *testing.T) {
			if n := followAgain(t, madeLog(t, madeAbout, sessions)); n < 2 {
				t.Errorf("%d weeks have a model", n)
			}
		})
	}
}
