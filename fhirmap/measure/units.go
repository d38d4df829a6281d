package measure

import (
	"strconv"

	"runsheet.example/calc"
	"runsheet.example/fhirmap/session"
)

// factors convert the units of a log to those that the methods require. They
// are exact by definition (the pound: international avoirdupois pound, 1959).
var factors = map[[2]string]float64{
	{"mL", "L"}:          0.001,
	{"h", "min"}:         60,
	{"L/h", "mL/min"}:    1000.0 / 60,
	{"mL/min", "L/h"}:    0.06,
	{"mL/h", "L/h"}:      0.001,
	{"g", "kg"}:          0.001,
	{"[lb_av]", "kg"}:    0.45359237,
	{"m", "cm"}:          100,
	{"[in_i]", "cm"}:     2.54,
	{"umol/L", "mmol/L"}: 0.001,
}

// convert returns the number in the wanted unit, and its text for a record. A
// text that needs no conversion stays as written.
func convert(v session.Value, unit string) (number float64, text string, ok bool) {
	number = v.Decimal.Float64()
	if v.Unit == unit {
		return number, v.Decimal.String(), true
	}
	factor, ok := factors[[2]string{v.Unit, unit}]
	if !ok {
		return 0, "", false
	}
	number *= factor
	return number, strconv.FormatFloat(number, 'f', -1, 64), true
}

// Litres returns an entered volume in litres.
func Litres(v session.Value) (float64, bool) {
	if !v.OK() {
		return 0, false
	}
	litres, _, ok := convert(v, "L")
	return litres, ok
}

// ureaMmolPerL returns a laboratory urea or urea nitrogen in mmol/L of urea.
func ureaMmolPerL(field session.Field, v session.Value) (float64, bool) {
	number := v.Decimal.Float64()
	switch {
	case v.Unit == "mmol/L":
		return number, true
	case v.Unit == "mg/dL" && field == "bun":
		return calc.UreaFromBUN(number), true
	case v.Unit == "mg/dL":
		return calc.UreaFromMgPerDL(number), true
	default:
		return 0, false
	}
}
