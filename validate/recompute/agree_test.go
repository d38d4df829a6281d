package recompute

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"runsheet.example/profiles"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/resources"
)

func concept(c ...profiles.Coding) string {
	var texts []string
	for _, one := range c {
		texts = append(texts, fmt.Sprintf(`{"system":%q,"code":%q}`, one.System, one.Code))
	}
	return `{"coding":[` + strings.Join(texts, ",") + `]}`
}

func amount(value, unit string) string {
	return fmt.Sprintf(`"valueQuantity":{"value":%s,"system":"http://unitsofmeasure.org","code":%q}`, value, unit)
}

// entered is a value that a person wrote, named by its field.
func entered(t *testing.T, field, value, unit string) string {
	t.Helper()
	row, ok := profiles.Of(field, unit)
	if !ok {
		t.Fatalf("no row of %s in %s", field, unit)
	}
	category := ""
	if c, ok := row.Phase.Coding(); ok {
		category = `,"category":[` + concept(c) + `]`
	}
	return entry(field, `"code":`+concept(row.Codings...)+`,`+amount(value, unit)+category)
}

func entry(name, elements string) string {
	return `{"fullUrl":"urn:uuid:` + name + `","resource":{"resourceType":"Observation","status":"final",` + elements + `}}`
}

// computed is a value by a method, derived from others.
func computed(name, method, value, unit string, from ...string) string {
	text := `"code":{"text":"x"},"method":` + concept(profiles.Coding{System: profiles.Algorithm, Code: method}) + `,` + amount(value, unit)
	for i, f := range from {
		from[i] = `{"reference":"urn:uuid:` + f + `"}`
	}
	return entry(name, text+`,"derivedFrom":[`+strings.Join(from, ",")+`]`)
}

// checked lists the findings on a Bundle: rule, place, value and expected.
func checked(t *testing.T, entries ...string) []string {
	t.Helper()
	var rec resources.Index
	rec.Read(parse(t, `{"resourceType":"Bundle","type":"collection","entry":[`+strings.Join(entries, ",")+`]}`))
	found := []string{}
	Check(&rec, 0, nil, func(f issue.Finding) {
		found = append(found, fmt.Sprintf("%s %s: %s, not %s", f.Rule, strings.TrimPrefix(f.Expression, "Bundle."), f.Value, f.Expected))
	})
	return found
}

// A value agrees when it is what the method gives, to half a unit of the last
// digit written, in whatever unit; one step beyond it does not.
func TestAgreesToTheLastDigit(t *testing.T) {
	weights := []string{entered(t, "weight_before", "71.85", "kg"), entered(t, "weight_after", "70.00", "kg")}
	from := func(value, unit string) string {
		return computed("x", "uf-expected-1", value, unit, "weight_before", "weight_after")
	}
	for _, c := range []struct {
		value, unit string
		agrees      bool
	}{
		{"1.85", "L", true}, {"1.9", "L", true}, {"1.8", "L", true}, {"2", "L", true}, {"1.7", "L", false}, {"1.84", "L", false}, {"1.86", "L", false}, {"1.850", "L", true}, {"1.851", "L", false},
		{"1850", "mL", true}, {"1851", "mL", false}, {"1849", "mL", false}, {"1.85e3", "mL", true}, {"1.9e3", "mL", true}, {"1.7e3", "mL", false}, {"0.0e0", "L", false},
		{"185e-2", "L", true}, {"184e-2", "L", false}, {"-1.85", "L", false}, {"185000000000e-11", "L", true},
	} {
		found := checked(t, append(slices.Clone(weights), from(c.value, c.unit))...)
		if (len(found) == 0) != c.agrees {
			t.Errorf("%s %s: %q", c.value, c.unit, found)
		}
	}
	if found := checked(t, append(slices.Clone(weights), from("1.84", "L"))...); len(found) != 1 ||
		found[0] != "calc-value-differs entry[2].resource.value: 1.84 L, not 1.85 L from weight_before 71.85 kg, weight_after 70.00 kg" {
		t.Errorf("%q", found)
	}
}

