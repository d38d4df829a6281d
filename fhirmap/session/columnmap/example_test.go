package columnmap_test

import (
	"fmt"
	"os"

	"runsheet.example/fhirmap/session"
	"runsheet.example/fhirmap/session/columnmap"
)

// A foreign sheet read by its column map.
func ExampleRead() {
	const folder = "../../../testdata/sheets/german/"
	m, err := columnmap.Load(folder + "map.toml")
	if err != nil {
		fmt.Println(err)
		return
	}
	text, err := os.ReadFile(folder + "log.toml")
	if err != nil {
		fmt.Println(err)
		return
	}
	log, _, err := columnmap.Read(folder+"protokoll.csv", m, &columnmap.About{Name: "log.toml", Text: text}, session.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	weight := log.Sessions[0].Value("weight_before")
	fmt.Println(log.Sessions[0].Date.Text, weight.Decimal, weight.Unit, weight.Cell)
	// Output:
	// 03.11.25 82.8 kg protokoll.csv D2 (Gewicht vor (kg))
}
