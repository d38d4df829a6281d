package check

import (
	"fmt"
	"strings"
	"testing"

	"runsheet.example/validate/issue"
)

// What dialysis removes is lower after it.
func TestResultsAfterDialysisAreLower(t *testing.T) {
	for _, tt := range []struct{ row, want string }{
		{"after,phosphate,0.64,mmol/L", ""}, {"before,phosphate,0.64,mmol/L", "clin-unusual"},
		{"after,potassium,2.5,mmol/L", ""}, {"after,potassium,2.2,mmol/L", "clin-unusual"}, {"before,potassium,2.5,mmol/L", "clin-unusual"},
		{"after,creatinine,90,umol/L", ""},
	} {
		files := map[string]string{sessionsFile: mondays(1, "reason", everyRow("")), "labs.csv": "session,when,test,value,unit\ns0," + tt.row + "\n"}
		if got, _, _ := strings.Cut(told(t, "clin-unusual", "", files), " "); got != tt.want {
			t.Errorf("%s: %s, want %s", tt.row, got, tt.want)
		}
	}
}

// A substance falls less than urea, and in a person by much the same from month to
// month: the result that does not fit is named, not the other one of its pair.
func TestFallOfSolutes(t *testing.T) {
	for _, tt := range []struct{ test, own, pair, want string }{
		{"creatinine umol/L", "", "726 356", ""},
		{"creatinine umol/L", "", "726 656", "5.value 656 -> a result that fits the other one, 726 umol/L"},
		{"creatinine umol/L", "706 336", "726 656", "5.value 656 -> perhaps 356 umol/L"},
		{"creatinine umol/L", "915 425", "511 415", "4.value 511 -> perhaps 911 umol/L"},
		{"creatinine umol/L", "706 336", "840 410", ""},
		{"phosphate mmol/L", "1.74 0.70", "1.83 1.73", "5.value 1.73 -> perhaps 0.73 mmol/L"},
		{"phosphate mmol/L", "1.74 0.90", "2.20 1.30", ""},
		{"phosphate mmol/L", "1.30 0.80", "1.20 1.15", ""}, // low: it comes back from the bones
		{"potassium mmol/L", "4.7 3.4", "6.4 3.3", "4.value 6.4 -> perhaps 4.6 mmol/L"},
		{"potassium mmol/L", "4.6 3.3", "4.7 4.3", "5.value 4.3 -> perhaps 3.4 mmol/L"},
		{"potassium mmol/L", "4.2 3.4", "5.6 3.7", ""},
	} {
		test, unit, _ := strings.Cut(tt.test, " ")
		rows := "session,when,test,value,unit\n"
		add := func(id, test, pair, unit string) {
			before, after, ok := strings.Cut(pair, " ")
			if ok {
				rows += fmt.Sprintf("%s,before,%s,%s,%s\n%s,after,%s,%s,%s\n", id, test, before, unit, id, test, after, unit)
			}
		}
		add("s1", "urea", "24.2 10.4", "mmol/L")
		add("s1", test, tt.pair, unit)
		add("s0", "urea", "23.8 10.3", "mmol/L")
		add("s0", test, tt.own, unit)
		files := map[string]string{sessionsFile: mondays(3, "dialysate_potassium_mmol_l", everyRow("1.0")), "labs.csv": rows}
		want := tt.want
		if want != "" {
			want = "clin-solute-ratio " + want
		}
		if got := told(t, "clin-solute-ratio", "", files); got != want {
			t.Errorf("%s %s beside %q: %q, want %q", tt.test, tt.pair, tt.own, got, want)
		}
	}
}

