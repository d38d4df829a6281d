// Package ucum reads codes of the Unified Code for Units of Measure (UCUM,
// Schadow and McDonald, version 2.1, https://ucum.org), case-sensitive form:
// it parses the whole grammar, tells the dimension of a unit, converts
// between commensurable units and says what was probably meant by a code that
// is not one ("mmHg" for "mm[Hg]").
//
// It is stricter than common practice in what the standard says in words: a
// prefix stands only before a metric atom, a number is positive, an
// annotation has no space in it, and nothing stands before or after the code.
// Units on a scale without a true zero, such as Cel, may be multiplied by a
// number but take part in no other algebra (UCUM sections 21 and 22).
//
// It does not read the case-insensitive form and does not say which unit is
// right for a measurement; that is for the caller, with [Unit.Dimension].
package ucum

//go:generate sh -c "cd gen && npm ci --ignore-scripts && node atoms.mjs | gofmt > ../table_atoms.go"

import "fmt"

const baseUnits = 7

// Dimension holds the exponent of every base unit of UCUM (metre, second,
// gram, radian, kelvin, coulomb, candela), followed by those of the arbitrary
// units, each of which is a dimension of its own: [iU] is commensurable with
// [iU] and nothing else (UCUM section 24). Two units are commensurable when
// their dimensions are equal. The mole is a number in UCUM, so mmol/L and /L
// have the same dimension.
type Dimension [baseUnits + arbitraryUnits]int8

// Unit is a parsed UCUM code. The zero value is no unit; get one from [Parse].
type Unit struct {
	code    string
	dim     Dimension
	special special
}

// Code returns the code as it was parsed.
func (u Unit) Code() string { return u.code }

// Dimension returns the unit's dimension.
func (u Unit) Dimension() Dimension { return u.dim }

// Parse reads a UCUM code. The error is a [*SyntaxError].
func Parse(code string) (Unit, error) {
	p := parser{code: code}
	if err := p.parse(); err != nil {
		return Unit{}, err
	}
	return Unit{code: code, dim: p.dim, special: p.special}, nil
}

// Commensurable reports whether both codes are valid and have the same
// dimension, so that a value in one can be converted to the other.
func Commensurable(a, b string) bool {
	unitA, errA := Parse(a)
	unitB, errB := Parse(b)
	return errA == nil && errB == nil && unitA.dim == unitB.dim
}

// SyntaxError says where a code stops being UCUM and why.
type SyntaxError struct {
	// Code is what was parsed.
	Code string
	// Offset is the byte the trouble begins at, counted from 0.
	Offset int
	// Expected says what would have been right there, lower case.
	Expected string
	// Suggestion is a valid code that was perhaps meant, or "". It is a
	// guess from the spelling and must never be put in silently.
	Suggestion string
}

func (e *SyntaxError) Error() string {
	message := fmt.Sprintf("unit %q is not UCUM: at byte %d %s expected", e.Code, e.Offset, e.Expected)
	if e.Suggestion != "" {
		message += fmt.Sprintf("; did you mean %s?", e.Suggestion)
	}
	return message
}
