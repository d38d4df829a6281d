package calc

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestMethodsGiveFiniteValuesOrReasons(t *testing.T) {
	anything := rapid.OneOf(
		rapid.Float64(), rapid.Float64Range(-1, 1), rapid.Float64Range(0, 500),
		rapid.SampledFrom([]float64{0, math.Inf(1), math.Inf(-1), math.NaN(), math.MaxFloat64, -math.MaxFloat64, math.SmallestNonzeroFloat64}),
	)
	for _, m := range Methods() {
		t.Run(m.ID, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				in := Inputs{}
				for _, spec := range m.Inputs {
					if rapid.IntRange(0, 9).Draw(t, "leave out") > 0 {
						in[spec.Key] = anything.Draw(t, spec.Key)
					}
				}
				r := m.Compute(in)
				if finite := !math.IsNaN(r.Value) && !math.IsInf(r.Value, 0); finite != r.OK() {
					t.Fatalf("value %v, why not %q", r.Value, r.WhyNot)
				}
				if text := r.Rounded(); (text != "") != r.OK() || strings.ContainsAny(text, "eEN") {
					t.Fatalf("text %q of %v", text, r.Value)
				}
				if r.Explain() == "" {
					t.Fatal("no explanation")
				}
			})
		})
	}
}

func TestFormulaProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := rapid.Float64Range(0.2, 2.5).Draw(t, "Kt/V")
		minutes := rapid.Float64Range(60, 600).Draw(t, "t")
		n := rapid.Float64Range(1, 7).Draw(t, "N")
		std := func(k, minutes, n float64) float64 {
			v, err := StdKtVFixedVolume(k, minutes, n)
			if err != nil {
				t.Fatal(err)
			}
			return v
		}
		base := std(k, minutes, n)
		if !(std(k*1.1, minutes, n) > base && std(k, minutes*1.1, n) > base && std(k, minutes, n*1.05) > base) {
			t.Fatal("weekly dose does not rise with dose, time and number")
		}
		if ceiling := MinutesPerWeek * n / (MinutesPerWeek - n*minutes); base >= ceiling {
			t.Fatalf("dose %v, ceiling %v", base, ceiling)
		}
		if base >= n*k+1e-9 {
			t.Fatalf("weekly dose %v is above the sum of the sessions %v", base, n*k)
		}
		ratio := rapid.Float64Range(0.15, 0.9).Draw(t, "R")
		sp := func(r, uf float64) float64 {
			v, err := SpKtVDaugirdas2(r, 3, uf, 70, GFACThriceWeekly)
			if err != nil {
				t.Fatal(err)
			}
			return v
		}
		if !(sp(ratio*0.95, 2) > sp(ratio, 2) && sp(ratio, 2.5) > sp(ratio, 2)) {
			t.Fatal("spKt/V does not rise with the fall of urea and with fluid removed")
		}
		qb, qd, koa := rapid.Float64Range(100, 500).Draw(t, "Qb"), rapid.Float64Range(60, 900).Draw(t, "Qd"), rapid.Float64Range(200, 2000).Draw(t, "KoA")
		clearance, err := DiffusiveClearance(qb, qd, koa)
		more, errMore := DiffusiveClearance(qb, qd, koa*1.2)
		if err != nil || errMore != nil || clearance >= math.Min(qb, qd) || more <= clearance*(1-1e-12) {
			t.Fatalf("clearance %v of flows %v and %v", clearance, qb, qd)
		}
	})
}

func TestRateEquationHasNoValueOfZero(t *testing.T) {
	if v, err := rateEquation(1, 1, 1, 1, 0.001); err != nil || v <= 0 {
		t.Errorf("just above zero: %v, %v", v, err)
	}
	if v, err := rateEquation(1, 1, 1, 1, 0); err == nil {
		t.Errorf("zero: %v", v)
	}
}
