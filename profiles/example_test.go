package profiles_test

import (
	"fmt"

	"runsheet.example/profiles"
)

// The code of a field depends on its unit: urea by substance and by mass have
// two codes.
func ExampleOf() {
	for _, unit := range []string{"mmol/L", "mg/dL"} {
		row, _ := profiles.Of("urea_before", unit)
		fmt.Println(row.Text, row.Principal().Code, row.Units)
	}
	// Output:
	// Urea before dialysis 39777-8 [mmol/L]
	// Urea before dialysis 3091-6 [mg/dL]
}

func ExampleFind() {
	artifact, _, err := profiles.Find("weight")
	fmt.Println(artifact.Name, artifact.Type, err)
	// Output:
	// runsheet-weight StructureDefinition <nil>
}