// Urea and urea nitrogen, by mass or by substance, are one input in mmol/L.
func TestUreaOfEveryKind(t *testing.T) {
	for _, c := range []struct{ before, after, reduction string }{
		{entered(t, "urea_before", "20", "mmol/L"), entered(t, "urea_after", "10", "mmol/L"), "50.0"},
		{entered(t, "urea_before", "120.12", "mg/dL"), entered(t, "bun_after", "28.014", "mg/dL"), "50.0"}, // 60.06 and 28.014 g/mol
		{entered(t, "bun_before", "56.028", "mg/dL"), entered(t, "urea_after", "10", "mmol/L"), "50.0"},
		{entered(t, "bun_before", "20", "mmol/L"), entered(t, "urea_after", "60.06", "mg/dL"), "50.0"},
	} {
		name := func(e string) string { return strings.Split(e, `"`)[3][len("urn:uuid:"):] }
		if found := checked(t, c.before, c.after, computed("x", "urr-1", c.reduction, "%", name(c.before), name(c.after))); len(found) > 0 {
			t.Errorf("%s and %s: %q", c.before, c.after, found)
		}
	}
}

// A value computed from another one that does not agree is judged by what is
// written there, within its rounding; one that agrees is taken in full.
func TestValueFromAValue(t *testing.T) {
	values := func(expected, discrepancy string) []string {
		return checked(t,
			entered(t, "weight_before", "71.854", "kg"), entered(t, "weight_after", "70.000", "kg"), entered(t, "uf_removed", "1.500", "L"),
			computed("expected", "uf-expected-1", expected, "L", "weight_before", "weight_after"),
			computed("x", "uf-discrepancy-1", discrepancy, "L", "uf_removed", "expected"))
	}
	for _, c := range []struct {
		expected, discrepancy string
		rules                 int
	}{
		{"1.85", "-0.354", 0}, // in full: 1.854
		{"1.85", "-0.350", 1},
		{"1.95", "-0.45", 1},
		{"1.95", "-0.460", 1}, // within the rounding of 1.95, of the value and of the last digit
		{"1.95", "-0.462", 2}, // beyond it
		{"1.9", "-0.354", 0},
		{"1.9", "-0.44", 1},
		{"2.1", "-0.55", 1}, {"2.1", "-0.65", 1}, {"2.1", "-0.53", 2}, {"2.1", "-0.67", 2},
	} {
		if found := values(c.expected, c.discrepancy); len(found) != c.rules {
			t.Errorf("%s and %s: %q", c.expected, c.discrepancy, found)
		}
	}
}

// An input that cannot be read is named, the first of several; without one the
// whole value is.
func TestInputThatCannotBeRead(t *testing.T) {
	before, after := entered(t, "weight_before", "71.8", "kg"), entered(t, "weight_after", "70", "kg")
	lost := strings.Replace(after, `"value":70,`, "", 1)
	note := entry("note", `"code":{"text":"note"},"valueString":"slept"`)
	for _, c := range []struct{ found, want []string }{
		{checked(t, before, lost, note, computed("x", "uf-expected-1", "1.8", "L", "weight_before", "weight_after", "note")),
			[]string{"calc-input-missing entry[3].resource.derivedFrom[1]: , not weight_after"}},
		{checked(t, before, computed("x", "uf-expected-1", "1.8", "L", "weight_before")), []string{"calc-input-missing entry[1].resource: , not weight_after"}},
		{checked(t, before, after, note, computed("x", "uf-expected-1", "1.8", "L", "note", "weight_before", "weight_after")), []string{}},
		{checked(t, before, computed("x", "uf-expected-1", "1.8", "L", "weight_before", "nowhere")), []string{"calc-input-elsewhere entry[1].resource.derivedFrom[0]: , not weight_after"}},
	} {
		if !slices.Equal(c.found, c.want) {
			t.Errorf("%q, want %q", c.found, c.want)
		}
	}
}

// The code of a value must be that of what its method computes, in any of its
// codings.
func TestCodeOfAnotherQuantity(t *testing.T) {
	expected, _ := profiles.Of("uf_expected", "L")
	other, _ := profiles.Of("uf_removed", "L")
	for _, c := range []struct {
		codings  []profiles.Coding
		mismatch bool
	}{
		{expected.Codings, false}, {other.Codings, true}, {append(slices.Clone(other.Codings), expected.Codings...), false},
	} {
		value := strings.Replace(computed("x", "uf-expected-1", "1.8", "L", "weight_before", "weight_after"), `{"text":"x"}`, concept(c.codings...), 1)
		found := checked(t, entered(t, "weight_before", "71.8", "kg"), entered(t, "weight_after", "70", "kg"), value)
		if (len(found) == 1 && strings.HasPrefix(found[0], "calc-method-mismatch ")) != c.mismatch {
			t.Errorf("%v: %q", c.codings, found)
		}
	}
}
