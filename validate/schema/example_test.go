package schema_test

import (
	"fmt"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/schema"
)

func ExampleCheck() {
	var d doc.Doc
	d.Parse([]byte(`{"resourceType":"Observation","status":"final","code":{"text":"weight"},"values":1}`), "weight.json")
	schema.Check(&d, func(f issue.Finding) { fmt.Println(f.Rule, f.Expression) })
	// Output:
	// schema-unknown Observation.values
}
