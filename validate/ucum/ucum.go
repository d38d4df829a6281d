// Package ucum implements the Unified Code for Units of Measure (UCUM, Schadow
// and McDonald, version 2.1, https://ucum.org), case-sensitive form. It parses
// the whole grammar, computes the dimension of a unit, converts between
// commensurable units and suggests a valid code for an invalid one ("mm[Hg]"
// for "mmHg").
//
// It enforces what the standard states in prose and common practice ignores: a
// prefix occurs only before a metric atom, a number is positive, an annotation
// has no space, and no text surrounds the code. Units on a scale without a
// true zero, such as Cel, may be multiplied by a number but take part in no
// other algebra (UCUM sections 21 and 22).
//
// It does not parse the case-insensitive form. It does not decide which unit
// is right for a measurement; the caller does, with [Unit.Dimension].
package ucum

//go:generate sh -c "cd gen && npm ci --ignore-scripts && node atoms.mjs | gofmt > ../table_atoms.go"

import "fmt"

const baseUnits = 7

// Dimension holds the exponent of every base unit of UCUM (metre, second,
// gram, radian, kelvin, coulomb, candela), then of the arbitrary units, each
// of which is a separate dimension: [iU] is commensurable with [iU] and
// nothing else (UCUM section 24). Two units are commensurable if their
// dimensions are equal. The mole is a number in UCUM, so mmol/L and /L have
// the same dimension.
type Dimension [baseUnits + arbitraryUnits]int8

// Unit is a parsed UCUM code. The zero value is not a unit; [Parse] returns
// one.
type Unit struct {
	code    string
	dim     Dimension
	special special
}

// Code returns the code as parsed.
func (u Unit) Code() string { return u.code }

// Dimension returns the unit's dimension.
func (u Unit) Dimension() Dimension { return u.dim }

// Parse parses a UCUM code. The error is a [*SyntaxError].
func Parse(code string) (Unit, error) {
	p := parser{code: code}
	if err := p.parse(); err != nil {
		return Unit{}, err
	}
	return Unit{code: code, dim: p.dim, special: p.special}, nil
}

// Commensurable reports whether both codes are valid and have the same
// dimension, so that their values can be converted.
func Commensurable(a, b string) bool {
	unitA, errA := Parse(a)
	unitB, errB := Parse(b)
	return errA == nil && errB == nil && unitA.dim == unitB.dim
}

// SyntaxError describes where and why a code is not UCUM.
type SyntaxError struct {
	// Code is the parsed text.
	Code string
	// Offset is the byte offset of the fault, counted from 0.
	Offset int
	// Expected describes what is valid at that offset, in lower case.
	Expected string
	// Suggestion is a valid code that was probably intended, or "". It is a
	// guess from the spelling; never apply it silently.
	Suggestion string
}

func (e *SyntaxError) Error() string {
	message := fmt.Sprintf("unit %q is not UCUM: at byte %d %s expected", e.Code, e.Offset, e.Expected)
	if e.Suggestion != "" {
		message += fmt.Sprintf("; did you mean %s?", e.Suggestion)
	}
	return message
}
