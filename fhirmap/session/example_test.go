package session_test

import (
	"fmt"

	"runsheet.example/fhirmap/session"
)

// A log folder as written: each value keeps its digits, its unit and its cell.
func ExampleReadFolder() {
	log, findings, err := session.ReadFolder("../testdata/small", session.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	first := log.Sessions[0]
	weight := first.Value("weight_before")
	fmt.Println(len(log.Sessions), "sessions,", len(findings), "findings")
	fmt.Println(first.ID, first.Date.Text, weight.Decimal, weight.Unit, weight.Cell)
	// Output:
	// 3 sessions, 0 findings
	// a 2025-10-06 63.40 kg sessions.csv H2 (weight_before_kg)
}
