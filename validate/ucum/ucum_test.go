package ucum_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
	"runsheet.example/validate/ucum"
)

// Units of a record of dialysis and the dimensions they must have.
func TestParseDimension(t *testing.T) {
	for code, want := range map[string]string{
		"kg": "g", "mm[Hg]": "m-1.s-2.g", "kPa": "m-1.s-2.g", "mL/min": "m3.s-1", "L/h": "m3.s-1",
		"mL/kg/h": "m3.s-1.g-1", "mL/(kg.h)": "m3.s-1.g-1", "mL/h/kg": "m3.s-1.g-1",
		"mS/cm": "m-3.s.g-1.C2", "Cel": "K", "[degF]": "K", "1": "1", "{ratio}": "1", "%": "1",
		"g/kg/d": "s-1", "mL/min/{1.73_m2}": "m3.s-1", "mL/min/(173.10*-2.m2)": "m.s-1",
		"mL/min/1.73.m2": "m5.s-1", "mmol/L": "m-3", "meq/L": "m-3", "mg/dL": "m-3.g",
		"/min": "s-1", "/wk": "s-1", "[iU]": "[iU]", "[IU]": "[iU]", "[iU]/h": "s-1.[iU]",
		"k[iU]/L": "m-3.[iU]", "[arb'U]": "[arb'U]", "[iU]/[iU]": "1", "U/L": "m-3.s-1",
		"10*9/L": "m-3", "10^3": "1", "/m.s": "m-1.s", "(m/s)/(m/s2)": "s", "m/(s/m)": "m2.s-1",
		"cd": "cd", "dar": "m2", "dam": "m", "[in_i'Hg]": "m-1.s-2.g", "B[10.nV]": "m2.s-2.g.C-1",
		"[m/s2/Hz^(1/2)]": "m2.s-3", "Bd": "s-1", "2.Cel": "K", "mCel{core}": "K", "m0": "1",
		"100{cells}": "1", "{}": "1", "m+2": "m2", "/(12.h)": "s-1",
	} {
		unit, err := ucum.Parse(code)
		if err != nil {
			t.Errorf("%s: %v", code, err)
		} else if got := unit.Dimension().String(); got != want {
			t.Errorf("%s: dimension %s, want %s", code, got, want)
		}
	}
}

// What is not UCUM, where the trouble begins, and what is offered instead.
func TestParseError(t *testing.T) {
	for _, c := range []struct {
		code       string
		offset     int
		suggestion string
	}{
		{"", 0, ""}, {" ", 0, ""}, {"kg ", 2, "kg"}, {" kg", 0, "kg"}, {"kg m", 2, ""},
		{"mmHg", 0, "mm[Hg]"}, {"mm[hg]", 0, "mm[Hg]"}, {"mm Hg", 2, "mm[Hg]"}, {"mmHg/min", 0, "mm[Hg]/min"},
		{"°C", 0, "Cel"}, {"degC", 0, "Cel"}, {"degF", 0, "[degF]"},
		{"mcg", 0, "ug"}, {"mcg/L", 0, "ug/L"}, {"µg", 0, "ug"}, {"mEq/L", 0, "meq/L"}, {"IU", 0, "[iU]"},
		{"IU/h", 0, "[iU]/h"}, {"bpm", 0, "/min"}, {"hr", 0, "h"}, {"mL/hr", 3, "mL/h"}, {"mLs", 0, "mL"},
		{"lbs", 0, "[lb_av]"}, {"m²", 0, "m2"}, {"mL/min/1.73 m2", 11, "mL/min/{1.73_m2}"}, {"mL/min/1.73m2", 11, "mL/min/{1.73_m2}"}, {"KG", 0, "kg"},
		{"[gauge]", 0, ""}, {"2m", 1, "2.m"}, {"ppm", 0, "[ppm]"}, {"mL per min", 2, "mL/min"},
		{"m//s", 2, ""}, {"m/", 2, ""}, {".m", 0, ""}, {"m..s", 2, ""}, {"m--2", 2, ""}, {"m+", 2, ""},
		{"(m", 2, ""}, {"m)", 1, ""}, {"(m)2", 3, ""}, {"()", 1, ""}, {"(/m)", 1, ""}, {"m(s)", 1, ""},
		{"{a", 2, ""}, {"a}", 1, ""}, {"m{a}{b}", 4, ""}, {"m{a}2", 4, ""}, {"{a}m", 3, ""},
		{"{a b}", 2, "{ab}"}, {"{é}", 1, ""}, {"m[", 1, ""}, {"+2", 0, ""}, {"-2", 0, ""}, {"0", 0, ""},
		{"100*3", 3, ""}, {"10*3*", 4, ""}, {"m2s", 2, "m2.s"}, {"kmin", 0, ""}, {"k%", 0, ""}, {"Qm", 0, ""},
		{"Cel/min", 3, ""}, {"mL/Cel", 0, ""}, {"Cel2", 0, ""}, {"Cel.m", 4, ""}, {"/Cel", 1, ""},
		{"[pH].[pH]", 5, ""}, {"dB/m", 2, ""}, {"m999", 1, ""}, {"m-100", 1, ""}, {"b50", 0, ""},
	} {
		_, err := ucum.Parse(c.code)
		var syntax *ucum.SyntaxError
		if !errors.As(err, &syntax) {
			t.Errorf("%q: parsed, or another error: %v", c.code, err)
			continue
		}
		if syntax.Offset != c.offset || syntax.Suggestion != c.suggestion {
			t.Errorf("%q: offset %d, suggestion %q; want %d, %q (%v)",
				c.code, syntax.Offset, syntax.Suggestion, c.offset, c.suggestion, err)
		}
	}
}

