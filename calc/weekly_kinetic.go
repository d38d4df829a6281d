package calc

import (
	"fmt"
)

// StdKtVByDefinition returns the weekly standard Kt/V by its definition,
// 10080·G/(V·C), from urea nitrogen generation in mg/min, urea volume in
// litres and the mean concentration before dialysis in mg/dL of body water.
//
// Gotch, Nephrol Dial Transplant 1998 (definition from memory).
func StdKtVByDefinition(generationMgPerMin, volumeL, meanBeforeMgPerDL float64) (float64, error) {
	return given(MinutesPerWeek*generationMgPerMin/(10*volumeL*meanBeforeMgPerDL),
		Positive("urea generation", generationMgPerMin), Positive("urea volume", volumeL),
		Positive("mean urea before dialysis", meanBeforeMgPerDL))
}

// EKR returns the equivalent renal urea clearance in mL/min, generation in
// mg/min over the time-averaged concentration in mg/dL of body water;
// residual clearance is included.
//
// Casino and Lopez, Nephrol Dial Transplant 1996;11:1574.
func EKR(generationMgPerMin, timeAveragedMgPerDL float64) (float64, error) {
	return given(100*generationMgPerMin/timeAveragedMgPerDL,
		Positive("urea generation", generationMgPerMin), Positive("time-averaged urea", timeAveragedMgPerDL))
}

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

// KineticSuffix ends the ids of the methods of the kinetic model with one or
// two pools.
func KineticSuffix(single bool) string {
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
		ID: "stdktv-" + KineticSuffix(single), Version: "2", Quantity: "weekly standard Kt/V by urea kinetics", Key: "std_kt_v_weekly", Unit: "1", Decimals: 2,
		Formula: "std_kt_v_weekly = 10080*urea_generation/(10*total_body_water*mean_urea_before)",
		Source:  "definition, Gotch 1998 (from memory)", Range: kineticRange(single) + "; the value is per week",
		Inputs: need("urea_generation", "total_body_water", "mean_urea_before"),
	}.of3(StdKtVByDefinition)
}

func kineticEKR(single bool) Method {
	return Method{
		ID: "ekr-" + KineticSuffix(single), Version: "1", Quantity: "equivalent renal urea clearance by urea kinetics", Key: "ekr", Unit: "mL/min", Decimals: 1,
		Formula: "ekr = 100*urea_generation/time_averaged_urea",
		Source:  "Casino and Lopez, Nephrol Dial Transplant 1996;11:1574", Range: kineticRange(single),
		Inputs: need("urea_generation", "time_averaged_urea"),
	}.of2(EKR)
}

// kineticUrea is a concentration of the model in laboratory units.
func kineticUrea(single bool, id, key, quantity, version string) Method {
	return Method{
		ID: id + "-" + KineticSuffix(single), Version: version, Quantity: quantity, Key: key + "_plasma", Unit: "mmol/L", Decimals: 1,
		Formula: fmt.Sprintf("%s_plasma = 10*%g*%s/%g", key, PlasmaWaterFraction, key, ureaNitrogenMass),
		Source:  "urea kinetic model; share of water in plasma from memory",
		Range:   "weeks as they were done; urea in plasma, from urea nitrogen in body water",
		Inputs:  need(key),
		eval: func(in Inputs) (float64, error) {
			return given(UreaFromBUN(in[key]*PlasmaWaterFraction), NotNegative("urea", in[key]))
		},
	}
}
