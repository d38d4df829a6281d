package workbook_test

import (
	"fmt"
	"os"

	"runsheet.example/fhirmap/session"
	"runsheet.example/fhirmap/session/workbook"
)

// A log folder carried over into a workbook, and read back.
func ExampleRead() {
	grid, _, err := session.ReadGrid(os.DirFS("../../testdata/small"))
	if err != nil {
		fmt.Println(err)
		return
	}
	data, err := workbook.Bytes(workbook.Options{Content: grid})
	if err != nil {
		fmt.Println(err)
		return
	}
	log, findings, err := workbook.Read(data, "november.xlsx", session.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	weight := log.Sessions[0].Value("weight_before")
	fmt.Println(len(log.Sessions), "sessions,", len(findings), "findings;", weight.Decimal, weight.Unit, weight.Cell)
	// Output:
	// 3 sessions, 0 findings; 63.40 kg november.xlsx Sessions I3 (weight_before_kg)
}
