package profiles

import (
	"slices"
	"strings"
	"testing"
)

func allCodings() []Coding {
	var all []Coding
	for _, m := range Measurements() {
		all = append(all, m.Codings...)
	}
	for _, in := range Inputs() {
		all = append(all, in.Coding)
	}
	for _, p := range Pressures() {
		if p.Position.Code != "" {
			all = append(all, p.Position)
		}
	}
	for _, p := range []Phase{PhasePre, PhaseIntra, PhasePost} {
		c, _ := p.Coding()
		all = append(all, c)
	}
	return append(all, PressurePanel, SystolicCode, DiastolicCode, AdequacyPanel)
}

// A mistyped code almost always fails its check digit. Passing says nothing of
// the meaning; that is what Source is for.
func TestCheckDigits(t *testing.T) {
	seen := map[string]bool{}
	for _, c := range allCodings() {
		seen[c.System] = true
		switch c.System {
		case LOINC:
			if !mod10(c.Code) {
				t.Errorf("LOINC %s fails its check digit", c.Code)
			}
		case SNOMED:
			if !verhoeff(c.Code) {
				t.Errorf("SNOMED CT %s fails its check digit", c.Code)
			}
		}
	}
	if !seen[LOINC] || !seen[SNOMED] || !seen[Local] {
		t.Errorf("systems looked at: %v", seen)
	}
	if mod10("93737-7") || verhoeff("302497007") {
		t.Error("the check digits let a wrong code pass")
	}
}

// mod10 is the LOINC check digit (Luhn on the digits before the hyphen).
func mod10(code string) bool {
	body, check, ok := strings.Cut(code, "-")
	if !ok || len(check) != 1 {
		return false
	}
	sum := 0
	for i := range len(body) {
		d := int(body[len(body)-1-i] - '0')
		if i%2 == 0 {
			if d *= 2; d > 9 {
				d -= 9
			}
		}
		sum += d
	}
	return (10-sum%10)%10 == int(check[0]-'0')
}

// verhoeff is the check of a SNOMED CT identifier (Verhoeff 1969, dihedral
// group of order 10).
func verhoeff(code string) bool {
	multiply := func(a, b int) int {
		switch {
		case a < 5 && b < 5:
			return (a + b) % 5
		case a < 5:
			return (a+b-5)%5 + 5
		case b < 5:
			return (a-5-b+5)%5 + 5
		default:
			return (a - b + 5) % 5
		}
	}
	permute := func(times, digit int) int {
		table := []int{1, 5, 7, 6, 2, 8, 3, 0, 9, 4}
		for range times % 8 {
			digit = table[digit]
		}
		return digit
	}
	check := 0
	for i := range len(code) {
		check = multiply(check, permute(i, int(code[len(code)-1-i]-'0')))
	}
	return check == 0
}

// One code means one thing: a code of ours stands for one display only, and
// every row has what a receiver and an auditor need.
func TestRowsAreComplete(t *testing.T) {
	displays := map[Coding]string{}
	for _, c := range allCodings() {
		key := Coding{System: c.System, Code: c.Code}
		if before, ok := displays[key]; ok && before != c.Display {
			t.Errorf("%s has the displays %q and %q", c.Code, before, c.Display)
		}
		displays[key] = c.Display
	}
	for _, m := range Measurements() {
		if len(m.Codings) == 0 || m.Text == "" || m.Source == "" || m.Field == "" {
			t.Errorf("row %+v is not complete", m)
		}
	}
}

// Findings call every number of a log, and every test of blood, by a name.
func TestNumbersHaveNames(t *testing.T) {
	for _, r := range Rows() {
		numbers := r.Tests != nil || slices.ContainsFunc(r.Columns, func(c Column) bool { return c.Kind == KindNumber && c.Name != "value" })
		row, _ := RowOf(r.Field)
		if numbers && (len(row.Name) != len(Languages) || slices.Contains(row.Name, "")) {
			t.Errorf("%s has no name in each language", r.Field)
		}
	}
}

// No two rows of a field take the same unit: the unit decides between them. Of
// body water the formula does.
func TestUnitDecides(t *testing.T) {
	taken := map[string]bool{}
	for _, m := range Measurements() {
		if m.Field == "total_body_water" {
			continue
		}
		for _, u := range m.Units {
			key := m.Field + " in " + u
			if taken[key] {
				t.Errorf("%s stands twice", key)
			}
			taken[key] = true
		}
	}
	mass, _ := Of("urea_before", "mg/dL")
	molar, _ := Of("urea_before", "mmol/L")
	if mass.Principal() == molar.Principal() {
		t.Error("mass and substance concentration of urea share a code")
	}
	if _, ok := Of("weight_before", "mm[Hg]"); ok {
		t.Error("a weight in mmHg was accepted")
	}
	if !slices.Contains(molar.Units, "mmol/L") {
		t.Errorf("urea in mmol/L gave %v", molar)
	}
}

// A dry weight that carried the code for body weight would be charted as
// measured (R4 vital signs apply by code).
func TestDryWeightIsNoMeasuredWeight(t *testing.T) {
	for _, m := range ByCode(LOINC, "29463-7") {
		if m.Field != "weight_before" && m.Field != "weight_after" {
			t.Errorf("%s carries the code for measured body weight", m.Field)
		}
	}
}
