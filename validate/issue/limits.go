package issue

import (
	"slices"
	"sync"
)

// Limit is what values of one field can be (hard) and usually are (soft).
// Outside the hard limits a value is impossible or a slip of the pen; outside
// the soft ones it is worth a second look. The limits are inclusive. They
// judge plausibility only and say nothing about treatment.
type Limit struct {
	// Field is the name shared with the log's columns and the code table.
	Field string
	// Unit is the UCUM code the limits are in.
	Unit              string
	HardLow, HardHigh float64
	SoftLow, SoftHigh float64
	// Source is the paper or data set, or "common practice".
	Source string
}

// Impossible reports whether a value in the limit's unit is outside the hard
// limits.
func (l Limit) Impossible(value float64) bool { return value < l.HardLow || value > l.HardHigh }

// Unusual reports whether a value in the limit's unit is outside the soft
// limits.
func (l Limit) Unusual(value float64) bool { return value < l.SoftLow || value > l.SoftHigh }

// LimitOf returns the limits of a field.
func LimitOf(field string) (Limit, bool) {
	l, ok := limitTable().byField[field]
	return l, ok
}

// Limits returns the limits of every field, in the order of the table. The
// slice is the caller's own.
func Limits() []Limit { return slices.Clone(limitTable().ordered) }

type limits struct {
	ordered []Limit
	byField map[string]Limit
}

var limitTable = sync.OnceValue(func() limits {
	t := limits{byField: map[string]Limit{}}
	for _, row := range limitRows {
		for _, field := range row.fields {
			l := row.limit
			l.Field = field
			if _, twice := t.byField[field]; twice {
				panic("issue: field " + field + " has two limits")
			}
			t.byField[field] = l
			t.ordered = append(t.ordered, l)
		}
	}
	return t
})

const (
	chanRaffa     = "hard: Chan & Raffa 2017; soft: common practice"
	mimicExtract  = "hard: MIMIC-Extract valid range (Wang 2020); soft: common practice"
	mimicHigh     = "hard high: MIMIC-Extract valid high (Wang 2020); rest common practice"
	commonLimits  = "common practice"
	ureaPerBUN    = 0.357 // mmol/L urea for each mg/dL urea nitrogen
	litresPerMl   = 0.001
	ureaFromBUNOf = "from urea nitrogen x 0.357; " + mimicExtract
)

