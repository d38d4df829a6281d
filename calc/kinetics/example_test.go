package kinetics_test

import (
	"fmt"

	"runsheet.example/calc"
	"runsheet.example/calc/kinetics"
)

// Five short sessions a week at uneven intervals, without blood samples: dose
// by urea kinetics.
func ExampleSteadyState() {
	body := kinetics.Body{VolumeL: 36, GenerationMgPerMin: 1, GenerationAssumed: true, Pools: kinetics.TwoPools()}
	week := kinetics.Cycle{LengthMin: calc.MinutesPerWeek}
	for _, day := range []float64{0, 1, 3, 4, 6} {
		week.Treatments = append(week.Treatments, kinetics.Treatment{
			StartMin: 1440*day + 1080, DurationMin: 165, ClearanceMLPerMin: 150, UFLitres: 1.6,
		})
	}
	s, err := kinetics.SteadyState(body, week)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("weekly standard Kt/V %.2f\n", s.StdKtV())
	fmt.Printf("EKR %.1f mL/min\n", s.EKR())
	// Output:
	// weekly standard Kt/V 2.44
	// EKR 10.8 mL/min
}

func ExampleFitVolume() {
	week := kinetics.Cycle{LengthMin: calc.MinutesPerWeek}
	for i, uf := range []float64{2.9, 2.3, 2.3} {
		week.Treatments = append(week.Treatments, kinetics.Treatment{StartMin: 480 + 2880*float64(i), DurationMin: 240, ClearanceMLPerMin: 210, UFLitres: uf})
	}
	s, err := kinetics.FitVolume(kinetics.Body{}, week, kinetics.PairedSample{Session: 1, BeforeMgPerDL: 60, AfterMgPerDL: 20})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("V %.2f L, G %.2f mg/min\n", s.Body.VolumeL, s.Body.GenerationMgPerMin)
	// Output:
	// V 38.82 L, G 5.72 mg/min
}
