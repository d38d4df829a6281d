package calc

import (
	"slices"
	"strings"
	"sync"
)

// Values of the input "sex", as in the body-water formulas of the literature.
const (
	SexFemale = 0.0
	SexMale   = 1.0
)

// Vocabulary returns every input and output of the methods, with its name in
// words and its unit. The session log, the code table of the FHIR mapper and
// this package use the same keys.
func Vocabulary() []InputSpec { return slices.Clone(vocabulary[:]) }

// vocabulary is read-only.
var vocabulary = [...]InputSpec{
	{Key: "weight_before", Name: "weight before dialysis", Unit: "kg"},
	{Key: "weight_after", Name: "weight after dialysis", Unit: "kg"},
	{Key: "dry_weight", Name: "dry weight", Unit: "kg"},
	{Key: "previous_weight_after", Name: "weight after the previous session", Unit: "kg"},
	{Key: "height", Name: "height", Unit: "cm"},
	{Key: "age", Name: "age", Unit: "a"},
	{Key: "sex", Name: "sex (1 male, 0 female)", Unit: "1"},
	{Key: "diabetes", Name: "diabetes (1 yes, 0 no)", Unit: "1"},
	{Key: "missing_share", Name: "share of body weight missing after amputation", Unit: "1"},

	{Key: "uf_removed", Name: "fluid removed (UF volume)", Unit: "L"},
	{Key: "uf_goal", Name: "UF goal", Unit: "L"},
	{Key: "drinks", Name: "drinks during dialysis", Unit: "L"},
	{Key: "saline", Name: "saline given", Unit: "L"},
	{Key: "rinseback", Name: "rinse-back volume", Unit: "L"},
	{Key: "urine", Name: "urine passed during dialysis", Unit: "L"},
	{Key: "weekly_uf", Name: "fluid removed per week", Unit: "L"},
	{Key: "uf_rate", Name: "UF rate", Unit: "L/h"},
	{Key: "treated_time", Name: "treated time", Unit: "min"},
	{Key: "sessions_per_week", Name: "sessions per week", Unit: "/wk"},
	{Key: "preceding_interval", Name: "days since the previous session", Unit: "d"},

	{Key: "bp_systolic", Name: "systolic blood pressure", Unit: "mm[Hg]"},
	{Key: "bp_diastolic", Name: "diastolic blood pressure", Unit: "mm[Hg]"},
	{Key: "blood_flow", Name: "blood flow", Unit: "mL/min"},
	{Key: "blood_processed", Name: "blood processed", Unit: "L"},
	{Key: "dialysate_flow", Name: "dialysate flow", Unit: "mL/min"},
	{Key: "dialysate_volume", Name: "dialysate volume", Unit: "L"},
	{Key: "blood_inlet_pressure", Name: "pressure at the blood inlet of the dialyser", Unit: "mm[Hg]"},
	{Key: "blood_outlet_pressure", Name: "pressure at the blood outlet of the dialyser", Unit: "mm[Hg]"},
	{Key: "dialysate_inlet_pressure", Name: "pressure at the dialysate inlet of the dialyser", Unit: "mm[Hg]"},
	{Key: "dialysate_outlet_pressure", Name: "pressure at the dialysate outlet of the dialyser", Unit: "mm[Hg]"},
	{Key: "access_static_pressure", Name: "access pressure with the pump stopped", Unit: "mm[Hg]"},
	{Key: "access_height_offset", Name: "height offset of the access pressure", Unit: "mm[Hg]"},
	{Key: "access_zero_pressure", Name: "zero of the access pressure", Unit: "mm[Hg]"},
	{Key: "dialyser_koa", Name: "dialyser KoA for urea", Unit: "mL/min"},

	{Key: "urea_before", Name: "urea before dialysis", Unit: "mmol/L"},
	{Key: "urea_after", Name: "urea after dialysis", Unit: "mmol/L"},
	{Key: "urea_equilibrated", Name: "urea 30 min or more after dialysis", Unit: "mmol/L"},
	{Key: "urea_generation", Name: "urea nitrogen generation", Unit: "mg/min"},
	{Key: "catheter", Name: "vascular access (1 catheter, 0 fistula or graft)", Unit: "1"},
	{Key: "urea_systemic", Name: "systemic urea", Unit: "mmol/L"},
	{Key: "urea_arterial_line", Name: "urea in the arterial line", Unit: "mmol/L"},
	{Key: "urea_venous_line", Name: "urea in the venous line", Unit: "mmol/L"},
	{Key: "residual_urea_clearance", Name: "residual urea clearance", Unit: "mL/min"},

	{Key: "total_body_water", Name: "total body water", Unit: "L"},
	{Key: "body_surface_area", Name: "body surface area", Unit: "m2"},
	{Key: "bmi", Name: "body mass index", Unit: "kg/m2"},
	{Key: "uf_rate_per_kg", Name: "UF rate per kg", Unit: "mL/kg/h"},
	{Key: "uf_expected", Name: "UF volume expected from the weights", Unit: "L"},
	{Key: "uf_discrepancy", Name: "UF volume against the weights", Unit: "L"},
	{Key: "interdialytic_weight_gain", Name: "weight gain since the previous session", Unit: "kg"},
	{Key: "interdialytic_weight_gain_percent", Name: "weight gain in percent of the previous weight after", Unit: "%"},
	{Key: "target_miss", Name: "weight after against dry weight", Unit: "kg"},
	{Key: "mean_arterial_pressure", Name: "mean arterial pressure", Unit: "mm[Hg]"},
	{Key: "pulse_pressure", Name: "pulse pressure", Unit: "mm[Hg]"},
	{Key: "blood_processed_computed", Name: "blood processed, from flow and time", Unit: "L"},
	{Key: "urea_reduction_ratio", Name: "urea reduction ratio", Unit: "%"},
	{Key: "sp_kt_v", Name: "single-pool Kt/V", Unit: "1"},
	{Key: "e_kt_v", Name: "equilibrated Kt/V", Unit: "1"},
	{Key: "dialyser_clearance", Name: "dialyser clearance, estimated", Unit: "mL/min"},
	{Key: "dialysate_saturation", Name: "dialysate saturation", Unit: "1"},
	{Key: "dialysate_kt_v", Name: "dialysate-side Kt/V, estimated", Unit: "1"},
	{Key: "std_kt_v_weekly", Name: "weekly standard Kt/V", Unit: "1"},
	{Key: "std_kt_v_weekly_surface", Name: "surface-normalised weekly standard Kt/V", Unit: "1"},
	{Key: "std_kt_per_surface", Name: "weekly standard Kt per surface area", Unit: "L/m2"},
	{Key: "continuous_clearance", Name: "continuous clearance equal to the weekly dose", Unit: "mL/min"},
	{Key: "ekr", Name: "equivalent renal urea clearance", Unit: "mL/min"},
	{Key: "ekr_corrected", Name: "equivalent renal urea clearance at 40 L", Unit: "mL/min"},
	{Key: "std_ekr_weekly", Name: "equivalent renal clearance as weekly Kt/V", Unit: "1"},
	{Key: "nominal_kt_v", Name: "Kt/V from nominal clearance", Unit: "1"},
	{Key: "urea_rebound", Name: "urea rebound", Unit: "%"},
	{Key: "npcr", Name: "normalised protein catabolic rate", Unit: "g/kg/d"},
	{Key: "flow_fraction", Name: "dialysate flow over blood flow", Unit: "%"},
	{Key: "dialysate_needed", Name: "dialysate volume a Kt/V takes", Unit: "L"},
	{Key: "planned_time", Name: "time the dialysate lasts", Unit: "min"},
	{Key: "uf_time", Name: "time the UF volume takes", Unit: "min"},
	{Key: "uf_rate_mean", Name: "mean UF rate", Unit: "L/h"},
	{Key: "weekly_hours", Name: "hours of treatment per week", Unit: "h"},
	{Key: "haemodialysis_product", Name: "haemodialysis product", Unit: "1"},
	{Key: "access_recirculation", Name: "access recirculation", Unit: "%"},
	{Key: "static_pressure_ratio", Name: "static access pressure ratio", Unit: "1"},
	{Key: "transmembrane_pressure", Name: "transmembrane pressure, from line pressures", Unit: "mm[Hg]"},
	{Key: "weight_before_amputation", Name: "weight corrected for a missing limb", Unit: "kg"},
	{Key: "time_averaged_urea", Name: "time-averaged urea nitrogen in body water", Unit: "mg/dL"},
	{Key: "time_averaged_urea_plasma", Name: "time-averaged urea", Unit: "mmol/L"},
	{Key: "mean_urea_before_plasma", Name: "mean urea before dialysis", Unit: "mmol/L"},
	{Key: "sessions_counted", Name: "sessions of the week with a record", Unit: "/wk"},
	{Key: "weekly_treated_time", Name: "treated time of the week", Unit: "min"},
	{Key: "sessions_done", Name: "sessions done in the week", Unit: "/wk"},
	{Key: "sessions_planned", Name: "sessions planned for the week", Unit: "/wk"},
	{Key: "hours_done", Name: "hours treated in the week", Unit: "h"},
	{Key: "uf_done", Name: "fluid removed in the week", Unit: "L"},
	{Key: "mean_urea_before", Name: "mean urea nitrogen before dialysis in body water", Unit: "mg/dL"},
}

var vocabularyIndex = sync.OnceValue(func() map[string]int {
	index := make(map[string]int, len(vocabulary))
	for i, spec := range vocabulary {
		index[spec.Key] = i
	}
	return index
})

// Spec returns the input or output with a key. One outside the vocabulary has
// its key as name and no unit.
func Spec(key string) InputSpec {
	if i, ok := vocabularyIndex()[key]; ok {
		return vocabulary[i]
	}
	return InputSpec{Key: key, Name: key}
}

// need lists the inputs of a method by key; a leading "?" marks an optional
// one. A test rejects a key outside the vocabulary.
func need(keys ...string) []InputSpec {
	specs := make([]InputSpec, 0, len(keys))
	for _, key := range keys {
		name, optional := strings.CutPrefix(key, "?")
		spec := Spec(name)
		spec.Optional = optional
		specs = append(specs, spec)
	}
	return specs
}
