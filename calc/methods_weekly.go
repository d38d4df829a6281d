package calc

func dialysateMethods() []Method {
	const michaels = "Michaels, Trans Am Soc Artif Intern Organs 1966;12:387 (from memory; checked against a numerical solution)"
	const estimated = "an estimate: KoA in use is about 0.8 of the printed one, blood water flow about 0.89 of blood flow (both from memory)"
	flows := need("blood_flow", "dialysate_flow", "dialyser_koa", "uf_removed", "treated_time")
	const where = "KD = blood_flow*(exp(Z) - 1)/(exp(Z) - blood_flow/dialysate_flow); Z = dialyser_koa/blood_flow*(1 - blood_flow/dialysate_flow); QUF = 1000*uf_removed/treated_time"
	return []Method{
		{
			ID: "clearance-michaels", Version: "1", Quantity: "dialyser urea clearance, estimated", Key: "dialyser_clearance", Unit: "mL/min", Decimals: 0,
			Formula: "dialyser_clearance = KD*(1 - QUF/blood_flow) + QUF; " + where, Source: michaels, Range: estimated,
			Inputs: flows, eval: clearanceFromFlows,
		},
		{
			ID: "dialysate-saturation-michaels", Version: "1", Quantity: "dialysate saturation, estimated", Key: "dialysate_saturation", Unit: "1", Decimals: 3,
			Formula: "dialysate_saturation = (KD*(1 - QUF/blood_flow) + QUF)/(dialysate_flow + QUF); " + where, Source: michaels, Range: estimated,
			Inputs: flows,
			eval: func(in Inputs) (float64, error) {
				clearance, err := clearanceFromFlows(in)
				if err != nil {
					return undefined(err.Error())
				}
				return Saturation(clearance, in["dialysate_flow"], 1000*in["uf_removed"]/in["treated_time"])
			},
		},
		{
			ID: "dialysate-kt-v", Version: "1", Quantity: "dialysate-side Kt/V, estimated", Key: "dialysate_kt_v", Unit: "1", Decimals: 2,
			Formula: "dialysate_kt_v = dialysate_saturation*(dialysate_volume + uf_removed)/total_body_water",
			Source:  "mass balance over the drained fluid", Range: "an estimate from the dialysate side, not a blood-side spKt/V: do not compare the two",
			Inputs: need("dialysate_saturation", "dialysate_volume", "uf_removed", "total_body_water"),
			eval: func(in Inputs) (float64, error) {
				return DialysateKtV(in["dialysate_saturation"], in["dialysate_volume"], in["uf_removed"], in["total_body_water"])
			},
			notes: func(Inputs, float64) []string {
				return []string{"dialysate-side estimate, not an spKt/V from blood samples"}
			},
		},
	}
}

func clearanceFromFlows(in Inputs) (float64, error) {
	diffusive, err := DiffusiveClearance(in["blood_flow"], in["dialysate_flow"], in["dialyser_koa"])
	if err != nil {
		return undefined(err.Error())
	}
	if err := guard(positive("treated time", in["treated_time"])); err != nil {
		return undefined(err.Error())
	}
	return ClearanceWithUF(diffusive, in["blood_flow"], 1000*in["uf_removed"]/in["treated_time"])
}

func weeklyMethods() []Method {
	const perWeek = "; the value is per week"
	const fixed = "(10080*(1 - exp(-e_kt_v))/treated_time)/((1 - exp(-e_kt_v))/e_kt_v + 10080/(sessions_per_week*treated_time) - 1)"
	return []Method{
		{
			ID: "stdktv-leypoldt-fixed", Version: "1", Quantity: "weekly standard Kt/V, constant volume", Key: "std_kt_v_weekly", Unit: "1", Decimals: 2,
			Formula: "std_kt_v_weekly = " + fixed,
			Source:  "Leypoldt, Semin Dial 2004;17:142 (from memory); Leypoldt et al, Hemodial Int 2004;8:193",
			Range:   "identical sessions at any spacing, constant volume, no residual clearance" + perWeek,
			Inputs:  need("e_kt_v", "treated_time", "sessions_per_week"),
			eval: func(in Inputs) (float64, error) {
				return StdKtVFixedVolume(in["e_kt_v"], in["treated_time"], in["sessions_per_week"])
			},
		},
		{
			ID: "stdktv-fhn-uf-kru", Version: "1", Quantity: "weekly standard Kt/V with UF and residual clearance", Key: "std_kt_v_weekly", Unit: "1", Decimals: 2,
			Formula: "std_kt_v_weekly = S/(1 - 0.74/sessions_per_week*weekly_uf/total_body_water) + residual_urea_clearance*(0.974/(sp_kt_v + 1.62) + 0.4)*10080/(1000*total_body_water); S = " + fixed,
			Source:  "Daugirdas, Depner, Greene et al, Kidney Int 2010;77:637 (coefficients from memory)",
			Range:   "identical sessions; within about 3 % of a two-pool model" + perWeek,
			Inputs:  need("sp_kt_v", "e_kt_v", "treated_time", "sessions_per_week", "weekly_uf", "total_body_water", "?residual_urea_clearance"),
			eval: func(in Inputs) (float64, error) {
				return StdKtVFHN(in["sp_kt_v"], in["e_kt_v"], in["treated_time"], in["sessions_per_week"],
					in["weekly_uf"], in["total_body_water"], in["residual_urea_clearance"])
			},
		},
	}
}
