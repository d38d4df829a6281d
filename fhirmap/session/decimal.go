package session

import (
	"errors"
	"strconv"
	"strings"
)

// Decimal is an exact decimal number that keeps the precision it was written
// with: 72.0 stays 72.0. The zero value is no number.
type Decimal struct {
	// text is a JSON number without exponent: [-]digits[.digits].
	text string
}

// ErrNotDecimal is returned for a text that is no plain decimal number.
var ErrNotDecimal = errors.New("not a plain decimal number")

// maxDecimalDigits bounds a number no measurement needs to reach; FHIR R4
// asks receivers for at least 18 significant digits.
const maxDecimalDigits = 18

// ParseDecimal reads a plain decimal number with the given decimal mark ('.'
// or ','). A sign may stand before it, also the typographic minus that
// spreadsheets put in; leading zeros are not kept, trailing zeros are. Thousands
// separators, exponents, units and a mark without digits after it are
// ErrNotDecimal.
func ParseDecimal(s string, mark byte) (Decimal, error) {
	s = strings.ReplaceAll(s, "\u2212", "-")
	s, negative := strings.CutPrefix(s, "-")
	if !negative {
		s = strings.TrimPrefix(s, "+")
	}
	whole, fraction, hasMark := strings.Cut(s, string(mark))
	if hasMark && fraction == "" || !hasMark && whole == "" ||
		!onlyDigits(whole) || !onlyDigits(fraction) ||
		len(whole)+len(fraction) > maxDecimalDigits {
		return Decimal{}, ErrNotDecimal
	}
	whole = strings.TrimLeft(whole, "0")
	if whole == "" {
		whole = "0"
	}
	if hasMark {
		whole += "." + fraction
	}
	if negative {
		whole = "-" + whole
	}
	return Decimal{whole}, nil
}

func onlyDigits(s string) bool {
	for i := range len(s) {
		if s[i] < '0' || s[i] > '9' {
			return false
		}
	}
	return true
}

// String is the number as a JSON number without exponent, with the precision
// as written, or "" for the zero value.
func (d Decimal) String() string { return d.text }

// IsZero reports whether there is no number at all.
func (d Decimal) IsZero() bool { return d.text == "" }

// Negative reports whether the number has a minus.
func (d Decimal) Negative() bool { return strings.HasPrefix(d.text, "-") }

// Float64 is the nearest binary number, for computation and comparison only;
// it never goes back into a record.
func (d Decimal) Float64() float64 {
	f, err := strconv.ParseFloat(d.text, 64)
	if err != nil {
		return 0
	}
	return f
}
