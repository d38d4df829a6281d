package vitals_test

import (
	"fmt"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/structure"
	"runsheet.example/validate/vitals"
)

func ExampleChecker_Check() {
	const observation = `{"resourceType":"Observation","status":"final","subject":{"reference":"Patient/1"},
		"category":[{"coding":[{"system":"http://terminology.hl7.org/CodeSystem/observation-category","code":"vital-signs"}]}],
		"code":{"coding":[{"system":"http://loinc.org","code":"8867-4"}]},"effectiveDateTime":"2026-01-01",
		"valueQuantity":{"value":72,"unit":"bpm","system":"http://unitsofmeasure.org","code":"bpm"}}`
	var d doc.Doc
	d.Parse([]byte(observation), "pulse.json")
	var s structure.Checker
	s.Check(&d, func(issue.Finding) {})
	vitals.Check(&s, func(f issue.Finding) {
		fmt.Println(f.Rule, f.Expression, f.Value, "expected", f.Expected)
	})
	// Output:
	// inv-vs-unit Observation.value bpm expected /min
}
