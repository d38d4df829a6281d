package calc

import (
	"math"
	"strconv"
	"strings"
)

// Input is one number used by a method, in the unit of its [InputSpec].
type Input struct {
	Key   string  // name in the shared vocabulary, see [Vocabulary]
	Value float64 // in Unit
	Unit  string  // UCUM
}

// Inputs maps vocabulary keys to numbers, each in the unit of [Vocabulary]. An
// absent key means "not recorded"; zero means zero.
type Inputs map[string]float64

// Result is one computed value, or the reason of its absence.
type Result struct {
	Method  Method   // the method, with its version, formula and source
	Value   float64  // full precision; NaN unless OK
	Unit    string   // UCUM
	Inputs  []Input  // the inputs used, in the order of Method.Inputs
	Notes   []string // validity notes: outside the published range, assumptions made
	WhyNot  string   // plain words; "" if computed
	Missing []string // keys of required inputs that were not recorded, if any
}

// OK reports whether there is a value.
func (r Result) OK() bool { return r.WhyNot == "" }

// Rounded returns the value as plain decimal text with Method.Decimals
// decimals and no exponent, "" when there is no value. It is the only place
// where a value is rounded: half away from zero, on the value read to 13
// significant digits. Reading to 13 digits first removes the noise of binary
// fractions (72.6 - 70.3 is 2.2999999999999972) and of machines that fuse
// multiplication and addition, so that the same log gives the same text
// everywhere.
func (r Result) Rounded() string {
	if !r.OK() {
		return ""
	}
	text := roundDecimal(r.Value, r.Method.Decimals)
	if whole, rest, _ := strings.Cut(text, "."); r.Method.Trim && strings.Trim(rest, "0") == "" {
		return whole
	}
	return text
}

// Explain returns the formula with the numbers put in, for instance
//
//	uf_rate_per_kg = 11.7 mL/kg/h = 1000*2.2/(165/60)/68.4
//
// or, when there is no value, the reason.
func (r Result) Explain() string {
	if !r.OK() {
		return r.Method.Key + ": no value: " + r.WhyNot
	}
	_, expression, _ := strings.Cut(r.Method.Formula, " = ")
	value := r.Rounded()
	if r.Unit != "1" {
		value += " " + r.Unit
	}
	return r.Method.Key + " = " + value + " = " + r.putNumbersIn(expression)
}

// putNumbersIn replaces each input key of a formula by its number. Inputs that
// were not recorded keep their name, marked as such.
func (r Result) putNumbersIn(expression string) string {
	numbers := make(map[string]string, len(r.Method.Inputs))
	for _, spec := range r.Method.Inputs {
		numbers[spec.Key] = "(" + spec.Key + " not recorded)"
	}
	for _, input := range r.Inputs {
		text := ShortDecimal(input.Value)
		if input.Value < 0 {
			text = "(" + text + ")"
		}
		numbers[input.Key] = text
	}
	var out strings.Builder
	for len(expression) > 0 {
		n := wordLength(expression)
		if n == 0 {
			out.WriteByte(expression[0])
			expression = expression[1:]
			continue
		}
		word := expression[:n]
		if number, ok := numbers[word]; ok {
			word = number
		}
		out.WriteString(word)
		expression = expression[n:]
	}
	return out.String()
}

// wordLength returns the number of leading bytes of s that belong to one name
// or number.
func wordLength(s string) int {
	for i := range len(s) {
		c := s[i]
		word := c == '_' || c == '.' || c >= '0' && c <= '9' || c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z'
		if !word {
			return i
		}
	}
	return len(s)
}

// ShortDecimal formats a number for a formula, with at most 7 significant
// digits and no exponent.
func ShortDecimal(v float64) string {
	short, _ := strconv.ParseFloat(strconv.FormatFloat(v, 'e', 6, 64), 64) // a formatted number always parses
	return strconv.FormatFloat(short, 'f', -1, 64)
}

// roundDecimal rounds half away from zero at the given decimal, see
// [Result.Rounded].
func roundDecimal(v float64, decimals int) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return ""
	}
	text := strconv.FormatFloat(math.Abs(v), 'e', 12, 64)
	mantissa, exponentText, _ := strings.Cut(text, "e")
	exponent, _ := strconv.Atoi(exponentText) // a formatted exponent always parses
	digits := strings.Replace(mantissa, ".", "", 1)
	// digits × 10^(exponent-12); keeps those at or above 10^-decimals.
	keep := exponent + 1 + decimals
	units := keptUnits(digits, keep)
	out := placePoint(units, decimals)
	if v < 0 && strings.Trim(out, "0.") != "" {
		out = "-" + out
	}
	return out
}

// keptUnits returns the first keep digits as an integer text, rounded half up
// on the next digit.
func keptUnits(digits string, keep int) string {
	switch {
	case keep < 0:
		return "0"
	case keep >= len(digits):
		return digits + strings.Repeat("0", keep-len(digits))
	}
	kept := []byte("0" + digits[:keep])
	if digits[keep] >= '5' {
		i := len(kept) - 1
		for kept[i] == '9' {
			kept[i] = '0'
			i--
		}
		kept[i]++
	}
	return strings.TrimLeft(string(kept[:len(kept)-1]), "0") + string(kept[len(kept)-1:])
}

// placePoint puts a decimal point before the last decimals digits.
func placePoint(units string, decimals int) string {
	if decimals == 0 {
		return units
	}
	if len(units) <= decimals {
		units = strings.Repeat("0", decimals+1-len(units)) + units
	}
	cut := len(units) - decimals
	return units[:cut] + "." + units[cut:]
}
