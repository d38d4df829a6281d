package ucum

import (
	"strconv"
	"strings"
)

// baseSymbols name the base units in the order of a [Dimension].
var baseSymbols = [baseUnits]string{"m", "s", "g", "rad", "K", "C", "cd"}

// String writes the dimension as a UCUM term of base units, "1" for none.
func (d Dimension) String() string {
	var b strings.Builder
	for i, exponent := range d {
		if exponent == 0 {
			continue
		}
		if b.Len() > 0 {
			b.WriteByte('.')
		}
		b.WriteString(dimensionSymbol(i))
		if exponent != 1 {
			b.WriteString(strconv.Itoa(int(exponent)))
		}
	}
	if b.Len() == 0 {
		return "1"
	}
	return b.String()
}

func dimensionSymbol(i int) string {
	if i < baseUnits {
		return baseSymbols[i]
	}
	for _, a := range atoms {
		if int(a.arbitrary) == i-baseUnits+1 && a.unit == "1" {
			return a.code
		}
	}
	panic("ucum: no arbitrary unit of this number")
}

// IsSpecial reports whether the unit is on a scale of its own (temperatures
// with an offset, logarithms, pH), so that converting it is more than
// multiplying.
func (u Unit) IsSpecial() bool { return u.special != ratio }
