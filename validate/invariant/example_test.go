package invariant_test

import (
	"fmt"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/invariant"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/structure"
)

func ExampleChecker_Check() {
	const observation = `{"resourceType":"Observation","status":"final","code":{"text":"weight"},
		"dataAbsentReason":{"text":"scale broken"},"valueQuantity":{"value":81.1,"code":"kg"}}`
	var d doc.Doc
	d.Parse([]byte(observation), "weight.json")
	var s structure.Checker
	s.Check(&d, func(issue.Finding) {})
	new(invariant.Checker).Check(&s, func(f issue.Finding) {
		fmt.Println(f.Severity, f.Rule, f.Expression)
	})
	// Output:
	// error inv-obs-6 Observation
	// information inv-dom-6 Observation
	// error inv-qty-3 Observation.value
}
