package calc

func planMethods() []Method {
	return []Method{
		{
			ID: "time-from-dialysate", Version: "1", Quantity: "time the dialysate lasts", Key: "planned_time", Unit: "min", Decimals: 0,
			Formula: "planned_time = 1000*dialysate_volume/dialysate_flow", Source: "definition", Range: "constant dialysate flow",
			Inputs: need("dialysate_volume", "dialysate_flow"),
			eval: func(in Inputs) (float64, error) {
				return TimeFromDialysate(in["dialysate_volume"], in["dialysate_flow"])
			},
		},
		{
			ID: "flow-fraction", Version: "1", Quantity: "dialysate flow over blood flow", Key: "flow_fraction", Unit: "%", Decimals: 0,
			Formula: "flow_fraction = 100*dialysate_flow/blood_flow", Source: "common practice",
			Range:  "saturation is near 1 only while it is below about 40 %",
			Inputs: need("dialysate_flow", "blood_flow"),
			eval:   func(in Inputs) (float64, error) { return FlowFraction(in["dialysate_flow"], in["blood_flow"]) },
		},
		{
			ID: "uf-rate-mean", Version: "1", Quantity: "mean UF rate", Key: "uf_rate_mean", Unit: "L/h", Decimals: 2,
			Formula: "uf_rate_mean = uf_removed/(treated_time/60)", Source: "definition", Range: "mean over the session",
			Inputs: need("uf_removed", "treated_time"),
			eval:   func(in Inputs) (float64, error) { return UFRate(in["uf_removed"], in["treated_time"]) },
			notes:  negativeUF,
		},
		{
			ID: "uf-time", Version: "1", Quantity: "time the UF goal takes at the set rate", Key: "uf_time", Unit: "min", Decimals: 0,
			Formula: "uf_time = 60*uf_goal/uf_rate", Source: "definition", Range: "constant UF rate",
			Inputs: need("uf_goal", "uf_rate"),
			eval:   func(in Inputs) (float64, error) { return UFTime(in["uf_goal"], in["uf_rate"]) },
		},
		{
			ID: "dialysate-needed", Version: "1", Quantity: "dialysate volume a dialysate-side Kt/V takes", Key: "dialysate_needed", Unit: "L", Decimals: 1,
			Formula: "dialysate_needed = dialysate_kt_v*total_body_water/dialysate_saturation - uf_removed", Source: "mass balance over the drained fluid",
			Range:  "shows what a Kt/V stands for; no prescription",
			Inputs: need("dialysate_kt_v", "total_body_water", "dialysate_saturation", "uf_removed"),
			eval: func(in Inputs) (float64, error) {
				return DialysateNeeded(in["dialysate_kt_v"], in["total_body_water"], in["dialysate_saturation"], in["uf_removed"])
			},
		},
		{
			ID: "weekly-hours", Version: "1", Quantity: "hours of treatment per week", Key: "weekly_hours", Unit: "h", Decimals: 1,
			Formula: "weekly_hours = treated_time/60*sessions_per_week", Source: "definition", Range: "mean length and rolling count of sessions",
			Inputs: need("treated_time", "sessions_per_week"),
			eval:   func(in Inputs) (float64, error) { return WeeklyHours(in["treated_time"], in["sessions_per_week"]) },
		},
		{
			ID: "haemodialysis-product", Version: "1", Quantity: "haemodialysis product", Key: "haemodialysis_product", Unit: "1", Decimals: 0,
			Formula: "haemodialysis_product = treated_time/60*sessions_per_week^2", Source: "Scribner and Oreopoulos 2002 (from memory)", Range: "compares schedules only",
			Inputs: need("treated_time", "sessions_per_week"),
			eval: func(in Inputs) (float64, error) {
				return HaemodialysisProduct(in["treated_time"], in["sessions_per_week"])
			},
		},
	}
}
