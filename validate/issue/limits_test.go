package issue

import (
	"encoding/json"
	"math"
	"os"
	"testing"
)

type plausibilityRow struct {
	Field    string  `json:"field"`
	Unit     string  `json:"unit"`
	HardLow  float64 `json:"hard_low"`
	HardHigh float64 `json:"hard_high"`
	SoftLow  float64 `json:"soft_low"`
	SoftHigh float64 `json:"soft_high"`
}

// rowFields names, for each row of the reference data, the fields that must
// carry its limits and the factor from the row's unit to theirs.
var rowFields = map[string]struct {
	fields []string
	factor float64
}{
	"body weight (pre/post/target)":    {[]string{"weight_before", "weight_after", "dry_weight"}, 1},
	"body height":                      {[]string{"height"}, 1},
	"BMI":                              {[]string{"bmi"}, 1},
	"systolic BP":                      {[]string{"bp_systolic", "bp_before_systolic", "bp_before_standing_systolic", "bp_after_systolic", "bp_after_standing_systolic"}, 1},
	"diastolic BP":                     {[]string{"bp_diastolic", "bp_before_diastolic", "bp_before_standing_diastolic", "bp_after_diastolic", "bp_after_standing_diastolic"}, 1},
	"mean arterial pressure":           {[]string{"mean_arterial_pressure"}, 1},
	"heart rate":                       {[]string{"pulse", "pulse_before", "pulse_after"}, 1},
	"body temperature":                 {[]string{"temperature_before", "temperature_after"}, 1},
	"SpO2":                             {[]string{"oxygen_saturation"}, 1},
	"blood flow Qb":                    {[]string{"blood_flow"}, 1},
	"dialysate flow Qd":                {[]string{"dialysate_flow"}, 1},
	"dialysate volume per session":     {[]string{"dialysate_volume"}, 1},
	"session duration":                 {[]string{"treated_time", "session_duration"}, 1},
	"UF volume":                        {[]string{"uf_goal", "uf_removed", "uf_so_far"}, 0.001},
	"UF rate":                          {[]string{"uf_rate_per_kg"}, 1},
	"venous pressure":                  {[]string{"venous_line_pressure"}, 1},
	"arterial (pre-pump) pressure":     {[]string{"arterial_line_pressure"}, 1},
	"TMP":                              {[]string{"transmembrane_pressure"}, 1},
	"dialysate conductivity":           {[]string{"dialysate_conductivity"}, 1},
	"dialysate temperature":            {[]string{"dialysate_temperature"}, 1},
	"dialysate sodium":                 {[]string{"dialysate_sodium"}, 1},
	"dialysate potassium":              {[]string{"dialysate_potassium"}, 1},
	"dialysate calcium":                {[]string{"dialysate_calcium"}, 1},
	"dialysate bicarbonate or lactate": {[]string{"dialysate_bicarbonate", "dialysate_lactate"}, 1},
	"BUN":                              {[]string{"bun", "bun_before", "bun_after"}, 1},
	"serum potassium":                  {[]string{"potassium", "potassium_before", "potassium_after"}, 1},
	"haemoglobin":                      {[]string{"haemoglobin", "haemoglobin_before", "haemoglobin_after"}, 1},
	"phosphate":                        {[]string{"phosphate", "phosphate_before", "phosphate_after"}, 1},
	"post/pre urea ratio R":            {[]string{"urea_ratio"}, 1},
	"spKt/V per session":               {[]string{"sp_kt_v"}, 1},
	"stdKt/V":                          {[]string{"std_kt_v_weekly"}, 1},
	"nPCR":                             {[]string{"npcr"}, 1},
	"blood volume processed":           {[]string{"blood_processed"}, 1},
	"heparin, total per session":       {[]string{"heparin_total"}, 1},
	"IDWG":                             {[]string{"interdialytic_weight_gain_percent"}, 1},
}

// unitOf maps the units that the reference data writes in words, and the two
// we keep in another unit, to the UCUM code of the table.
var unitOf = map[string]string{"mL": "L", "/wk": "1", "% of previous post-weight": "%"}

func TestLimitsAgreeWithTheReferenceData(t *testing.T) {
	data, err := os.ReadFile("../../testdata/plausibility.json")
	if err != nil {
		t.Fatal(err)
	}
	var rows []plausibilityRow
	if err := json.Unmarshal(data, &rows); err != nil {
		t.Fatal(err)
	}
	if len(rows) != len(rowFields) {
		t.Fatalf("%d rows in the data, %d mapped", len(rows), len(rowFields))
	}
	checked := 0
	published := map[string]bool{}
	for _, row := range rows {
		mapped, ok := rowFields[row.Field]
		if !ok {
			t.Errorf("row %q has no fields", row.Field)
		}
		unit := row.Unit
		if u, ok := unitOf[unit]; ok {
			unit = u
		}
		for _, field := range mapped.fields {
			checked++
			published[field] = true
			want := [4]float64{row.HardLow * mapped.factor, row.HardHigh * mapped.factor, row.SoftLow * mapped.factor, row.SoftHigh * mapped.factor}
			checkLimit(t, field, unit, want)
		}
	}
	// Urea is urea nitrogen in other clothes: 1 mg/dL of nitrogen is 0.357 mmol/L.
	for _, field := range []string{"urea", "urea_before", "urea_after"} {
		checked++
		checkLimit(t, field, "mmol/L", [4]float64{0, 89.25, 3.57, 53.55})
	}
	for _, l := range Limits() {
		if l.Source == commonLimits && !published[l.Field] {
			checked++
		}
		if !(l.HardLow <= l.SoftLow && l.SoftLow < l.SoftHigh && l.SoftHigh <= l.HardHigh) {
			t.Errorf("%s: limits out of order: %+v", l.Field, l)
		}
	}
	if all := len(Limits()); all != checked {
		t.Errorf("%d limits in the table, %d compared", all, checked)
	}
}

func checkLimit(t *testing.T, field, unit string, want [4]float64) {
	t.Helper()
	l, ok := LimitOf(field)
	if !ok {
		t.Errorf("no limit for %s", field)
		return
	}
	got := [4]float64{l.HardLow, l.HardHigh, l.SoftLow, l.SoftHigh}
	for i := range got {
		if math.Abs(got[i]-want[i]) > 1e-9 {
			t.Errorf("%s: limits %v, want %v", field, got, want)
			break
		}
	}
	if l.Unit != unit || l.Field != field || l.Source == "" {
		t.Errorf("%s: unit %q field %q source %q, want unit %q", field, l.Unit, l.Field, l.Source, unit)
	}
}

func TestLimitsAreInclusive(t *testing.T) {
	l, _ := LimitOf("weight_before")
	for _, tt := range []struct {
		value               float64
		impossible, unusual bool
	}{
		{22.7, false, true}, {22.6, true, true}, {340.2, false, true}, {340.3, true, true},
		{35, false, false}, {180, false, false}, {180.1, false, true},
	} {
		if l.Impossible(tt.value) != tt.impossible || l.Unusual(tt.value) != tt.unusual {
			t.Errorf("%g kg: impossible %v unusual %v", tt.value, l.Impossible(tt.value), l.Unusual(tt.value))
		}
	}
	if _, ok := LimitOf("no such field"); ok {
		t.Error("a field that does not exist has a limit")
	}
}
