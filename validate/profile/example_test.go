package profile_test

import (
	"fmt"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/profile"
	"runsheet.example/validate/resources"
	"runsheet.example/validate/structure"
)

// A resource checked against a profile of R4 that it does not claim.
func ExampleChecker_Check() {
	const weight = `{"resourceType":"Observation","status":"final","code":{"text":"weight"}}`
	var d doc.Doc
	d.Parse([]byte(weight), "weight.json")
	var s structure.Checker
	s.Check(&d, func(issue.Finding) {})
	var index resources.Index
	index.Read(&d)
	c := profile.New(profile.NewLibrary(), profile.Options{Profiles: []string{"http://hl7.org/fhir/StructureDefinition/bodyweight"}})
	c.Check(&s, &index, func(f issue.Finding) { fmt.Println(f.Severity, f.Rule, f.Expression) })
	// Output:
	// error profile-invariant Observation
	// error profile-slice Observation
	// error profile-slice Observation.code
	// error profile-cardinality Observation
	// error profile-cardinality Observation
}
