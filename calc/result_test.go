package calc

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestRounded(t *testing.T) {
	for _, c := range []struct {
		value    float64
		decimals int
		want     string
	}{
		{72.6 - 70.3, 2, "2.30"},       // 2.2999999999999972 in binary
		{72.6 - 70.3 + 0.55, 1, "2.9"}, // 2.85 in decimals, half away from zero
		{-0.05, 1, "-0.1"},             // away from zero on both sides
		{-0.004, 2, "0.00"},            // no negative zero
		{93.33333, 0, "93"},
		{9.996, 2, "10.00"},
		{0.0004, 2, "0.00"},
		{1e21, 0, "1000000000000000000000"}, // no exponent
		{1234.5, 0, "1235"},
	} {
		r := Result{Value: c.value, Method: Method{Decimals: c.decimals}}
		if got := r.Rounded(); got != c.want {
			t.Errorf("Rounded(%v, %d) = %s, want %s", c.value, c.decimals, got, c.want)
		}
	}
	if got := (Result{Value: 1, WhyNot: "no sample"}).Rounded(); got != "" {
		t.Errorf("Rounded without value = %q", got)
	}
}

func TestRoundedIsNearest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Float64Range(-1e6, 1e6).Draw(t, "value")
		decimals := rapid.IntRange(0, 4).Draw(t, "decimals")
		text := Result{Value: v, Method: Method{Decimals: decimals}}.Rounded()
		back, err := strconv.ParseFloat(text, 64)
		if err != nil {
			t.Fatal(err)
		}
		if half := 0.5 * math.Pow10(-decimals); math.Abs(back-v) > half+1e-6*half {
			t.Fatalf("%v became %s", v, text)
		}
		if _, fraction, found := strings.Cut(text, "."); found != (decimals > 0) || len(fraction) != decimals {
			t.Fatalf("%s has not %d decimals", text, decimals)
		}
	})
}

func TestComputeSaysWhyNot(t *testing.T) {
	full := Inputs{"urea_before": 25, "urea_after": 9, "treated_time": 240, "uf_removed": 2.5, "weight_after": 70}
	for _, c := range []struct {
		name    string
		change  func(Inputs)
		why     string
		missing string
	}{
		{"missing input", func(in Inputs) { delete(in, "weight_after") }, "not recorded: weight after dialysis", "[weight_after]"},
		{"two missing", func(in Inputs) { delete(in, "urea_before"); delete(in, "urea_after") }, "not recorded: urea before dialysis, urea after dialysis", "[urea_before urea_after]"},
		{"swapped samples", func(in Inputs) { in["urea_before"], in["urea_after"] = 9, 25 }, "swapped or mislabelled", "[]"},
		{"equal samples", func(in Inputs) { in["urea_after"] = 25 }, "swapped or mislabelled", "[]"},
		{"log undefined", func(in Inputs) { in["urea_after"] = 0.5 }, "generation term", "[]"},
		{"not a number", func(in Inputs) { in["uf_removed"] = math.NaN() }, "not a finite number", "[]"},
		{"no time", func(in Inputs) { in["treated_time"] = 0 }, "treated time must be above zero", "[]"},
	} {
		t.Run(c.name, func(t *testing.T) {
			in := Inputs{}
			for key, v := range full {
				in[key] = v
			}
			c.change(in)
			m, _ := MethodByID("spktv-daugirdas2")
			r := m.Compute(in)
			if r.OK() || !math.IsNaN(r.Value) || !strings.Contains(r.WhyNot, c.why) || fmt.Sprint(r.Missing) != c.missing {
				t.Errorf("got value %v, why %q, missing %v", r.Value, r.WhyNot, r.Missing)
			}
			if len(r.Notes) != 0 {
				t.Errorf("notes without value: %q", r.Notes)
			}
		})
	}
}

func TestNotesSayWhatWasAssumed(t *testing.T) {
	m, _ := MethodByID("uf-expected")
	r := m.Compute(Inputs{"weight_before": 72.6, "weight_after": 70.3, "drinks": 0.3, "rinseback": 0.25, "saline": 0})
	if got, want := r.Rounded(), "2.85"; got != want {
		t.Errorf("uf_expected = %s, want %s", got, want)
	}
	if got, want := fmt.Sprint(r.Notes), "[urine passed during dialysis not recorded: left out]"; got != want {
		t.Errorf("notes %s, want %s", got, want)
	}

	m, _ = MethodByID("spktv-daugirdas2")
	r = m.Compute(Inputs{"urea_before": 20, "urea_after": 12, "treated_time": 130, "uf_removed": -0.2, "weight_after": 62, "preceding_interval": 1, "sessions_per_week": 5})
	if len(r.Notes) != 4 {
		t.Errorf("notes %q, want negative UF, schedule, interval and length", r.Notes)
	}
}

