package ucum

import (
	"cmp"
	"math/big"
	"slices"
)

// prefix is a metric or binary prefix with its value as decimal text.
type prefix struct{ code, value string }

// atom is a unit symbol with its definition: value times unit, both as in
// UCUM. A base unit has neither.
type atom struct {
	code        string
	value, unit string
	// metric atoms accept a prefix.
	metric  bool
	special special
	// arbitrary is the number of the arbitrary unit, counted from 1; 0 for
	// all others.
	arbitrary uint8
	dim       [baseUnits]int8
}

func (p *prefix) rat() *big.Rat { return mustRat(p.value) }

// mustRat parses a number of the table.
func mustRat(text string) *big.Rat {
	r, ok := new(big.Rat).SetString(text)
	if !ok {
		panic("ucum: table holds a bad number: " + text)
	}
	return r
}

// resolve finds the atom of a symbol and its prefix, if any; unit is nil if
// there is none. It tries the whole symbol before any prefix, so cd is the
// candela, not a centiday.
func resolve(symbol string) (pre *prefix, unit *atom) {
	if unit = findAtom(symbol); unit != nil {
		return nil, unit
	}
	for length := 1; length <= 2 && length < len(symbol); length++ {
		pre, unit = findPrefix(symbol[:length]), findAtom(symbol[length:])
		if pre != nil && unit != nil && unit.metric {
			return pre, unit
		}
	}
	return nil, nil
}

func findAtom(code string) *atom {
	i, ok := slices.BinarySearchFunc(atoms[:], code, func(a atom, code string) int { return cmp.Compare(a.code, code) })
	if !ok {
		return nil
	}
	return &atoms[i]
}

func findPrefix(code string) *prefix {
	i, ok := slices.BinarySearchFunc(prefixes[:], code, func(p prefix, code string) int { return cmp.Compare(p.code, code) })
	if !ok {
		return nil
	}
	return &prefixes[i]
}
