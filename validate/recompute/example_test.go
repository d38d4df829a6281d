package recompute_test

import (
	"fmt"
	"os"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/recompute"
)

// The computed values of a record beside the same computed again.
func ExampleTable() {
	data, err := os.ReadFile("../testdata/session.json")
	if err != nil {
		fmt.Println(err)
		return
	}
	var d doc.Doc
	d.Parse(data, "session.json")
	for _, row := range recompute.Table(&d)[:3] {
		fmt.Println(row.Key, row.Value, row.Unit, row.Recomputed, row.Comparison)
	}
	// Output:
	// uf_rate_per_kg 6.8 mL/kg/h 6.8 same
	// uf_expected 1.45 L 1.45 same
	// uf_discrepancy -0.13 L -0.13 same
}
