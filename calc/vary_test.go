package calc_test

import (
	"math"
	"strconv"
	"testing"

	"pgregory.net/rapid"
	. "runsheet.example/calc"
)

// A value recomputed from inputs rounded to two decimals stays within Slack
// of the value written from full precision.
func TestSlackCoversRounding(t *testing.T) {
	m, _ := MethodByID("ektv-rate-av")
	rapid.Check(t, func(t *rapid.T) {
		in := Inputs{"sp_kt_v": rapid.Float64Range(0.5, 2).Draw(t, "sp"), "treated_time": rapid.Float64Range(120, 480).Draw(t, "t")}
		written := parse(t, m.Compute(in).Rounded())
		rounded := Inputs{"sp_kt_v": math.Round(100*in["sp_kt_v"]) / 100, "treated_time": math.Round(in["treated_time"])}
		slack := m.Slack(rounded, Inputs{"sp_kt_v": 0.005, "treated_time": 0.5})
		if difference := math.Abs(m.Compute(rounded).Value - written); difference > slack*1.01 {
			t.Fatalf("differs by %v, slack %v", difference, slack)
		}
	})
}

func parse(t *rapid.T, text string) float64 {
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func TestVaryShowsTheEffectOfOneInput(t *testing.T) {
	m, _ := MethodByID("dialysate-kt-v")
	in := Inputs{"dialysate_saturation": 0.95, "dialysate_volume": 25, "uf_removed": 1.5, "total_body_water": 38.53}
	results := m.Vary(in, "total_body_water", 35, 42)
	if !(results[0].Value > m.Compute(in).Value && m.Compute(in).Value > results[1].Value) {
		t.Errorf("got %v and %v", results[0].Value, results[1].Value)
	}
	if in["total_body_water"] != 38.53 {
		t.Error("the caller's inputs were changed")
	}
	if s := m.Slack(Inputs{}, nil); !math.IsNaN(s) {
		t.Errorf("slack without value = %v", s)
	}
}

// Slack is half a unit of the value's last decimal and the larger effect of
// each rounded input, which a quotient has on its lower side.
func TestSlackOfAQuotient(t *testing.T) {
	m, _ := MethodByID("urr") // 100*(1 - after/before), one decimal
	slack := m.Slack(Inputs{"urea_before": 10, "urea_after": 4}, Inputs{"urea_before": 0.5})
	near(t, "slack", slack, 0.05+100*(4/9.5-4/10.0), 1e-12)
}

// 0.35697 mmol/L per mg/dL
// (molar masses).
func TestUreaUnitsAgree(t *testing.T) {
	for _, bun := range []float64{0, 12, 28.014, 70} {
		near(t, "there and back", BUNFromUrea(UreaFromBUN(bun)), bun, 1e-12)
	}
	near(t, "plasma water, from memory", BodyWaterFromPlasma(93), 100, 1e-12)
}
