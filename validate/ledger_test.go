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

// named is an Observation with a record identifier, without its closing brace.
func named(id, code, rest string) string {
	return fmt.Sprintf(`{"resourceType":"Observation","identifier":[{"system":"urn:ietf:rfc:3986","value":"urn:uuid:0000000%s-0000-4000-8000-000000000000"}],"status":"final","subject":{"reference":"Patient/1"},"code":{"coding":[%s]},%s}`, id, code, rest)
}

func measured(id, code, value, unit string) string {
	return named(id, code, fmt.Sprintf(`"effectiveDateTime":"2026-01-05","valueQuantity":{"value":%s,"unit":%q,"system":"http://unitsofmeasure.org","code":%q}`, value, unit, unit))
}

// TestRecomputationAcrossBundles holds that a value is computed again from inputs
// of which some stand beside it and others in another Bundle or on another line,
// before or behind it, and that what is wrong with it is said in the same words.
func TestRecomputationAcrossBundles(t *testing.T) {
	const local = "urn:oid:2.25.335990940244883323309943966314996822642"
	coding := func(system, code string) string { return fmt.Sprintf(`{"system":%q,"code":%q}`, system, code) }
	weight := func(id, value, unit string) string {
		return measured(id, coding("http://loinc.org", "29463-7")+","+coding("http://loinc.org", "8344-4"), value, unit)
	}
	removed := measured("2", coding("http://loinc.org", "99741-1"), "2.1", "L")
	treated := measured("3", coding(local, "treatment-time-delivered"), "180", "min")
	computed := func(value, unit, from string) string {
		var refs []string
		for _, id := range strings.Split(from, "") {
			refs = append(refs, fmt.Sprintf(`{"identifier":{"system":"urn:ietf:rfc:3986","value":"urn:uuid:0000000%s-0000-4000-8000-000000000000"}}`, id))
		}
		return named("9", coding(local, "uf-rate-per-kg"), fmt.Sprintf(`"method":{"coding":[{"system":"urn:oid:2.25.126534698663615512692703441983600176732","code":"uf-rate-per-kg-1"}]},"valueQuantity":{"value":%s,"unit":%q,"system":"http://unitsofmeasure.org","code":%q},"derivedFrom":[%s]`, value, unit, unit, strings.Join(refs, ",")))
	}
	cases := []struct{ name, computed, weight, want string }{
		{"right", computed("10.0", "mL/kg/h", "123"), weight("1", "70.0", "kg"), ""},
		{"wrong", computed("9.9", "mL/kg/h", "123"), weight("1", "70.0", "kg"), "calc-value-differs"},
		{"not computable", computed("10.0", "mL/kg/h", "123"), weight("1", "0.0", "kg"), "calc-not-computable"},
		{"another unit", computed("10.0", "kg", "123"), weight("1", "70.0", "kg"), "calc-unit"},
		{"two weights", computed("10.0", "mL/kg/h", "1423"), weight("1", "70.0", "kg") + "\n" + weight("4", "71.0", "kg"), "calc-input-ambiguous"},
		{"no weight", computed("10.0", "mL/kg/h", "423"), weight("1", "70.0", "kg"), "calc-input-elsewhere"},
	}
	bundle := func(resources ...string) string {
		return `{"resourceType":"Bundle","type":"collection","entry":[{"resource":` + strings.Join(resources, `},{"resource":`) + `}]}`
	}
	for _, c := range cases {
		weights := bundle(strings.Split(c.weight, "\n")...)
		forms := map[string][]string{
			"lines":                {c.weight, removed, treated, c.computed},
			"lines, inputs last":   {c.computed, treated, c.weight, removed},
			"bundles":              {weights, bundle(removed, treated, c.computed)},
			"bundles, inputs last": {bundle(c.computed, removed, treated), weights},
			"one bundle":           {bundle(append(strings.Split(c.weight, "\n"), removed, treated, c.computed)...)},
		}
		for form, lines := range forms {
			var got []string
			for _, f := range fromStdin(t, strings.Join(lines, "\n")+"\n{}").Findings {
				if strings.HasPrefix(f.Rule, "calc-") {
					got = append(got, f.Rule)
				}
			}
			if strings.Join(got, " ") != c.want {
				t.Errorf("%s, %s: got %v, want %q", c.name, form, got, c.want)
			}
		}
	}
}

// TestPreviousWeightIsThatOfItsSession holds that the weight after the previous
// session, which the next one repeats, is compared with the Observation that it is
// taken from, wherever that is.
func TestPreviousWeightIsThatOfItsSession(t *testing.T) {
	const local = "urn:oid:2.25.335990940244883323309943966314996822642"
	coding := func(system, code string) string { return fmt.Sprintf(`{"system":%q,"code":%q}`, system, code) }
	after := measured("1", coding("http://loinc.org", "29463-7")+","+coding("http://loinc.org", "8344-4"), "70.0", "kg")
	before := measured("2", coding("http://loinc.org", "29463-7")+","+coding("http://loinc.org", "8347-7"), "72.0", "kg")
	reference := func(id string) string {
		return `{"identifier":{"system":"urn:ietf:rfc:3986","value":"urn:uuid:0000000` + id + `-0000-4000-8000-000000000000"}}`
	}
	gain := func(value, previous string) string {
		return named("3", coding(local, "x"), `"method":{"coding":[{"system":"urn:oid:2.25.126534698663615512692703441983600176732","code":"idwg-1"}]},
			"valueQuantity":{"value":`+value+`,"unit":"kg","system":"http://unitsofmeasure.org","code":"kg"},"derivedFrom":[`+reference("2")+`,`+reference("1")+`],
			"component":[{"code":{"coding":[`+coding(local, "input-previous-weight-after")+`]},"valueQuantity":{"value":`+previous+`,"unit":"kg","system":"http://unitsofmeasure.org","code":"kg"}}]`)
	}
	for _, c := range []struct{ value, previous, want string }{{"2.0", "70.0", ""}, {"1.0", "71.0", "calc-input-differs"}} {
		one := strings.Join(strings.Fields(gain(c.value, c.previous)), " ")
		for form, lines := range map[string][]string{
			"lines": {after, before, one}, "lines, the next session first": {before, one, after},
			"one bundle": {`{"resourceType":"Bundle","type":"collection","entry":[{"resource":` + strings.Join([]string{after, before, one}, `},{"resource":`) + `}]}`},
		} {
			var got []string
			for _, f := range fromStdin(t, strings.Join(lines, "\n")).Findings {
				if strings.HasPrefix(f.Rule, "calc-") {
					got = append(got, f.Rule)
				}
			}
			if strings.Join(got, " ") != c.want {
				t.Errorf("%s kg, %s: got %v, want %q", c.previous, form, got, c.want)
			}
		}
	}
}
