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
	if unit = find(atoms[:], symbol); unit != nil {
		return nil, unit
	}
	for length := 1; length <= 2 && length < len(symbol); length++ {
		pre, unit = find(prefixes[:], symbol[:length]), find(atoms[:], symbol[length:])
		if pre != nil && unit != nil && unit.metric {
			return pre, unit
		}
	}
	return nil, nil
}

func (a atom) symbol() string   { return a.code }
func (p prefix) symbol() string { return p.code }

// find finds a row of a table that is sorted by its codes.
func find[T interface{ symbol() string }](table []T, code string) *T {
	i, ok := slices.BinarySearchFunc(table, code, func(row T, code string) int { return cmp.Compare(row.symbol(), code) })
	if !ok {
		return nil
	}
	return &table[i]
}
