package invariant_test

import (
	"testing"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/invariant"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/structure"
	"runsheet.example/validate/vitals"
)

// FuzzCheck evaluates the invariants and the profiles of vital signs on
// whatever the parser takes, right or wrong in structure: they must not fail,
// and every finding must have a place.
func FuzzCheck(f *testing.F) {
	for name, make := range hostile {
		if name != "nested-bundles" {
			f.Add([]byte(make(3)))
		}
	}
	f.Add([]byte(`{"resourceType":"Observation","code":{"coding":[{"system":"http://loinc.org","code":"85354-9"}]},"component":[{"valueQuantity":{"value":1}}],"effectivePeriod":{"start":"2026","end":"2025"}}`))
	f.Add([]byte(`{"resourceType":"StructureDefinition","snapshot":{"element":[{"path":"a","min":1,"max":"0","type":[{"code":"x"}]}]},"differential":{"element":[]}}`))
	f.Add([]byte(`{"resourceType":"Questionnaire","item":[{"linkId":"a","type":"group","enableWhen":[{"operator":"exists"}]}]}`))
	f.Add([]byte(`{"resourceType":"TestScript","setup":{"action":[{"assert":{"direction":"request"}}]},"test":[{"action":{"operation":{}}}]}`))
	f.Add([]byte(`{"resourceType":"Range","low":{"value":1,"system":"http://unitsofmeasure.org","code":"kg"}}`))
	var s structure.Checker
	var c invariant.Checker
	f.Fuzz(func(t *testing.T, data []byte) {
		var d doc.Doc
		d.Parse(data, "")
		s.Check(&d, func(issue.Finding) {})
		add := func(f issue.Finding) {
			if f.Rule != "r4-more" && (f.Line < 1 || f.Column < 1) {
				t.Fatalf("no place: %+v", f)
			}
		}
		c.Check(&s, add)
		vitals.Check(&s, add)
	})
}