func TestCommensurable(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want bool
	}{
		{"mm[Hg]", "kPa", true}, {"kg", "[lb_av]", true}, {"Cel", "[degF]", true}, {"mL/min", "L/h", true},
		{"mL/kg/h", "mL/min", false}, {"U", "[iU]", false}, {"[iU]", "1", false}, {"[iU]", "[arb'U]", false},
		{"mmol/L", "mg/dL", false}, {"ms/cm", "mS/cm", false}, {"kg", "", false}, {"mmHg", "mmHg", false},
	} {
		if got := ucum.Commensurable(c.a, c.b); got != c.want {
			t.Errorf("%s and %s: %v, want %v", c.a, c.b, got, c.want)
		}
	}
}

func TestConvert(t *testing.T) {
	for _, c := range []struct {
		value    float64
		from, to string
		want     float64
	}{
		{300, "mL/min", "L/h", 18},         // exact: 300 × 60 / 1000
		{14, "mS/cm", "S/m", 1.4},          // exact: 14 × 0.1
		{160, "[lb_av]", "kg", 72.5747792}, // 1 lb = 0.45359237 kg, international pound of 1959
		{98.6, "[degF]", "Cel", 37},        // (98.6 − 32) × 5/9
		{37, "Cel", "K", 310.15},           // 0 °C = 273.15 K, SI brochure, 9th edition
		{-40, "Cel", "[degF]", -40},        // the two scales cross at −40
		{120, "mm[Hg]", "kPa", 15.99864},   // 1 mm[Hg] = 133.322 Pa, UCUM table of units
		{1, "[in_i]", "cm", 2.54},          // international inch
		{7, "[pH]", "mol/L", 1e-7},         // pH = −lg(c / (mol/L))
		{20, "dB", "1", 100},               // 2 B = lg 100
		{1000, "m[iU]", "[iU]", 1},         // prefix milli
		{6, "g/kg/d", "g/kg/h", 0.25},      // 24 h in a day
		{5, "%", "1", 0.05},                // per cent
		{1, "%[slope]", "deg", math.Atan(0.01) * 180 / math.Pi},
		{2, "[hp'_C]", "1", 1e-4}, // the second centesimal potency is 1 in 10,000
	} {
		got, err := ucum.Convert(c.value, c.from, c.to)
		if err != nil {
			t.Errorf("%v %s: %v", c.value, c.from, err)
		} else if math.Abs(got-c.want) > 1e-15*math.Abs(c.want) && math.Abs(got/c.want-1) > 1e-14 {
			t.Errorf("%v %s = %v %s, want %v", c.value, c.from, got, c.to, c.want)
		}
	}
	if got, _ := ucum.Convert(300, "mL/min", "L/h"); got != 18 {
		t.Errorf("300 mL/min = %v L/h, want exactly 18", got)
	}
}

