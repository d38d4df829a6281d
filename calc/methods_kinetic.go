package calc

import "fmt"

// kineticMethods convert the results of the kinetic model (mean urea before
// dialysis and over time) to dose by definition, for weeks as treated, by both
// models.
func kineticMethods() []Method {
	var methods []Method
	for _, single := range []bool{true, false} {
		methods = append(methods, kineticStd(single), kineticEKR(single),
			kineticUrea(single, "mean-urea-before", "mean_urea_before", "mean urea before dialysis by urea kinetics", "2"),
			kineticUrea(single, "time-averaged-urea", "time_averaged_urea", "time-averaged urea by urea kinetics", "1"))
	}
	return methods
}

func kineticSuffix(single bool) string {
	if single {
		return "done-single-pool"
	}
	return "done-two-pool"
}

func kineticRange(single bool) string {
	model := "two-pool urea kinetics (exchange and pool shares from memory)"
	if single {
		model = "single-pool urea kinetics"
	}
	return model + ", weeks as they were done, followed forward from a known state; not a steady state"
}

// kineticStd has version 2 because it counts sessions planned and not done.
func kineticStd(single bool) Method {
	return Method{
		ID: "stdktv-" + kineticSuffix(single), Version: "2", Quantity: "weekly standard Kt/V by urea kinetics", Key: "std_kt_v_weekly", Unit: "1", Decimals: 2,
		Formula: "std_kt_v_weekly = 10080*urea_generation/(10*total_body_water*mean_urea_before)",
		Source:  "definition, Gotch 1998 (from memory)", Range: kineticRange(single) + "; the value is per week",
		Inputs: need("urea_generation", "total_body_water", "mean_urea_before"),
		eval: func(in Inputs) (float64, error) {
			return StdKtVByDefinition(in["urea_generation"], in["total_body_water"], in["mean_urea_before"])
		},
	}
}

func kineticEKR(single bool) Method {
	return Method{
		ID: "ekr-" + kineticSuffix(single), Version: "1", Quantity: "equivalent renal urea clearance by urea kinetics", Key: "ekr", Unit: "mL/min", Decimals: 1,
		Formula: "ekr = 100*urea_generation/time_averaged_urea",
		Source:  "Casino and Lopez, Nephrol Dial Transplant 1996;11:1574", Range: kineticRange(single),
		Inputs: need("urea_generation", "time_averaged_urea"),
		eval:   func(in Inputs) (float64, error) { return EKR(in["urea_generation"], in["time_averaged_urea"]) },
	}
}

// kineticUrea is a concentration of the model in laboratory units.
func kineticUrea(single bool, id, key, quantity, version string) Method {
	return Method{
		ID: id + "-" + kineticSuffix(single), Version: version, Quantity: quantity, Key: key + "_plasma", Unit: "mmol/L", Decimals: 1,
		Formula: fmt.Sprintf("%s_plasma = 10*%g*%s/%g", key, PlasmaWaterFraction, key, ureaNitrogenMass),
		Source:  "urea kinetic model; share of water in plasma from memory",
		Range:   "weeks as they were done; urea in plasma, from urea nitrogen in body water",
		Inputs:  need(key),
		eval: func(in Inputs) (float64, error) {
			if err := guard(notNegative("urea", in[key])); err != nil {
				return undefined(err.Error())
			}
			return UreaFromBUN(in[key] * PlasmaWaterFraction), nil
		},
	}
}

// Results returns the doses of the window as results with method and inputs.
// Without a session in the window there is no standard Kt/V.
func (w Window) Results() []Result {
	suffix := kineticSuffix(w.Body.Pools.Single())
	results := doses(w.Body, w.MeanBeforeMgPerDL, w.TimeAveragedMgPerDL, suffix)
	if w.Sessions+w.NotDone == 0 {
		results[0].WhyNot = noSession
		results[0].Missing = nil
	}
	for i := range results {
		results[i].Notes = append(results[i].Notes, modelNotes(w.Body)...)
		results[i].Notes = append(results[i].Notes, w.counted())
	}
	return results
}

func (w Window) counted() string {
	text := fmt.Sprintf("%d sessions in %s days as they were done", w.Sessions, shortDecimal((w.ToMin-w.FromMin)/1440))
	if w.NotDone > 0 {
		text += fmt.Sprintf("; %d planned and not done: urea at the time of day of the session before counts in the mean before dialysis", w.NotDone)
	}
	return text
}

// Concentrations returns mean urea before dialysis and time-averaged urea in
// laboratory units. They have no meaning if generation was assumed.
func (w Window) Concentrations() []Result {
	suffix := kineticSuffix(w.Body.Pools.Single())
	results := Sequence(w.Inputs(), "mean-urea-before-"+suffix, "time-averaged-urea-"+suffix)
	if w.Sessions+w.NotDone == 0 {
		results[0].WhyNot, results[0].Missing = noSession, nil
	}
	return results
}

const noSession = "no session starts in this stretch, and none was planned in it"

func doses(b Body, meanBefore, timeAveraged float64, suffix string) []Result {
	in := Inputs{
		"urea_generation": b.GenerationMgPerMin, "total_body_water": b.VolumeL,
		"mean_urea_before": meanBefore, "time_averaged_urea": timeAveraged,
	}
	ids := []string{"stdktv-" + suffix, "ekr-" + suffix, "ekr-corrected", "std-ekr"}
	if !b.GenerationAssumed {
		ids = append(ids, "npcr-generation")
	}
	return Sequence(in, ids...)
}

func modelNotes(b Body) []string {
	var notes []string
	if !b.Pools.Single() {
		notes = append(notes, fmt.Sprintf("urea exchange %s mL/min per litre of body water (from memory)", shortDecimal(b.Pools.ExchangePerLitre)))
	}
	if b.GenerationAssumed {
		notes = append(notes, "urea generation was assumed and not measured; this dose does not depend on it")
	}
	return append(notes, fmt.Sprintf("residual urea clearance %s mL/min", shortDecimal(b.ResidualMLPerMin)))
}
