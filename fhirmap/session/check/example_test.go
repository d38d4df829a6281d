package check_test

import (
	"fmt"

	"runsheet.example/fhirmap/session"
	"runsheet.example/fhirmap/session/check"
)

// A mistake is found at its cell: here a number that can be read in two ways.
func ExampleCheck() {
	log, findings, err := session.ReadFolder("../../../testdata/mistakes", session.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, f := range check.Check(log, findings) {
		if f.Rule == "log-thousands" {
			fmt.Println(f.Severity, f.Cells[0], f.Value)
		}
	}
	// Output:
	// error medicines.csv E3 (dose) 2,500
}
