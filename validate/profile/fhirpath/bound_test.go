package fhirpath_test

import (
	"testing"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/profile/fhirpath"
	"runsheet.example/validate/structure"
)

// Values are put in order with a bound as FHIRPath orders them; where
// precision or units leave that open, nothing is known.
func TestBound(t *testing.T) {
	number := func(text string) (fhirpath.Bound, error) { return fhirpath.NumberBound(text) }
	moment := func(text string) (fhirpath.Bound, error) { return fhirpath.MomentBound(text, false) }
	clock := func(text string) (fhirpath.Bound, error) { return fhirpath.MomentBound(text, true) }
	kilograms := func(text string) (fhirpath.Bound, error) { return fhirpath.QuantityBound(text, "kg") }
	for _, tc := range []struct {
		bound     func(string) (fhirpath.Bound, error)
		text      string
		member    string
		order     int
		known, ok bool
	}{
		{number, "1.50", `"valueInteger":1`, -1, true, true},
		{number, "-0.0", `"valueInteger":0`, 0, true, true},
		{number, "1", `"valueString":"x"`, 0, false, false},
		{moment, "2026-01", `"valueDateTime":"2026-02-01T00:00:00Z"`, 1, true, true},
		{moment, "2026-01-01T00:00:00Z", `"valueDateTime":"2026-01-01T01:30:00+02:00"`, -1, true, true},
		{moment, "2026-01-01", `"valueDateTime":"2026"`, 0, false, true},
		{clock, "12:00:00", `"valueTime":"12:00:00.5"`, 1, true, true},
		{kilograms, "1", `"valueQuantity":{"value":1000,"system":"http://unitsofmeasure.org","code":"g"}`, 0, true, true},
		{kilograms, "1", `"valueQuantity":{"value":1000,"unit":"g"}`, 0, false, true},
		{kilograms, "1", `"valueQuantity":{"value":2,"system":"http://unitsofmeasure.org","code":"L"}`, 0, false, true},
		{kilograms, "1", `"valueQuantity":{"system":"http://unitsofmeasure.org","code":"L"}`, 0, false, false},
	} {
		b, err := tc.bound(tc.text)
		if err != nil {
			t.Fatal(err)
		}
		var d doc.Doc
		d.Parse([]byte(`{"resourceType":"Observation",`+tc.member+`}`), "")
		var s structure.Checker
		s.Check(&d, func(issue.Finding) {})
		order, known, err := b.Order(&fhirpath.Environment{Types: &s}, s.Child(d.Root(), "value"))
		if order != tc.order && known || known != tc.known || (err == nil) != tc.ok {
			t.Errorf("%s and %s: %d, %v, %v", tc.member, tc.text, order, known, err)
		}
	}
}

func TestBoundRefuses(t *testing.T) {
	for _, text := range []string{"", "x", "1e9", "1e99999999999", "2026-13", "25:00:00", "true"} {
		if _, err := fhirpath.NumberBound(text); err == nil {
			t.Errorf("number %q", text)
		}
		if _, err := fhirpath.MomentBound(text, false); err == nil {
			t.Errorf("moment %q", text)
		}
		if _, err := fhirpath.MomentBound(text, true); err == nil {
			t.Errorf("time %q", text)
		}
	}
	if _, err := fhirpath.QuantityBound("1", "stone"); err == nil {
		t.Error("a unit that is none")
	}
}
