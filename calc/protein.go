package calc

import (
	"fmt"
)

// NPCRCoefficients are a, b and c of the two-point formula for one session of
// the week, with the constants of its correction for residual clearance.
type NPCRCoefficients struct {
	SessionsPerWeek int
	Session         string // "first", "midweek", "last"; "first", "second"
	A, B, C         float64
	KrA, KrB        float64
}

// NPCRTwoPointCoefficients returns the published sets: three and two sessions
// a week. For other schedules the formula is not defined; use
// [NPCRFromGeneration] with the kinetic model.
//
// Depner and Daugirdas, J Am Soc Nephrol 1996;7:780 (all from memory; 0.70 is
// also recalled for 0.79 and simulation cannot tell them apart).
func NPCRTwoPointCoefficients() []NPCRCoefficients {
	return []NPCRCoefficients{
		{3, "first", 36.3, 5.48, 53.5, 0.79, 3.08},
		{3, "midweek", 25.8, 1.15, 56.4, 0.79, 3.08},
		{3, "last", 16.3, 4.30, 56.6, 0.79, 3.08},
		{2, "first", 48.0, 5.14, 79.0, 1.15, 4.56},
		{2, "second", 33.0, 3.60, 83.2, 1.15, 4.56},
	}
}

// NPCRTwoPoint returns the normalised protein catabolic rate in g/kg/d from
// urea nitrogen before dialysis in mg/dL and Kt/V of the session:
//
//	nPCR = C0/(a + b·k + c/k) + 0.168
//
// With residual clearance in mL/min and urea volume in litres C0 is first
// raised by 1 + (0.79 + 3.08/k)·Kr/V (1.15 and 4.56 for two sessions a week);
// pass 0 residual clearance for none. Steady state only. Against a two-pool
// simulation, with urea as a laboratory reports it (0.93 of the concentration
// in body water, which is inferred and was not read), eKt/V as k is nearly
// unbiased midweek and spKt/V gives a result 0.07 high; a concentration in
// body water gives a result 0.07 to 0.11 high.
//
// Depner and Daugirdas, J Am Soc Nephrol 1996;7:780 (from memory).
func NPCRTwoPoint(bunMgPerDL, ktV, kruMLPerMin, volumeL float64, set NPCRCoefficients) (float64, error) {
	corrected := bunMgPerDL
	if kruMLPerMin > 0 {
		corrected *= 1 + (set.KrA+set.KrB/ktV)*kruMLPerMin/volumeL
	}
	return given(corrected/(set.A+set.B*ktV+set.C/ktV)+0.168,
		Positive("urea before dialysis", bunMgPerDL), Positive("Kt/V", ktV), NotNegative("residual urea clearance", kruMLPerMin),
		When(kruMLPerMin > 0 && !(volumeL > 0), "urea volume must be above zero"))
}

// NPCRFromGeneration returns the normalised protein catabolic rate in g/kg/d
// from urea nitrogen generation in mg/min and urea volume in litres:
//
//	nPCR = 5.42·G/V + 0.17
//
// which is PCR = 9.35·G + 0.294·V normalised to the weight V/0.58. Valid in
// steady state and for any schedule.
//
// Sargent and Gotch (coefficients from memory).
func NPCRFromGeneration(generationMgPerMin, volumeL float64) (float64, error) {
	return given(5.42*generationMgPerMin/volumeL+0.17,
		Positive("urea generation", generationMgPerMin), Positive("urea volume", volumeL))
}

func proteinMethods() []Method {
	methods := []Method{
		Method{
			ID: "npcr-generation", Version: "1", Quantity: "normalised protein catabolic rate", Key: "npcr", Unit: "g/kg/d", Decimals: 2,
			Formula: "npcr = 5.42*urea_generation/total_body_water + 0.17", Source: "Sargent and Gotch (from memory)",
			Range:  "steady state, any schedule",
			Inputs: need("urea_generation", "total_body_water"),
		}.of2(NPCRFromGeneration),
	}
	for _, set := range NPCRTwoPointCoefficients() {
		methods = append(methods, twoPointMethod(set, false), twoPointMethod(set, true))
	}
	return methods
}

// twoPointMethod returns the method of one set, with or without residual
// clearance. The urea input is in mmol/L; 2.8014 converts it to urea nitrogen
// in mg/dL.
func twoPointMethod(set NPCRCoefficients, residual bool) Method {
	id := fmt.Sprintf("npcr-%d-%s", set.SessionsPerWeek, set.Session)
	inputs := need("urea_before", "e_kt_v")
	before := "2.8014*urea_before"
	if residual {
		id += "-kru"
		inputs = need("urea_before", "e_kt_v", "residual_urea_clearance", "total_body_water")
		before += fmt.Sprintf("*(1 + (%g + %g/e_kt_v)*residual_urea_clearance/total_body_water)", set.KrA, set.KrB)
	}
	return Method{
		ID: id, Version: "1", Quantity: "normalised protein catabolic rate", Key: "npcr", Unit: "g/kg/d", Decimals: 2,
		Formula: fmt.Sprintf("npcr = %s/(%g + %g*e_kt_v + %g/e_kt_v) + 0.168", before, set.A, set.B, set.C),
		Source:  "Depner and Daugirdas, J Am Soc Nephrol 1996;7:780 (coefficients from memory)",
		Range:   fmt.Sprintf("%d sessions a week, %s session, steady state", set.SessionsPerWeek, set.Session),
		Inputs:  inputs,
		eval: func(in Inputs) (float64, error) {
			return NPCRTwoPoint(BUNFromUrea(in["urea_before"]), in["e_kt_v"], in["residual_urea_clearance"], in["total_body_water"], set)
		},
	}
}
