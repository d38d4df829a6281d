package calc

import "fmt"

func proteinMethods() []Method {
	methods := []Method{
		{
			ID: "npcr-generation", Version: "1", Quantity: "normalised protein catabolic rate", Key: "npcr", Unit: "g/kg/d", Decimals: 2,
			Formula: "npcr = 5.42*urea_generation/total_body_water + 0.17", Source: "Sargent and Gotch (from memory)",
			Range:  "steady state, any schedule",
			Inputs: need("urea_generation", "total_body_water"),
			eval: func(in Inputs) (float64, error) {
				return NPCRFromGeneration(in["urea_generation"], in["total_body_water"])
			},
		},
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
