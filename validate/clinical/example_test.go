package clinical_test

import (
	"fmt"
	"os"
	"strings"

	"runsheet.example/validate/clinical"
	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/resources"
)

// A weight of a session typed in pounds.
func ExampleChecker_Check() {
	data, err := os.ReadFile("../testdata/session.json")
	if err != nil {
		fmt.Println(err)
		return
	}
	var d doc.Doc
	d.Parse([]byte(strings.Replace(string(data), `"value": 70.9`, `"value": 156.3`, 1)), "session.json")
	var index resources.Index
	index.Read(&d)
	new(clinical.Checker).Check(&index, func(f issue.Finding) { fmt.Println(f.Severity, f.Rule, f.Value) })
	// Output:
	// warning clin-record-pounds 156.3 kg
	// warning clin-record-uf-weights 1.32 L
}