func TestConvertRefuses(t *testing.T) {
	huge := strings.Repeat("[acr_us]60.[pi]60.", 40) + "m"
	for _, c := range []struct {
		value    float64
		from, to string
		want     error
	}{
		{1, "kg", "L", ucum.ErrNotCommensurable},
		{1, "[iU]", "U", ucum.ErrNotCommensurable},
		{math.NaN(), "kg", "g", ucum.ErrOutOfRange},
		{math.Inf(1), "kg", "g", ucum.ErrOutOfRange},
		{1e308, "Ym", "ym", ucum.ErrOutOfRange},
		{1, "10*999.10*999", "1", ucum.ErrOutOfRange},
		{-1, "1", "[hp'_X]", ucum.ErrOutOfRange},
		{1, strings.ReplaceAll(huge, "[acr_us]60", "10*999"), "m", ucum.ErrOutOfRange},
	} {
		if got, err := ucum.Convert(c.value, c.from, c.to); !errors.Is(err, c.want) {
			t.Errorf("%v %.20s to %s: %v, %v; want %v", c.value, c.from, c.to, got, err, c.want)
		}
	}
	var syntax *ucum.SyntaxError
	if _, err := ucum.Convert(1, "kg", "lbs"); !errors.As(err, &syntax) || syntax.Suggestion != "[lb_av]" {
		t.Errorf("kg to lbs: %v", err)
	}
}

// Limits on what a hostile code can ask for.
func TestParseHostile(t *testing.T) {
	for name, code := range map[string]string{
		"long":       strings.Repeat("m.", ucum.MaxLength) + "m",
		"deep":       strings.Repeat("(", ucum.MaxDepth+1) + "m" + strings.Repeat(")", ucum.MaxDepth+1),
		"exponent":   "m" + strings.Repeat("9", 500),
		"sum":        "m99.m99",
		"annotation": "{" + strings.Repeat("a", ucum.MaxLength),
		"bracket":    "[" + strings.Repeat("[", 900),
		"nul":        "m\x00",
		"bytes":      "\xff\xfe",
	} {
		if _, err := ucum.Parse(code); err == nil {
			t.Errorf("%s: accepted", name)
		}
	}
	deepest := strings.Repeat("(", ucum.MaxDepth) + "m" + strings.Repeat(")", ucum.MaxDepth)
	if _, err := ucum.Parse(deepest); err != nil {
		t.Errorf("deepest nesting allowed: %v", err)
	}
}

func TestCheck(t *testing.T) {
	for code, rule := range map[string]string{
		"mmHg": "unit-not-ucum", "kg ": "unit-not-ucum",
		"U": "unit-valid-but-suspicious", "C": "unit-valid-but-suspicious", "ms/cm": "unit-valid-but-suspicious",
		"[G]": "unit-valid-but-suspicious", "mL/min/1.73.m2": "unit-valid-but-suspicious",
		"U/L": "", "[iU]": "", "Cel": "", "mS/cm": "", "mL/min/{1.73_m2}": "",
	} {
		f, found := ucum.Check(code)
		if found != (rule != "") || f.Rule != rule {
			t.Errorf("%s: rule %q, want %q", code, f.Rule, rule)
		}
		if found && f.Value != code {
			t.Errorf("%s: value %q", code, f.Value)
		}
	}
}

// genUnit makes valid codes of units without an offset.
var genUnit = rapid.Custom(func(t *rapid.T) string {
	var build func(depth int) string
	component := func(depth int) string {
		switch kind := rapid.IntRange(0, 9).Draw(t, "kind"); {
		case kind == 0 && depth < 3:
			return "(" + build(depth+1) + ")"
		case kind == 1:
			return rapid.StringMatching(`[1-9][0-9]{0,2}`).Draw(t, "number")
		case kind == 2:
			return "{" + rapid.StringMatching(`[a-z_0-9]{0,4}`).Draw(t, "note") + "}"
		case kind == 3:
			return "10*" + rapid.StringMatching(`-?[1-9]`).Draw(t, "power")
		default:
			return rapid.SampledFrom([]string{"m", "kg", "s", "L", "mL", "min", "h", "mm[Hg]", "Pa", "[iU]", "mol", "S", "%"}).Draw(t, "atom") +
				rapid.SampledFrom([]string{"", "", "", "2", "-1", "-2"}).Draw(t, "exponent")
		}
	}
	build = func(depth int) string {
		term := component(depth)
		for range rapid.IntRange(0, 3).Draw(t, "more") {
			term += rapid.SampledFrom([]string{".", "/"}).Draw(t, "operator") + component(depth)
		}
		return term
	}
	return build(0)
})

