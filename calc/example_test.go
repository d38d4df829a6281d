package calc_test

import (
	"fmt"

	"runsheet.example/calc"
)

func ExampleMethod_Compute() {
	m, _ := calc.MethodByID("spktv-daugirdas2")
	r := m.Compute(calc.Inputs{
		"urea_before": 25, "urea_after": 7.14, "treated_time": 240, "uf_removed": 2.5, "weight_after": 70,
	})
	fmt.Println(r.Method.Code(), r.Rounded())
	fmt.Println(r.Explain())
	fmt.Println(m.Compute(calc.Inputs{"urea_before": 25}).WhyNot)
	// Output:
	// spktv-daugirdas2-1 1.48
	// sp_kt_v = 1.48 = -ln(R - 0.008*240/60) + (4 - 3.5*R)*2.5/70; R = 7.14/25
	// not recorded: urea after dialysis, treated time, fluid removed (UF volume), weight after dialysis
}

// A session with little dialysate: from flows to a dialysate-side Kt/V, each
// method using the values of those before it.
func ExampleSequence() {
	in := calc.Inputs{
		"age": 60, "height": 170, "weight_after": 70, "uf_removed": 1.5, "treated_time": 167,
		"blood_flow": 350, "dialysate_flow": 150, "dialysate_volume": 25, "dialyser_koa": 800,
	}
	for _, r := range calc.Sequence(in, "watson-male", "dialysate-saturation-michaels", "dialysate-kt-v") {
		fmt.Println(r.Method.Quantity, r.Rounded(), r.Notes)
	}
	// Output:
	// total body water 38.53 []
	// dialysate saturation, estimated 0.950 []
	// dialysate-side Kt/V, estimated 0.65 [dialysate-side estimate, not an spKt/V from blood samples]
}

func ExampleFluidPlan_Implies() {
	plan := calc.FluidPlan{
		DialysateL: calc.Known(30), DialysateLPerH: calc.Known(10),
		UFLitres: calc.Known(1), UFLPerH: calc.Known(0.5),
	}
	implied := plan.Implies(0.1)
	for _, line := range implied.Text {
		fmt.Println(line)
	}
	fmt.Println("fluid removal agrees:", implied.UF.Agree)
	// Output:
	// dialysate: 30.00 L at 10.00 L/h takes 3 h 00 min
	// fluid removal: 0.50 L/h for 3 h 00 min is 1.50 L
	// fluid removal: 1.00 L over 3 h 00 min is 0.33 L/h
	// fluid removal: 1.00 L at 0.50 L/h takes 2 h 00 min
	// fluid removal agrees: false
}

// The published figures that are stated for a patient on short daily
// treatment: those for three sessions a week are not.
func ExampleScope_Includes() {
	patient := calc.Patient{AgeYears: calc.Known(63), SessionsPerWeek: calc.Known(5), KruMLPerMin: calc.Known(1.1), DialysateMLMin: calc.Known(150)}
	for _, f := range calc.Figures() {
		if f.Scope.Includes(patient) {
			fmt.Println(f.Key, f.Kind, f.Value, f.Source)
		}
	}
	// Output:
	// std_kt_v_weekly target 2.3 Casino et al, Nephrol Dial Transplant 2024;39:445, citing KDOQI 2015
}

func ExampleHypotensionNadir() {
	fmt.Println(calc.HypotensionNadir(calc.Known(150), nil).Answer)
	fmt.Println(calc.HypotensionNadir(calc.Known(150), []float64{118, 104, 88}).Answer)
	// Output:
	// not assessable
	// yes
}
