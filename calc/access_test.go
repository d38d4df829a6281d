package calc_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"
	. "runsheet.example/calc"
)

func TestTrendsNeverMixConditions(t *testing.T) {
	var readings []CircuitReading
	for week := range 6 {
		at := float64(week) * MinutesPerWeek
		readings = append(readings,
			CircuitReading{AtMin: at, BloodFlow: 300, NeedleGauge: 15, Pressure: 140 + 3*float64(week)},
			CircuitReading{AtMin: at, BloodFlow: 200, NeedleGauge: 15, Pressure: 100},
		)
	}
	readings = append(readings, CircuitReading{AtMin: 0, BloodFlow: 300, NeedleGauge: 16, Pressure: 200})
	readings[4].Pressure = 400 // one odd reading does not move the slope
	trends := Trends(readings)
	if len(trends) != 3 || trends[0].BloodFlow != 200 || trends[1].NeedleGauge != 15 || trends[2].NeedleGauge != 16 {
		t.Fatalf("groups %+v", trends)
	}
	near(t, "flat", trends[0].PerMonth, 0, 1e-12)
	near(t, "3 mm[Hg] a week", trends[1].PerMonth, 3*30.0/7, 1.5)
	if trends[2].WhyNot == "" || !math.IsNaN(trends[2].PerMonth) {
		t.Errorf("one reading has a slope: %+v", trends[2])
	}
}

// The slope does not depend on the order of the readings and turns with their
// sign.
func TestTrendProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var readings, turned []CircuitReading
		for i := range rapid.IntRange(5, 12).Draw(t, "n") {
			r := CircuitReading{AtMin: 1440 * float64(i), BloodFlow: 300, Pressure: float64(rapid.IntRange(50, 250).Draw(t, "p"))}
			readings = append(readings, r)
			r.Pressure = -r.Pressure
			turned = append(turned, r)
		}
		slope := Trends(readings)[0].PerMonth
		if other := Trends(rapid.Permutation(readings).Draw(t, "order"))[0].PerMonth; other != slope {
			t.Fatalf("slope %v and %v", slope, other)
		}
		if other := Trends(turned)[0].PerMonth; math.Abs(other+slope) > 1e-9 {
			t.Fatalf("slope %v, turned %v", slope, other)
		}
	})
}

func TestTransmembranePressureFormulasDiffer(t *testing.T) {
	in := Inputs{"blood_inlet_pressure": 190, "blood_outlet_pressure": 130, "dialysate_inlet_pressure": 20, "dialysate_outlet_pressure": -20}
	near(t, "four", value(t, "tmp-four-pressures", in), 160, 1e-12)
	near(t, "three", value(t, "tmp-three-pressures", in), 180, 1e-12)
	near(t, "two", value(t, "tmp-two-pressures", in), 150, 1e-12)
}