func mustParse(t *rapid.T, code string) ucum.Unit {
	unit, err := ucum.Parse(code)
	if err != nil {
		t.Fatalf("%v", err)
	}
	return unit
}

func TestAlgebra(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := genUnit.Draw(t, "a"), genUnit.Draw(t, "b")
		ab, ba := mustParse(t, "("+a+").("+b+")"), mustParse(t, "("+b+").("+a+")")
		if ab.Dimension() != ba.Dimension() {
			t.Fatalf("%s and %s do not commute", a, b)
		}
		if one := mustParse(t, "("+a+")/("+a+")").Dimension(); one != (ucum.Dimension{}) {
			t.Fatalf("%s over itself: %s", a, one)
		}
		quotient, product := mustParse(t, "("+a+")/("+b+")").Dimension(), mustParse(t, a).Dimension()
		for i, e := range mustParse(t, b).Dimension() {
			product[i] -= e
		}
		if quotient != product {
			t.Fatalf("(%s)/(%s): %s, want %s", a, b, quotient, product)
		}
	})
}

func TestConvertThereAndBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := genUnit.Draw(t, "a")
		value := rapid.Float64Range(-1e6, 1e6).Draw(t, "value")
		base := mustParse(t, a).Dimension().String()
		there, err := ucum.Convert(value, a, base)
		if errors.Is(err, ucum.ErrOutOfRange) {
			t.Skip("too small for a number")
		}
		if err != nil {
			t.Fatalf("%s to %s: %v", a, base, err)
		}
		const smallest = 1e-290 // below, a number begins to lose digits
		if there != 0 && math.Abs(there) < smallest {
			t.Skip("too small to come back whole")
		}
		back, err := ucum.Convert(there, base, a)
		if err != nil || math.Abs(back-value) > 1e-14*math.Abs(value) {
			t.Fatalf("%v %s -> %v %s -> %v: %v", value, a, there, base, back, err)
		}
	})
}

func FuzzParse(f *testing.F) {
	for _, seed := range []string{"mL/min/{1.73_m2}", "10*-2.Cel", "((m[H2O])/B[10.nV]2", "[m/s2/Hz^(1/2)]", "mmHg", "°C", "{", "100*3"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, code string) {
		unit, err := ucum.Parse(code)
		if err != nil {
			var syntax *ucum.SyntaxError
			if !errors.As(err, &syntax) {
				t.Fatalf("%q: not a syntax error: %v", code, err)
			}
			if syntax.Offset < 0 || syntax.Offset > len(syntax.Code) {
				t.Fatalf("%q: offset %d", code, syntax.Offset)
			}
			if s := syntax.Suggestion; s != "" {
				if _, err := ucum.Parse(s); err != nil {
					t.Fatalf("%q: suggestion %q: %v", code, s, err)
				}
			}
			return
		}
		again, err := ucum.Parse(unit.Dimension().String())
		if err != nil || again.Dimension() != unit.Dimension() {
			t.Fatalf("%q: dimension %s reads back as %s, %v", code, unit.Dimension(), again.Dimension(), err)
		}
		// On a scale of its own float64 may not tell 1 from 0 (1 aB).
		if got, err := ucum.Convert(1, code, code); err == nil && !unit.IsSpecial() && math.Abs(got-1) > 1e-9 {
			t.Fatalf("1 %q = %v of itself", code, got)
		}
	})
}

func BenchmarkParse(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		for _, code := range [...]string{"mL/min", "mm[Hg]", "kg", "mL/kg/h", "[iU]/h"} {
			if _, err := ucum.Parse(code); err != nil {
				b.Fatal(err)
			}
		}
	}
}
