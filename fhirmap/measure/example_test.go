package measure_test

import (
	"fmt"

	"runsheet.example/fhirmap/measure"
	"runsheet.example/fhirmap/session"
)

// The values of one session: each with its method, and its inputs with theirs.
func ExampleAt() {
	log, _, err := session.ReadFolder("../testdata/small", session.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, v := range measure.At(log, 0).Values[:2] {
		fmt.Println(v.Result.Explain(), "by", v.Result.Method.Code())
		for _, in := range v.Inputs {
			fmt.Println(" ", in.Key, in.Text, in.Unit, in.Cells)
		}
	}
	// Output:
	// uf_rate_per_kg = 8.9 mL/kg/h = 1000*1.65/(180/60)/62 by uf-rate-per-kg-1
	//   uf_removed 1.65 L [sessions.csv O2 (uf_removed_l)]
	//   treated_time 180 min [sessions.csv C2 (start) sessions.csv D2 (end)]
	//   weight_after 62.0 kg [sessions.csv L2 (weight_after_kg)]
	// uf_expected = 1.85 L = 63.4 - 62 + 0.2 + (saline not recorded) + 0.25 - (urine not recorded) by uf-expected-1
	//   weight_before 63.40 kg [sessions.csv H2 (weight_before_kg)]
	//   weight_after 62.0 kg [sessions.csv L2 (weight_after_kg)]
	//   drinks 0.2 L [sessions.csv P2 (drinks_l)]
	//   rinseback 0.25 L [sessions.csv Q2 (rinseback_l)]
}
