package validate_test

import (
	"context"
	"fmt"

	"runsheet.example/validate"
)

func ExampleValidator_Bytes() {
	v := validate.New(validate.Options{})
	const weight = `{"resourceType":"Observation","status":"final","code":{"text":"weight"},
  "valueQuantity":{"value":81.1,"unit":"kg","system":"http://unitsofmeasure.org","code":"Kg"}}`
	for _, f := range v.Bytes([]byte(weight), "weight.json") {
		fmt.Printf("%s:%d:%d %s %s %q\n", f.File, f.Line, f.Column, f.Severity, f.Rule, f.Value)
	}
	// Output:
	// weight.json:1:1 information inv-dom-6 ""
	// weight.json:1:1 warning ref-subject-missing ""
	// weight.json:2:89 error unit-not-ucum "Kg"
}

// Files and folders together, with what one says about another.
func ExamplePaths() {
	report, err := validate.Paths(context.Background(), []string{"testdata/session.json"}, nil, validate.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(report.Files, "file,", report.Resources, "resources, errors:", report.HasErrors())
	// Output:
	// 1 file, 38 resources, errors: false
}