// A result of 0 is none; one result exchanged in its digits is found beside one other,
// and of a pair that rises the result that was mistyped.
func TestResultsNobodyHas(t *testing.T) {
	for _, tt := range []struct{ rule, own, other, want string }{
		{"clin-zero", "before,urea,22,mmol/L", "after,urea,0.0,mmol/L", "clin-zero 3.value 0.0 -> an empty cell, or not done"},
		{"clin-zero", "before,ferritin,300,ug/L", "before,crp,0,mg/L", "clin-zero 3.value 0 -> an empty cell, or not done"},
		{"clin-zero", "before,ferritin,300,ug/L", "before,crp,0.1,mg/L", ""},
		{"clin-lab-far", "before,ferritin,163,ug/L", "before,ferritin,615,ug/L", "clin-lab-far 3.value 615 ug/L -> perhaps 165 ug/L"},
		{"clin-lab-far", "before,ferritin,300,ug/L", "before,ferritin,615,ug/L", ""},
		{"clin-lab-far", "before,crp,5,mg/L", "before,crp,52,mg/L", ""},
		{"clin-solute-rises", "before,creatinine,7.3,mg/dL\ns0,after,creatinine,1.9,mg/dL", "before,creatinine,1.4,mg/dL\ns1,after,creatinine,2.0,mg/dL", "clin-solute-rises 4.value 1.4 -> perhaps 7.4 mg/dL before"},
	} {
		files := map[string]string{
			sessionsFile: mondays(3, "notes", everyRow("")),
			"labs.csv":   "session,when,test,value,unit\ns0," + tt.own + "\ns1," + tt.other + "\n",
		}
		if got := told(t, tt.rule, "", files); got != tt.want {
			t.Errorf("%s, %s: %q, want %q", tt.own, tt.other, got, tt.want)
		}
	}
}

// Weights in another unit from a row on are one finding; a fever that both temperatures
// show is a note, a recovery far above all others is named, and a result that agrees
// with another one needs no look.
func TestOneFindingForRowsAndFever(t *testing.T) {
	row := func(weights, temperatures, recovery string) func(int) string {
		return func(i int) string {
			v := [3]string{"70.2,68.4", "36.4,36.5", "60"}
			if i == 6 {
				v[1], v[2] = temperatures, recovery
			}
			if i >= 6 && weights != "" {
				v[0] = weights
			}
			return strings.Join(v[:], ",")
		}
	}
	for _, tt := range []struct{ weights, temperatures, recovery, want string }{
		{"", "36.4,36.5", "60", ""},
		{"154.8,150.8", "36.4,36.5", "60", "clin-unit 8.weight_before_kg 154.8 -> perhaps 70.2 kg"},
		{"", "38.6,38.9", "60", ""},
		{"", "36.6,39.7", "60", "clin-unusual 8.temperature_after_c 39.7 -> usually 35 to 38 °C"},
		{"", "36.4,36.5", "600", "clin-unlike-own 8.recovery_min 600 -> perhaps 60 min"},
		{"", "36.4,36.5", "1440", ""},
	} {
		files := map[string]string{sessionsFile: mondays(9, "weight_before_kg,weight_after_kg,temperature_before_c,temperature_after_c,recovery_min", row(tt.weights, tt.temperatures, tt.recovery))}
		var got []string
		for _, f := range findingsIn(t, "", files) {
			if f.Severity > issue.Information && strings.HasPrefix(f.Rule, "clin-") {
				got = append(got, fmt.Sprintf("%s %d.%s %s -> %s", f.Rule, f.Cells[0].Row, f.Cells[0].Heading, f.Value, f.Expected))
			}
		}
		if strings.Join(got, "\n") != tt.want {
			t.Errorf("%+v: %q", tt, got)
		}
	}
	labs := func(other string) map[string]string {
		return map[string]string{sessionsFile: mondays(3, "notes", everyRow("")),
			"labs.csv": "session,when,test,value,unit\ns0,after,phosphate,0.56,mmol/L\ns1,after,phosphate," + other + ",mmol/L\n"}
	}
	if got := told(t, "clin-unusual", "", labs("0.54")); got != "" {
		t.Errorf("two low results that agree: %s", got)
	}
}
