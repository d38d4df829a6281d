package issue

// limitRow is one row of the table: the fields it governs, their limits, and
// whom and what they are for.
type limitRow struct {
	fields []string
	limit  Limit
	scope  scope
}

var (
	anyone = scope{}
	perKg  = scope{perKg: true}
	// childPerKg is perKg below 18 years.
	childPerKg = scope{age: band{0, 18}, perKg: true}
)

// aged is from an age in years until below another; 0 is without end.
func aged(from, below float64) scope { return scope{age: band{from, below}} }

// lasting is for sessions from a length in minutes until below another.
func lasting(from, below float64) scope { return scope{minutes: band{from, below}} }

// Fields that share their limits.
var (
	weights   = []string{"weight_before", "weight_after", "dry_weight"}
	systolic  = []string{"bp_systolic", "bp_before_systolic", "bp_before_standing_systolic", "bp_after_systolic", "bp_after_standing_systolic"}
	diastolic = []string{"bp_diastolic", "bp_before_diastolic", "bp_before_standing_diastolic", "bp_after_diastolic", "bp_after_standing_diastolic"}
	ufVolumes = []string{"uf_goal", "uf_removed", "uf_so_far"}
	gain      = []string{"interdialytic_weight_gain_percent"}
)

const (
	mimicExtract   = "hard: MIMIC-Extract valid range (Wang 2020); soft: common practice"
	mimicHigh      = "hard high: MIMIC-Extract valid high (Wang 2020); rest common practice"
	commonLimits   = "common practice"
	ureaPerBUN     = 0.357 // mmol/L urea for each mg/dL urea nitrogen
	forChildren    = "common practice, wide: children on dialysis are often small for their age"
	computedLimits = "common practice; a computed value is judged by its inputs"
	ureaAfter      = "hard: MIMIC-Extract valid range (Wang 2020), as urea; soft: common practice, by length"
	ureaRatioOf    = "common practice, by length; short daily sessions reach 0.65"
	gains          = "soft high: DOPPS, as cited by Dantas 2019, and 1 % for each day beyond two; rest common practice"
	ureaFromBUNOf  = "from urea nitrogen x 0.357; " + mimicExtract
)