func TestExplainPutsNumbersIn(t *testing.T) {
	in := Inputs{"urea_before": 70, "urea_after": 20, "treated_time": 240, "uf_removed": 2.5, "weight_after": 70}
	m, _ := MethodByID("spktv-daugirdas2")
	const want = "sp_kt_v = 1.48 = -ln(R - 0.008*240/60) + (4 - 3.5*R)*2.5/70; R = 20/70"
	if got := m.Compute(in).Explain(); got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
	delete(in, "urea_after")
	if got := m.Compute(in).Explain(); got != "sp_kt_v: no value: not recorded: urea after dialysis" {
		t.Error(got)
	}
	m, _ = MethodByID("uf-expected")
	const partly = "uf_expected = 2.30 L = 72.6 - 70.3 + (drinks not recorded) + (saline not recorded) + (rinseback not recorded) - (urine not recorded)"
	if got := m.Compute(Inputs{"weight_before": 72.6, "weight_after": 70.3}).Explain(); got != partly {
		t.Error(got)
	}
}

// A number below zero stands in brackets, zero does not.
func TestExplainBracketsNegativeNumbers(t *testing.T) {
	m, _ := MethodByID("uf-expected")
	const want = "uf_expected = 2.20 L = 72.6 - 70.3 + (-0.1) + 0 + (rinseback not recorded) - (urine not recorded)"
	in := Inputs{"weight_before": 72.6, "weight_after": 70.3, "drinks": -0.1, "saline": 0}
	r := Result{Method: m, Value: 2.2, Unit: "L"}
	for _, key := range []string{"weight_before", "weight_after", "drinks", "saline"} {
		r.Inputs = append(r.Inputs, Input{Key: key, Value: in[key]})
	}
	if got := r.Explain(); got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
}

// A regression that ends at no volume has no value either.
func TestBodyWaterIsAboveZero(t *testing.T) {
	for litres, defined := range map[float64]bool{0.01: true, 0: false, -0.01: false} {
		if _, err := positiveVolume(litres); (err == nil) != defined {
			t.Errorf("%v L: %v", litres, err)
		}
	}
}

func TestMethodTable(t *testing.T) {
	known := map[string]InputSpec{}
	for _, spec := range Vocabulary() {
		if known[spec.Key].Key != "" {
			t.Errorf("%s is twice in the vocabulary", spec.Key)
		}
		known[spec.Key] = spec
	}
	seen := map[string]bool{}
	for _, m := range Methods() {
		if seen[m.ID] {
			t.Errorf("%s: id used twice", m.ID)
		}
		seen[m.ID] = true
		if out, found := known[m.Key]; !found || out.Unit != m.Unit {
			t.Errorf("%s: computes %s in %s, the vocabulary has %q", m.ID, m.Key, m.Unit, out.Unit)
		}
		if !strings.HasPrefix(m.Formula, m.Key+" = ") {
			t.Errorf("%s: formula does not begin with %s", m.ID, m.Key)
		}
		if m.Version == "" || m.Quantity == "" || m.Source == "" || m.Range == "" || len(m.Inputs) == 0 {
			t.Errorf("%s: incomplete entry", m.ID)
		}
		for _, spec := range m.Inputs {
			if spec.Key == "" || !strings.Contains(m.Formula+m.Range, spec.Key) {
				t.Errorf("%s: input %q is unknown or in neither formula nor range", m.ID, spec.Key)
			}
		}
		if got := m.Compute(Inputs{}); got.OK() || got.WhyNot == "" {
			t.Errorf("%s: has a value from nothing", m.ID)
		}
	}
}

func TestSequenceFeedsValuesOn(t *testing.T) {
	in := Inputs{"height": 165, "weight_after": 65, "dialysate_saturation": 0.95, "dialysate_volume": 25, "uf_removed": 1.5}
	results := Sequence(in, "watson-female", "dialysate-kt-v", "no-such-method")
	if !results[1].OK() || math.Abs(results[1].Value-0.95*26.5/results[0].Value) > 1e-12 {
		t.Errorf("dialysate-kt-v: %v %s", results[1].Value, results[1].WhyNot)
	}
	if results[2].OK() {
		t.Error("an unknown method has a value")
	}
	if _, changed := in["total_body_water"]; changed {
		t.Error("the caller's inputs were changed")
	}
}

func TestShortNumbers(t *testing.T) {
	for v, want := range map[float64]string{39.020540000000004: "39.02054", 0: "0", -0.0001: "-0.0001", 6.887093856370161: "6.887094", 1234567.8: "1234568", math.MaxFloat64: "1797693" + strings.Repeat("0", 302)} {
		if got := ShortDecimal(v); got != want {
			t.Errorf("ShortDecimal(%v) = %q, want %q", v, got, want)
		}
	}
}
