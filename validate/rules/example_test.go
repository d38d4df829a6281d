package rules_test

import (
	"fmt"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/profile"
	"runsheet.example/validate/resources"
	"runsheet.example/validate/rules"
	"runsheet.example/validate/structure"
)

// A unit of another dimension than the measurement.
func ExampleChecker_Check() {
	const weight = `{"resourceType":"Observation","status":"final","subject":{"identifier":{"value":"1"}},
		"code":{"coding":[{"system":"http://loinc.org","code":"29463-7"}]},
		"valueQuantity":{"value":71.2,"system":"http://unitsofmeasure.org","code":"cm"}}`
	var d doc.Doc
	d.Parse([]byte(weight), "weight.json")
	var index resources.Index
	index.Read(&d)
	var types structure.Checker
	types.Check(&d, func(issue.Finding) {})
	new(rules.Checker).Check(&index, &types, profile.NewLibrary(), false, func(f issue.Finding) { fmt.Printf("%s %s %q\n", f.Severity, f.Rule, f.Value) })
	// Output:
	// warning ref-identifier-only ""
	// error unit-dimension "cm"
}
