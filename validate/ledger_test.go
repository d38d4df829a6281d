package validate_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"
)

// TestRecomputationAcrossLines holds that a value in NDJSON is computed again
// from inputs on other lines, whether they come before or after it.
func TestRecomputationAcrossLines(t *testing.T) {
	input := func(id, code, value, unit string) string {
		return fmt.Sprintf(`{"resourceType":"Observation","id":%q,"status":"final","subject":{"reference":"Patient/1"},"code":{"coding":[%s]},"category":[{"coding":[{"system":"http://terminology.hl7.org/CodeSystem/observation-category","code":"vital-signs"}]}],"effectiveDateTime":"2026-01-05","valueQuantity":{"value":%s,"unit":%q,"system":"http://unitsofmeasure.org","code":%q}}`, id, code, value, unit, unit)
	}
	weight := input("a", `{"system":"http://loinc.org","code":"29463-7"},{"system":"http://loinc.org","code":"8344-4"}`, "70.0", "kg")
	removed := input("b", `{"system":"http://loinc.org","code":"99741-1"}`, "2.1", "L")
	treated := input("c", `{"system":"urn:oid:2.25.335990940244883323309943966314996822642","code":"treatment-time-delivered"}`, "180", "min")
	// 2100 mL / 3 h / 70 kg = 10.0 mL/kg/h
	computed := func(value, references string) string {
		return `{"resourceType":"Observation","id":"d","status":"final","subject":{"reference":"Patient/1"},"code":{"coding":[{"system":"urn:oid:2.25.335990940244883323309943966314996822642","code":"uf-rate-per-kg"}]},"method":{"coding":[{"system":"urn:oid:2.25.126534698663615512692703441983600176732","code":"uf-rate-per-kg-1"}]},"valueQuantity":{"value":` + value + `,"unit":"mL/kg/h","system":"http://unitsofmeasure.org","code":"mL/kg/h"},"derivedFrom":[` + references + `]}`
	}
	const all = `{"reference":"Observation/a"},{"reference":"Observation/b"},{"reference":"Observation/c"}`
	cases := []struct {
		name  string
		lines []string
		want  []string
	}{
		{"inputs first, right", []string{weight, removed, treated, computed("10.0", all)}, nil},
		{"inputs last, right", []string{computed("10.0", all), weight, removed, treated}, nil},
		{"inputs first, wrong", []string{weight, removed, treated, computed("9.9", all)}, []string{"calc-value-differs 4"}},
		{"inputs last, wrong", []string{computed("9.9", all), weight, removed, treated}, []string{"calc-value-differs 1"}},
		{"an input nowhere", []string{computed("10.0", all), weight, removed}, []string{"calc-input-elsewhere 1"}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			var got []string
			for _, f := range fromStdin(t, strings.Join(c.lines, "\n")+"\n").Findings {
				if f.Rule != "inv-dom-6" {
					got = append(got, fmt.Sprintf("%s %d", f.Rule, f.Line))
				}
			}
			if !slices.Equal(got, c.want) {
				t.Errorf("got %v, want %v", got, c.want)
			}
		})
	}
}
