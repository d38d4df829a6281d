package fhirpath

import (
	"fmt"
	"math/big"
	"strings"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/ucum"
)

// Bound is a value for comparison.
type Bound struct{ v value }

// NumberBound parses a JSON number.
func NumberBound(text string) (Bound, error) {
	if len(text) > maxDigits || strings.ContainsAny(text, "eE") {
		return Bound{}, fmt.Errorf("the number is too long")
	}
	n, ok := new(big.Rat).SetString(text)
	if !ok {
		return Bound{}, fmt.Errorf("%q is no number", text)
	}
	return Bound{number(n)}, nil
}

// QuantityBound parses a number with a UCUM unit.
func QuantityBound(text, code string) (Bound, error) {
	b, err := NumberBound(text)
	if err == nil {
		_, err = ucum.Parse(code)
	}
	b.v.kind, b.v.text = kindQuantity, code
	return b, err
}

// MomentBound parses a date, dateTime or instant or (ofDay) a time of day.
func MomentBound(written string, ofDay bool) (Bound, error) {
	if _, ok := parseMoment(written, ofDay); !ok {
		return Bound{}, fmt.Errorf("%q is no date or time", written)
	}
	v := text(written)
	v.kind = kindMoment
	if ofDay {
		v.kind = kindTime
	}
	return Bound{v}, nil
}

// Order compares the value of a node with the bound: below 0 if it is less.
// known is false if precision or units do not decide. The error explains why
// the two have no order.
func (b Bound) Order(env *Environment, n doc.Node) (order int, known bool, err error) {
	e := begin(env, n)
	order, known = e.order(e.focus, b.v)
	return order, known, e.err
}
