package vitals_test

import (
	"encoding/json"
	"os"
	"slices"
	"strings"
	"testing"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/structure"
	"runsheet.example/validate/vitals"
)

func check(t *testing.T, text string) string {
	t.Helper()
	var d doc.Doc
	if f := d.Parse([]byte(text), ""); len(f) > 0 {
		t.Fatalf("%s: %+v", text, f[0])
	}
	var ids []string
	var s structure.Checker
	s.Check(&d, func(issue.Finding) {})
	vitals.Check(&s, func(f issue.Finding) { ids = append(ids, f.Rule) })
	slices.Sort(ids)
	return strings.Join(ids, " ")
}

// weight is a body weight with everything the profile asks for.
const weight = `{"resourceType":"Observation","status":"final",
"category":[{"coding":[{"system":"http://terminology.hl7.org/CodeSystem/observation-category","code":"vital-signs"}]}],
"code":{"coding":[{"system":"http://loinc.org","code":"29463-7"}]},"subject":{"reference":"Patient/1"},
"effectiveDateTime":"2026-01-01T07:00:00+01:00",
"valueQuantity":{"value":81.1,"unit":"kg","system":"http://unitsofmeasure.org","code":"kg"}}`

// pressure is a blood pressure with everything the profile asks for.
const pressure = `{"resourceType":"Observation","status":"final",
"category":[{"coding":[{"system":"http://terminology.hl7.org/CodeSystem/observation-category","code":"vital-signs"}]}],
"code":{"coding":[{"system":"http://loinc.org","code":"85354-9"}]},"subject":{"reference":"Patient/1"},
"effectiveDateTime":"2026-01-01",
"component":[
{"code":{"coding":[{"system":"http://loinc.org","code":"8480-6"}]},"valueQuantity":{"value":148,"unit":"mmHg","system":"http://unitsofmeasure.org","code":"mm[Hg]"}},
{"code":{"coding":[{"system":"http://loinc.org","code":"8462-4"}]},"dataAbsentReason":{"text":"not read"}}]}`

func TestProfiles(t *testing.T) {
	const quantity = `"valueQuantity":{"value":81.1,"unit":"kg","system":"http://unitsofmeasure.org","code":"kg"}`
	for _, c := range []struct{ name, text, old, replacement, want string }{
		{"weight", weight, "", "", ""},
		{"weight in pounds", weight, `"code":"kg"`, `"code":"[lb_av]"`, ""},
		{"weight in ounces", weight, `"code":"kg"`, `"code":"[oz_av]"`, "inv-vs-unit"},
		{"weight in another system", weight, "http://unitsofmeasure.org", "http://example.org/units", "inv-vs-unit"},
		{"weight without unit for readers", weight, `"unit":"kg",`, "", "inv-vs-quantity"},
		{"weight as text", weight, quantity, `"valueString":"81 kg"`, "inv-vs-quantity"},
		{"weight absent with reason", weight, quantity, `"dataAbsentReason":{"text":"scale broken"}`, ""},
		{"weight absent", weight, "," + "\n" + quantity, "", "inv-vs-2"},
		{"no category", weight, `"vital-signs"`, `"exam"`, "inv-vs-category"},
		{"no subject", weight, `,"subject":{"reference":"Patient/1"}`, "", "inv-vs-subject"},
		{"subject in a Bundle", weight, `Patient/1`, "urn:uuid:98ebcb82-034f-4a54-aedd-74d0cfc15a04", ""},
		{"subject at an address", weight, `Patient/1`, "http://example.org/fhir/Patient/1/_history/2", ""},
		{"subject a group", weight, `Patient/1`, "Group/1", "inv-vs-subject"},
		{"no time", weight, `"effectiveDateTime":"2026-01-01T07:00:00+01:00",`, "", "inv-vs-effective"},
		{"time as instant", weight, "effectiveDateTime", "effectiveInstant", "inv-vs-effective"},
		{"only the month", weight, "2026-01-01T07:00:00+01:00", "2026-01", "inv-vs-1"},
		{"code twice", weight, `"code":"29463-7"}`, `"code":"29463-7"},{"system":"http://loinc.org","code":"29463-7"}`, "inv-vs-code"},
		{"not a vital sign", weight, `"29463-7"`, `"8344-4"`, ""},
		{"not LOINC", weight, `http://loinc.org`, `http://example.org/loinc`, ""},
		{"claimed without the code", weight, `"29463-7"`, `"8344-4"}]},"meta":{"profile":["http://hl7.org/fhir/StructureDefinition/bodyweight"]},"method":{"coding":[{"code":"x"`, "inv-vs-code"},
		{"body mass index without value", strings.Replace(weight, "29463-7", "39156-5", 1), quantity, `"dataAbsentReason":{"text":"x"}`, "inv-vs-value"},
		{"pressure", pressure, "", "", ""},
		{"pressure with a value", pressure, `"component":[`, quantity + `,"component":[`, "inv-vs-value"},
		{"no systolic", pressure, "8480-6", "8479-8", "inv-vs-component"},
		{"diastolic twice", pressure, "8480-6", "8462-4", "inv-vs-component inv-vs-component"},
		{"unit not UCUM", pressure, `"code":"mm[Hg]"`, `"code":"mmHg"`, "inv-vs-unit"},
		{"component without value or reason", pressure, `,"dataAbsentReason":{"text":"not read"}`, "", "inv-vs-3"},
		{"panel without members", strings.Replace(pressure, "85354-9", "85353-1", 1), "", "", "inv-vs-member"},
		{"component of another vital sign in an odd unit", strings.Replace(weight, `"effectiveDateTime"`, `"component":[{"code":{"text":"x"},"valueQuantity":{"value":1,"code":"mL"}}],"effectiveDateTime"`, 1), "", "", "inv-vs-unit"},
	} {
		t.Run(c.name, func(t *testing.T) {
			if c.old != "" && !strings.Contains(c.text, c.old) {
				t.Fatalf("%q is not in the text", c.old)
			}
			if got := check(t, strings.Replace(c.text, c.old, c.replacement, 1)); got != c.want {
				t.Errorf("got %q, want %q", got, c.want)
			}
		})
	}
}

func TestInsideBundle(t *testing.T) {
	bundle := `{"resourceType":"Bundle","type":"collection","entry":[{"resource":` + strings.Replace(weight, `"code":"kg"`, `"code":"t"`, 1) + `}]}`
	if got := check(t, bundle); got != "inv-vs-unit" {
		t.Errorf("got %q", got)
	}
}

// Every rule this package reports is in the rules table, or issue.At panics;
// the shared cases show that the valid ones stay silent.
func TestValidationCases(t *testing.T) {
	data, err := os.ReadFile("../../testdata/validation_cases.json")
	if err != nil {
		t.Fatal(err)
	}
	var cases []struct {
		Cat, Name, Text string
		Valid           bool
	}
	if err := json.Unmarshal(data, &cases); err != nil {
		t.Fatal(err)
	}
	want := map[string]string{
		"weight LOINC w/o vital-signs category": "inv-vs-category",
		"weight in oz (not in allowed units)":   "inv-vs-unit",
	}
	met := 0
	for _, c := range cases {
		if c.Cat != "vitals" && !c.Valid {
			continue
		}
		met++
		if got := check(t, c.Text); got != want[c.Name] {
			t.Errorf("%s: got %q, want %q", c.Name, got, want[c.Name])
		}
	}
	if met < 5 {
		t.Errorf("only %d cases met", met)
	}
}
