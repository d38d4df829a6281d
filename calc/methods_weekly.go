package calc

func weeklyMethods() []Method {
	const perWeek = "; sessions counted over whole weeks; the value is per week"
	const fixed = "(10080*(1 - exp(-e_kt_v))/treated_time)/((1 - exp(-e_kt_v))/e_kt_v + 10080/(sessions_per_week*treated_time) - 1)"
	return []Method{
		{
			ID: "stdktv-leypoldt-fixed", Version: "2", Quantity: "weekly standard Kt/V, constant volume", Key: "std_kt_v_weekly", Unit: "1", Decimals: 2,
			Formula: "std_kt_v_weekly = " + fixed,
			Source:  "Leypoldt, Semin Dial 2004;17:142 (from memory); Leypoldt et al, Hemodial Int 2004;8:193",
			Range:   "identical sessions at any spacing, constant volume, no residual clearance" + perWeek,
			Inputs:  need("e_kt_v", "treated_time", "sessions_per_week"),
			eval: func(in Inputs) (float64, error) {
				return StdKtVFixedVolume(in["e_kt_v"], in["treated_time"], in["sessions_per_week"])
			},
		},
		{
			ID: "stdktv-gotch", Version: "2", Quantity: "weekly standard Kt/V, Gotch's form", Key: "std_kt_v_weekly", Unit: "1", Decimals: 2,
			Formula: "std_kt_v_weekly = (10080*(1 - exp(-e_kt_v))/treated_time)/((1 - exp(-e_kt_v))/sp_kt_v + 10080/(sessions_per_week*treated_time) - 1)",
			Source:  "Gotch, Nephrol Dial Transplant 1998 (from memory)", Range: "spKt/V in the inner term: not comparable with the other weekly forms" + perWeek,
			Inputs: need("sp_kt_v", "e_kt_v", "treated_time", "sessions_per_week"),
			eval: func(in Inputs) (float64, error) {
				return StdKtVGotch(in["sp_kt_v"], in["e_kt_v"], in["treated_time"], in["sessions_per_week"])
			},
		},
		{
			ID: "stdktv-fhn-uf-kru", Version: "2", Quantity: "weekly standard Kt/V with UF and residual clearance", Key: "std_kt_v_weekly", Unit: "1", Decimals: 2,
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
