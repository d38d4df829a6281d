package calc

import "fmt"

func equivalentMethods() []Method {
	const daugirdas2008 = "Daugirdas et al 2008, PMC2692381"
	const casino = "Casino and Lopez, Nephrol Dial Transplant 1996;11:1574"
	surface := func(id string, reference float64, source, who string) Method {
		return Method{
			ID: id, Version: "1", Quantity: "surface-normalised weekly standard Kt/V", Key: "std_kt_v_weekly_surface", Unit: "1", Decimals: 2,
			Formula: fmt.Sprintf("std_kt_v_weekly_surface = std_kt_v_weekly*total_body_water/body_surface_area/%g", reference),
			Source:  source, Range: who + "; anthropometric body water; the value is per week",
			Inputs: need("std_kt_v_weekly", "total_body_water", "body_surface_area"),
			eval: func(in Inputs) (float64, error) {
				return SANStdKtV(in["std_kt_v_weekly"], in["total_body_water"], in["body_surface_area"], reference)
			},
		}
	}
	return []Method{
		surface("san-stdktv", AdultVolumePerSurface, daugirdas2008, "adults, 20 L/m2"),
		surface("san-stdktv-child", ChildVolumePerSurface, "PMC2863971", "children, 17.5 L/m2"),
		{
			ID: "stdkt-per-surface", Version: "1", Quantity: "weekly standard Kt per surface area", Key: "std_kt_per_surface", Unit: "L/m2", Decimals: 1,
			Formula: "std_kt_per_surface = std_kt_v_weekly*total_body_water/body_surface_area", Source: daugirdas2008,
			Range:  "the value is per week; 40 L/m2 corresponds to 2.0 in adults",
			Inputs: need("std_kt_v_weekly", "total_body_water", "body_surface_area"),
			eval: func(in Inputs) (float64, error) {
				return StdKtPerSurface(in["std_kt_v_weekly"], in["total_body_water"], in["body_surface_area"])
			},
		},
		{
			ID: "continuous-clearance", Version: "1", Quantity: "continuous clearance equal to the weekly dose", Key: "continuous_clearance", Unit: "mL/min", Decimals: 1,
			Formula: "continuous_clearance = std_kt_v_weekly*1000*total_body_water/10080", Source: "definition", Range: "any schedule",
			Inputs: need("std_kt_v_weekly", "total_body_water"),
			eval: func(in Inputs) (float64, error) {
				return ContinuousClearance(in["std_kt_v_weekly"], in["total_body_water"])
			},
		},
		{
			ID: "ekr-corrected", Version: "1", Quantity: "equivalent renal urea clearance at 40 L", Key: "ekr_corrected", Unit: "mL/min", Decimals: 1,
			Formula: "ekr_corrected = ekr*40/total_body_water", Source: casino, Range: "any schedule",
			Inputs: need("ekr", "total_body_water"),
			eval:   func(in Inputs) (float64, error) { return EKRCorrected(in["ekr"], in["total_body_water"]) },
		},
		{
			ID: "ekrc-thrice-weekly", Version: "1", Quantity: "equivalent renal urea clearance at 40 L", Key: "ekr_corrected", Unit: "mL/min", Decimals: 1,
			Formula: "ekr_corrected = 1 + 10*sp_kt_v", Source: casino, Range: "three sessions a week, no residual clearance; runs above the model at higher dose (15 against 14.4 at 1.4)",
			Inputs: need("sp_kt_v"),
			eval:   func(in Inputs) (float64, error) { return EKRcThriceWeekly(in["sp_kt_v"]) },
		},
		{
			ID: "std-ekr", Version: "1", Quantity: "equivalent renal clearance as weekly Kt/V", Key: "std_ekr_weekly", Unit: "1", Decimals: 2,
			Formula: "std_ekr_weekly = ekr*10080/(1000*total_body_water)", Source: "definition", Range: "the value is per week; lies above standard Kt/V, which refers to urea before dialysis",
			Inputs: need("ekr", "total_body_water"),
			eval:   func(in Inputs) (float64, error) { return StdEKR(in["ekr"], in["total_body_water"]) },
		},
	}
}
