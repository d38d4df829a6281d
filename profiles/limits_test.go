package profiles

import (
	"encoding/json"
	"math"
	"os"
	"slices"
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

// rowFields names, for rows of the reference data, the fields that must carry
// its limits for an adult and the factor from the row's unit to theirs. The
// rows that are not here are superseded: weight, height and fluid go by age and
// body weight, urea by phase and length, what dialysis removes by phase, and what is computed is judged by its
// inputs.
var rowFields = map[string]struct {
	fields []string
	factor float64
}{
	"systolic BP":                      {[]string{"bp_systolic", "bp_before_systolic", "bp_before_standing_systolic", "bp_after_systolic", "bp_after_standing_systolic"}, 1},
	"diastolic BP":                     {[]string{"bp_diastolic", "bp_before_diastolic", "bp_before_standing_diastolic", "bp_after_diastolic", "bp_after_standing_diastolic"}, 1},
	"heart rate":                       {[]string{"pulse", "pulse_before", "pulse_after"}, 1},
	"body temperature":                 {[]string{"temperature_before", "temperature_after"}, 1},
	"SpO2":                             {[]string{"oxygen_saturation"}, 1},
	"blood flow Qb":                    {[]string{"blood_flow"}, 1},
	"dialysate flow Qd":                {[]string{"dialysate_flow"}, 1},
	"dialysate volume per session":     {[]string{"dialysate_volume"}, 1},
	"session duration":                 {[]string{"treated_time", "session_duration"}, 1},
	"venous pressure":                  {[]string{"venous_line_pressure"}, 1},
	"arterial (pre-pump) pressure":     {[]string{"arterial_line_pressure"}, 1},
	"TMP":                              {[]string{"transmembrane_pressure"}, 1},
	"dialysate conductivity":           {[]string{"dialysate_conductivity"}, 1},
	"dialysate temperature":            {[]string{"dialysate_temperature"}, 1},
	"dialysate sodium":                 {[]string{"dialysate_sodium"}, 1},
	"dialysate potassium":              {[]string{"dialysate_potassium"}, 1},
	"dialysate calcium":                {[]string{"dialysate_calcium"}, 1},
	"dialysate bicarbonate or lactate": {[]string{"dialysate_bicarbonate", "dialysate_lactate"}, 1},
	"serum potassium":                  {[]string{"potassium", "potassium_before"}, 1},
	"haemoglobin":                      {[]string{"haemoglobin", "haemoglobin_before", "haemoglobin_after"}, 1},
	"phosphate":                        {[]string{"phosphate", "phosphate_before"}, 1},
	"blood volume processed":           {[]string{"blood_processed"}, 1},
	"heparin, total per session":       {[]string{"heparin_total"}, 1},
}

// unitOf maps the units that the reference data writes in words, and the two
// we keep in another unit, to the UCUM code of the table.
var unitOf = map[string]string{"mL": "L", "/wk": "1", "% of previous post-weight": "%"}

func TestLimitsAgreeWithTheReferenceData(t *testing.T) {
	data, err := os.ReadFile("../testdata/plausibility.json")
	if err != nil {
		t.Fatal(err)
	}
	var rows []plausibilityRow
	if err := json.Unmarshal(data, &rows); err != nil {
		t.Fatal(err)
	}
	compared := 0
	for _, row := range rows {
		mapped, ok := rowFields[row.Field]
		if !ok {
			continue
		}
		compared++
		unit := row.Unit
		if u, ok := unitOf[unit]; ok {
			unit = u
		}
		for _, field := range mapped.fields {
			want := [4]float64{row.HardLow * mapped.factor, row.HardHigh * mapped.factor, row.SoftLow * mapped.factor, row.SoftHigh * mapped.factor}
			checkLimit(t, field, unit, want)
		}
	}
	if compared != len(rowFields) {
		t.Errorf("%d rows compared, %d expected", compared, len(rowFields))
	}
}

// circumstances that the table tells apart, with those where nothing is known.
func circumstances() []Circumstances {
	all := []Circumstances{{}}
	for _, age := range []float64{0, 1, 2, 5, 6, 9, 12, 17, 18, 50} {
		for _, kg := range []float64{0, 8, 26, 70, 150} {
			for _, minutes := range []float64{0, 100, 240, 480} {
				all = append(all, Circumstances{AgeYears: age, AgeKnown: true, WeightKg: kg, Minutes: minutes, Days: minutes / 80})
			}
		}
	}
	return all
}

func TestLimitsAreInOrder(t *testing.T) {
	for _, c := range circumstances() {
		for field := range limitsOf {
			l, ok := c.LimitOf(field)
			if !ok || l.Source == "" || l.Unit == "" || l.Field != field {
				t.Fatalf("%s: no limits for %+v: %+v", field, c, l)
			}
			if !(l.HardLow <= l.SoftLow && l.SoftLow < l.SoftHigh && l.SoftHigh <= l.HardHigh) {
				t.Errorf("%s: limits out of order for %+v: %+v", field, c, l)
			}
		}
	}
}

// Every row must be reached.
func TestEveryRowHolds(t *testing.T) {
	for field, rows := range limitsOf {
		for i := range rows.all {
			first := func(c Circumstances) bool {
				for j, other := range rows.all[:i+1] {
					if may, _ := other.scope.holds(c); may {
						return j == i
					}
				}
				return false
			}
			if !slices.ContainsFunc(circumstances(), first) {
				t.Errorf("%s: row %d never holds", field, i+1)
			}
		}
	}
}

// The limits of what is not known allow all that any circumstances allow.
func TestUnknownCircumstancesAreWidest(t *testing.T) {
	for field := range limitsOf {
		wide, _ := LimitOf(field)
		for _, c := range circumstances() {
			if c.WeightKg > 0 {
				continue // limits per kilogram are unknown without the weight
			}
			if l, _ := c.LimitOf(field); wide.or(l) != (Limit{field, wide.Unit, wide.HardLow, wide.HardHigh, wide.SoftLow, wide.SoftHigh, wide.Source}) {
				t.Errorf("%s: %+v allows more than %+v", field, l, wide)
			}
		}
	}
}

func TestNobodyIsImpossible(t *testing.T) {
	for _, c := range circumstances() {
		for field, values := range map[string][]float64{"weight_before": {8, 15, 26, 60}, "height": {70, 99, 130, 150}} {
			l, _ := c.LimitOf(field)
			for _, value := range values {
				if l.Impossible(value) {
					t.Errorf("%s %g is impossible for %+v", field, value, c)
				}
			}
		}
	}
}

func checkLimit(t *testing.T, field, unit string, want [4]float64) {
	t.Helper()
	l, ok := Adult.LimitOf(field)
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
	l, _ := Adult.LimitOf("weight_before")
	for _, tt := range []struct {
		value               float64
		impossible, unusual bool
	}{
		{8, false, true}, {7.9, true, true}, {340.2, false, true}, {340.3, true, true},
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
