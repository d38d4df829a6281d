package fhirmap_test

import (
	"fmt"

	"runsheet.example/fhirmap"
	"runsheet.example/fhirmap/session"
)

// One session of a log as a transaction Bundle.
func ExampleMapping_Session() {
	log, _, err := session.ReadFolder("testdata/small", session.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	mapping, err := fhirmap.NewMapping(log, fhirmap.Options{Tool: fhirmap.Tool{Name: "runsheet", Version: "1"}})
	if err != nil {
		fmt.Println(err)
		return
	}
	record, err := mapping.Session(0)
	if err != nil {
		fmt.Println(err)
		return
	}
	bundle, err := record.Transaction()
	fmt.Println(record.Label(), len(record.Resources), "resources,", string(bundle[:25]), err)
	for _, r := range record.Resources[3:6] {
		fmt.Println(r.Type, r.Role, r.Cells)
	}
	// Output:
	// a 39 resources, {"resourceType":"Bundle", <nil>
	// Procedure procedure [sessions.csv A2 (session) sessions.csv B2 (date) sessions.csv C2 (start) sessions.csv D2 (end) log.toml row 25 (access.kind) log.toml row 20 (prescription.dialyser) sessions.csv W2 (notes)]
	// Observation weight_before [sessions.csv H2 (weight_before_kg)]
	// Observation weight_after [sessions.csv L2 (weight_after_kg)]
}