// limitRows is the table. Of the rows of a field the first that fits the
// circumstances holds, so narrower rows stand before wider ones.
var limitRows = []limitRow{
	{weights, Limit{"", "kg", 3, 60, 5, 18, forChildren}, aged(0, 2)},
	{weights, Limit{"", "kg", 3, 100, 7, 40, forChildren}, aged(2, 6)},
	{weights, Limit{"", "kg", 5, 200, 11, 90, forChildren}, aged(6, 12)},
	{weights, Limit{"", "kg", 8, 300, 18, 150, forChildren}, aged(12, 18)},
	{weights, Limit{"", "kg", 8, 340.2, 35, 180, "hard high: Chan & Raffa 2017; rest common practice"}, aged(18, 0)},
	{[]string{"height"}, Limit{"", "cm", 40, 150, 50, 100, forChildren}, aged(0, 2)},
	{[]string{"height"}, Limit{"", "cm", 50, 180, 65, 135, forChildren}, aged(2, 6)},
	{[]string{"height"}, Limit{"", "cm", 60, 220, 85, 175, forChildren}, aged(6, 12)},
	{[]string{"height"}, Limit{"", "cm", 70, 240, 105, 205, mimicHigh}, aged(12, 18)},
	{[]string{"height"}, Limit{"", "cm", 70, 240, 140, 205, mimicHigh}, aged(18, 0)},
	{[]string{"bmi"}, Limit{"", "kg/m2", 5, 120, 5, 120, computedLimits}, anyone},
	{systolic, Limit{"", "mm[Hg]", 30, 300, 60, 180, forChildren}, aged(0, 12)},
	{systolic, Limit{"", "mm[Hg]", 30, 300, 90, 200, "common practice, for cuff devices"}, anyone},
	{diastolic, Limit{"", "mm[Hg]", 10, 200, 25, 120, forChildren}, aged(0, 12)},
	{diastolic, Limit{"", "mm[Hg]", 10, 200, 40, 120, "common practice, for cuff devices"}, anyone},
	{[]string{"mean_arterial_pressure"}, Limit{"", "mm[Hg]", 14, 330, 14, 330, mimicExtract + "; " + computedLimits}, anyone},
	{[]string{"pulse"}, Limit{"", "/min", 20, 350, 50, 180, forChildren}, aged(0, 6)},
	{[]string{"pulse"}, Limit{"", "/min", 20, 350, 45, 150, forChildren}, aged(6, 18)},
	{[]string{"pulse"}, Limit{"", "/min", 20, 350, 45, 130, mimicHigh}, anyone},
	{[]string{"temperature"}, Limit{"", "Cel", 26, 45, 35, 38, mimicExtract}, anyone},
	{[]string{"oxygen_saturation"}, Limit{"", "%", 40, 100, 90, 100, "hard high: physical; rest common practice"}, anyone},
	{[]string{"blood_flow"}, Limit{"", "mL/min", 0, 700, 20, 400, forChildren}, aged(0, 18)},
	{[]string{"blood_flow"}, Limit{"", "mL/min", 0, 700, 150, 500, commonLimits}, anyone},
	{[]string{"dialysate_flow"}, Limit{"", "mL/min", 0, 1000, 80, 800, commonLimits}, anyone},
	{[]string{"dialysate_volume"}, Limit{"", "L", 1, 400, 5, 200, forChildren}, aged(0, 18)},
	{[]string{"dialysate_volume"}, Limit{"", "L", 1, 400, 15, 200, commonLimits}, anyone},
	{[]string{"treated_time", "session_duration"}, Limit{"", "min", 1, 960, 90, 600, commonLimits}, anyone},
	{ufVolumes, Limit{"", "L", 0, 0.25, 0, 0.1, forChildren}, childPerKg},
	{ufVolumes, Limit{"", "L", 0, 0.14, 0, 0.06, "common practice: 60 mL/kg, near the mark of 5.7 % for gains (DOPPS, as cited by Dantas 2019)"}, perKg},
	{ufVolumes, Limit{"", "L", 0, 10, 0, 4, commonLimits}, anyone},
	{[]string{"uf_rate_per_kg"}, Limit{"", "mL/kg/h", 0, 70, 0, 70, computedLimits + "; published marks of 10 and 13 are about health and stand with the figures"}, anyone},
	{[]string{"venous_line_pressure"}, Limit{"", "mm[Hg]", -100, 500, 20, 250, "common practice, the span of displays"}, anyone},
	{[]string{"arterial_line_pressure"}, Limit{"", "mm[Hg]", -400, 200, -250, -20, "soft low: Shibata 2015; the European guideline of 2002 warns beyond -150; hard: common practice"}, anyone},
	{[]string{"transmembrane_pressure"}, Limit{"", "mm[Hg]", -100, 600, 0, 300, commonLimits}, anyone},
	{[]string{"check_chlorine"}, Limit{"", "mg/L", 0, 100, 0, 0.1, "ISO 23500-3 and ANSI/AAMI 23500-3, total chlorine (memory)"}, anyone},
	{[]string{"check_hardness"}, Limit{"", "mg/L", 0, 2000, 0, 17.1, "1 grain per gallon behind a softener (common practice, memory)"}, anyone},
	{[]string{"dialysate_conductivity", "check_conductivity", "check_dialysate_batch"}, Limit{"", "mS/cm", 10, 18, 12.8, 15.7, commonLimits}, anyone},
	{[]string{"dialysate_temperature"}, Limit{"", "Cel", 33, 42, 35, 38.5, "hard: IEC 60601-2-16 protective limits, from memory; soft: common practice"}, anyone},
	{[]string{"dialysate_sodium"}, Limit{"", "mmol/L", 120, 160, 130, 145, commonLimits}, anyone},
	{[]string{"dialysate_potassium"}, Limit{"", "mmol/L", 0, 5, 1, 4, commonLimits}, anyone},
	{[]string{"dialysate_calcium"}, Limit{"", "mmol/L", 0, 2.5, 1, 1.75, commonLimits}, anyone},
	{[]string{"dialysate_bicarbonate", "dialysate_lactate"}, Limit{"", "mmol/L", 15, 50, 25, 45, commonLimits}, anyone},
	{[]string{"bun_after"}, Limit{"", "mg/dL", 0, 250, 2, 90, ureaAfter}, lasting(300, 0)},
	{[]string{"bun_after"}, Limit{"", "mg/dL", 0, 250, 4, 110, ureaAfter}, anyone},
	{[]string{"bun"}, Limit{"", "mg/dL", 0, 250, 10, 150, mimicExtract}, anyone},
	{[]string{"urea_after"}, Limit{"", "mmol/L", 0, 250 * ureaPerBUN, 2 * ureaPerBUN, 90 * ureaPerBUN, ureaAfter}, lasting(300, 0)},
	{[]string{"urea_after"}, Limit{"", "mmol/L", 0, 250 * ureaPerBUN, 4 * ureaPerBUN, 110 * ureaPerBUN, ureaAfter}, anyone},
	{[]string{"urea"}, Limit{"", "mmol/L", 0, 250 * ureaPerBUN, 10 * ureaPerBUN, 150 * ureaPerBUN, ureaFromBUNOf}, anyone},
	{[]string{"potassium"}, Limit{"", "mmol/L", 0.5, 12, 3, 6.5, mimicHigh}, anyone},
	{[]string{"haemoglobin"}, Limit{"", "g/dL", 1, 25, 7, 16, mimicHigh}, anyone},
	{[]string{"phosphate"}, Limit{"", "mg/dL", 0.5, 20, 2, 10, mimicExtract}, anyone},
	{[]string{"calcium"}, Limit{"", "mmol/L", 0.4, 5, 1.7, 3, commonLimits}, anyone},
	{[]string{"magnesium"}, Limit{"", "mmol/L", 0.2, 5, 0.5, 1.8, commonLimits}, anyone},
	{[]string{"albumin"}, Limit{"", "g/L", 5, 80, 20, 55, commonLimits}, anyone},
	{[]string{"urea_ratio"}, Limit{"", "1", 0, 1, 0.08, 0.75, ureaRatioOf}, lasting(300, 0)},
	{[]string{"urea_ratio"}, Limit{"", "1", 0, 1, 0.15, 0.75, ureaRatioOf}, lasting(180, 300)},
	{[]string{"urea_ratio"}, Limit{"", "1", 0, 1, 0.15, 0.85, ureaRatioOf}, lasting(0, 180)},
	{[]string{"clearance_factor"}, Limit{"", "1", 0, 10, 0.4, 1.4, "common practice: fitted against expected clearance; a faulty access or a sample from the wrong place lies outside"}, anyone},
	{[]string{"sp_kt_v", "sp_kt_v_interval"}, Limit{"", "1", 0, 5, 0, 5, computedLimits}, anyone},
	{[]string{"std_kt_v_weekly"}, Limit{"", "1", 0, 12, 0, 12, computedLimits}, anyone},
	{[]string{"npcr"}, Limit{"", "g/kg/d", 0, 10, 0.3, 4, forChildren}, aged(0, 18)},
	{[]string{"npcr"}, Limit{"", "g/kg/d", 0, 10, 0.35, 2, commonLimits}, anyone},
	{[]string{"blood_processed"}, Limit{"", "L", 0, 400, 3, 150, forChildren}, aged(0, 18)},
	{[]string{"blood_processed"}, Limit{"", "L", 0, 400, 15, 150, commonLimits}, anyone},
	{[]string{"heparin_total"}, Limit{"", "[iU]", 0, 1500, 0, 350, forChildren}, childPerKg},
	{[]string{"heparin_total"}, Limit{"", "[iU]", 0, 30000, 0, 12000, "common practice; low-molecular-weight heparins are dosed in other units"}, anyone},
	{gain, Limit{"", "%", -15, 25, -3, 10, forChildren}, aged(0, 18)},
	{gain, Limit{"", "%", -10, 20, -2, 5.7, gains}, scope{days: band{0, 2.5}}},
	{gain, Limit{"", "%", -10, 20, -2, 6.7, gains}, scope{days: band{2.5, 3.5}}},
	{gain, Limit{"", "%", -10, 20, -2, 7.7, gains}, anyone},
	// Fields the published tables do not have; all common practice.
	{[]string{"drinks", "saline", "rinseback", "urine"}, Limit{"", "L", 0, 10, 0, 2.5, commonLimits}, anyone},
	{[]string{"uf_rate"}, Limit{"", "L/h", 0, 0.15, 0, 0.05, forChildren}, childPerKg},
	{[]string{"uf_rate"}, Limit{"", "L/h", 0, 0.07, 0, 0.03, commonLimits}, perKg},
	{[]string{"uf_rate"}, Limit{"", "L/h", 0, 5, 0, 2, commonLimits}, anyone},
	{[]string{"recovery_time"}, Limit{"", "min", 0, 10080, 0, 2880, commonLimits}, anyone},
	{[]string{"creatinine"}, Limit{"", "umol/L", 5, 4000, 30, 1500, forChildren}, aged(0, 18)},
	{[]string{"creatinine"}, Limit{"", "umol/L", 5, 4000, 100, 2000, commonLimits}, anyone},
	{[]string{"sodium"}, Limit{"", "mmol/L", 90, 200, 125, 150, commonLimits}, anyone},
	{[]string{"bicarbonate"}, Limit{"", "mmol/L", 2, 60, 14, 38, commonLimits}, anyone},
	{[]string{"dialyser_koa"}, Limit{"", "mL/min", 50, 4000, 100, 2200, forChildren}, aged(0, 18)},
	{[]string{"dialyser_koa"}, Limit{"", "mL/min", 100, 4000, 300, 2200, commonLimits}, anyone},
	{[]string{"residual_urea_clearance"}, Limit{"", "mL/min", 0, 60, 0, 15, commonLimits}, anyone},
	{[]string{"sessions_per_week"}, Limit{"", "/wk", 0.25, 14, 1, 7, commonLimits}, anyone},
	{[]string{"uf_limit"}, Limit{"", "mL/kg/h", 1, 40, 4, 15, commonLimits}, anyone},
}