// limitRows is the table: one row for each kind of measurement, with the
// fields it governs.
var limitRows = []struct {
	fields []string
	limit  Limit
}{
	{[]string{"weight_before", "weight_after", "dry_weight"},
		Limit{"", "kg", 22.7, 340.2, 35, 180, chanRaffa}},
	{[]string{"height"}, Limit{"", "cm", 100, 240, 140, 205, mimicHigh}},
	{[]string{"bmi"}, Limit{"", "kg/m2", 10, 100, 15, 50, chanRaffa}},
	{[]string{"bp_systolic", "bp_before_systolic", "bp_before_standing_systolic", "bp_after_systolic", "bp_after_standing_systolic"},
		Limit{"", "mm[Hg]", 30, 300, 90, 200, "common practice, for cuff devices"}},
	{[]string{"bp_diastolic", "bp_before_diastolic", "bp_before_standing_diastolic", "bp_after_diastolic", "bp_after_standing_diastolic"},
		Limit{"", "mm[Hg]", 10, 200, 40, 120, "common practice, for cuff devices"}},
	{[]string{"mean_arterial_pressure"}, Limit{"", "mm[Hg]", 14, 330, 55, 140, mimicExtract}},
	{[]string{"pulse", "pulse_before", "pulse_after"}, Limit{"", "/min", 20, 350, 45, 130, mimicHigh}},
	{[]string{"temperature_before", "temperature_after"}, Limit{"", "Cel", 26, 45, 35, 38, mimicExtract}},
	{[]string{"oxygen_saturation"}, Limit{"", "%", 40, 100, 90, 100, "hard high: physical; rest common practice"}},
	{[]string{"blood_flow"}, Limit{"", "mL/min", 0, 700, 150, 500, commonLimits}},
	{[]string{"dialysate_flow"}, Limit{"", "mL/min", 0, 1000, 80, 800, commonLimits}},
	{[]string{"dialysate_volume"}, Limit{"", "L", 1, 400, 15, 200, commonLimits}},
	{[]string{"treated_time", "session_duration"}, Limit{"", "min", 1, 960, 90, 600, commonLimits}},
	{[]string{"uf_goal", "uf_removed", "uf_so_far"},
		Limit{"", "L", 0, 10000 * litresPerMl, 0, 4000 * litresPerMl, commonLimits}},
	{[]string{"uf_rate_per_kg"}, Limit{"", "mL/kg/h", 0, 40, 0, 10, "soft: Assimon 2016, with 13 as the stronger mark (Flythe 2011, Saran 2006 from memory); hard: common practice"}},
	{[]string{"venous_line_pressure"}, Limit{"", "mm[Hg]", -100, 500, 20, 250, "common practice, the span of displays"}},
	{[]string{"arterial_line_pressure"}, Limit{"", "mm[Hg]", -400, 200, -250, -20, "soft low: Shibata 2015; the European guideline of 2002 warns beyond -150; hard: common practice"}},
	{[]string{"transmembrane_pressure"}, Limit{"", "mm[Hg]", -100, 600, 0, 300, commonLimits}},
	{[]string{"dialysate_conductivity"}, Limit{"", "mS/cm", 10, 18, 12.8, 15.7, commonLimits}},
	{[]string{"dialysate_temperature"}, Limit{"", "Cel", 33, 42, 35, 38.5, "hard: IEC 60601-2-16 protective limits, from memory; soft: common practice"}},
	{[]string{"dialysate_sodium"}, Limit{"", "mmol/L", 120, 160, 130, 145, commonLimits}},
	{[]string{"dialysate_potassium"}, Limit{"", "mmol/L", 0, 5, 1, 4, commonLimits}},
	{[]string{"dialysate_calcium"}, Limit{"", "mmol/L", 0, 2.5, 1, 1.75, commonLimits}},
	{[]string{"dialysate_bicarbonate", "dialysate_lactate"}, Limit{"", "mmol/L", 15, 50, 25, 45, commonLimits}},
	{[]string{"bun", "bun_before", "bun_after"}, Limit{"", "mg/dL", 0, 250, 10, 150, mimicExtract}},
	{[]string{"urea", "urea_before", "urea_after"}, Limit{"", "mmol/L", 0, 250 * ureaPerBUN, 10 * ureaPerBUN, 150 * ureaPerBUN, ureaFromBUNOf}},
	{[]string{"potassium", "potassium_before", "potassium_after"}, Limit{"", "mmol/L", 0.5, 12, 3, 6.5, mimicHigh}},
	{[]string{"haemoglobin", "haemoglobin_before", "haemoglobin_after"}, Limit{"", "g/dL", 1, 25, 7, 16, mimicHigh}},
	{[]string{"phosphate", "phosphate_before", "phosphate_after"}, Limit{"", "mg/dL", 0.5, 20, 2, 10, mimicExtract}},
	{[]string{"urea_ratio"}, Limit{"", "1", 0.05, 1, 0.15, 0.75, "common practice; a ratio of 1 or more means swapped or mislabelled samples"}},
	{[]string{"sp_kt_v"}, Limit{"", "1", 0.05, 5, 0.3, 2.5, commonLimits}},
	{[]string{"std_kt_v_weekly"}, Limit{"", "1", 0.2, 12, 1.5, 7, commonLimits}},
	{[]string{"npcr"}, Limit{"", "g/kg/d", 0.1, 4, 0.5, 2, commonLimits}},
	{[]string{"blood_processed"}, Limit{"", "L", 0, 400, 15, 150, commonLimits}},
	{[]string{"heparin_total"}, Limit{"", "[iU]", 0, 30000, 0, 12000, "common practice; low-molecular-weight heparins are dosed in other units"}},
	{[]string{"interdialytic_weight_gain_percent"}, Limit{"", "%", -5, 15, -1, 4.5, "soft: Cabrera 2015 (3.5), Dantas 2019 (4), DOPPS (5.7); hard: common practice"}},
	// Fields the published tables do not have; all common practice.
	{[]string{"drinks", "saline", "rinseback", "urine"}, Limit{"", "L", 0, 10, 0, 2.5, commonLimits}},
	{[]string{"uf_rate"}, Limit{"", "L/h", 0, 5, 0, 2, commonLimits}},
	{[]string{"recovery_time"}, Limit{"", "min", 0, 10080, 0, 2880, commonLimits}},
	{[]string{"creatinine", "creatinine_before", "creatinine_after"}, Limit{"", "umol/L", 5, 4000, 100, 2000, commonLimits}},
	{[]string{"sodium", "sodium_before", "sodium_after"}, Limit{"", "mmol/L", 90, 200, 125, 150, commonLimits}},
	{[]string{"bicarbonate", "bicarbonate_before", "bicarbonate_after"}, Limit{"", "mmol/L", 2, 60, 14, 38, commonLimits}},
	{[]string{"dialyser_koa"}, Limit{"", "mL/min", 100, 4000, 300, 2200, commonLimits}},
	{[]string{"residual_urea_clearance"}, Limit{"", "mL/min", 0, 60, 0, 15, commonLimits}},
	{[]string{"sessions_per_week"}, Limit{"", "/wk", 0.25, 14, 2, 7, commonLimits}},
	{[]string{"uf_limit"}, Limit{"", "mL/kg/h", 1, 40, 4, 15, commonLimits}},
}
