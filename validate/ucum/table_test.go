package ucum

import (
	"slices"
	"testing"
)

// Every atom's own dimension must be that of its definition, and its size
// must be a number above zero: the table is generated, and the parser that
// reads it must agree with it.
func TestTableIsConsistent(t *testing.T) {
	if !slices.IsSortedFunc(atoms[:], func(a, b atom) int { return compareCodes(a.code, b.code) }) ||
		!slices.IsSortedFunc(prefixes[:], func(a, b prefix) int { return compareCodes(a.code, b.code) }) {
		t.Fatal("table is not sorted; binary search needs it")
	}
	for i := range atoms {
		a := &atoms[i]
		if pre, unit := resolve(a.code); unit != a || pre != nil {
			t.Errorf("%s does not resolve to itself", a.code)
		}
		if a.unit == "" {
			continue
		}
		defined, err := Parse(a.unit)
		if err != nil {
			t.Errorf("%s: definition: %v", a.code, err)
			continue
		}
		if a.arbitrary == 0 && [baseUnits]int8(defined.dim[:baseUnits]) != a.dim {
			t.Errorf("%s: dimension %v, its definition %s has %s", a.code, a.dim, a.unit, defined.dim)
		}
		if size := a.size(); size.tooLarge || size.product.Sign() <= 0 {
			t.Errorf("%s: size %v", a.code, size.product)
		}
	}
}

func compareCodes(a, b string) int {
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	default:
		return 0
	}
}
