package check

import (
	"math"
	"slices"
	"strings"

	"runsheet.example/fhirmap/session"
	"runsheet.example/profiles"
	"runsheet.example/validate/issue"
)

// slip is one way to write a wrong number: the number as meant is the one
// written times factor plus offset.
type slip struct {
	rule   string
	factor float64
	offset float64
}

// slipWords finish the sentence that begins "the weight cannot be right; ".
var slipWords = map[string]string{
	"clin-decimal-point": "the decimal point may be in the wrong place",
	"clin-fahrenheit":    "it looks like °F, not °C",
	"clin-litres":        "litres and mL may be mixed up",
	"clin-pounds":        "it looks like pounds, not kilograms",
	"clin-stones":        "it looks like stones, not kilograms",
	"clin-unit":          "it looks like another unit",
}

const (
	kgPerPound    = 0.45359237 // exact by definition (1959)
	kgPerStone    = 14 * kgPerPound
	mmHgPerKPa    = 7.50062
	flowPerHour   = 1000.0 / 60 // mL/min in one L/h
	fahrenheitOne = 5.0 / 9
	fahrenheitOff = -160.0 / 9
)

var decimalSlips = []slip{
	{rule: "clin-decimal-point", factor: 0.1},
	{rule: "clin-decimal-point", factor: 10},
	{rule: "clin-decimal-point", factor: 0.01},
	{rule: "clin-decimal-point", factor: 100},
}

// slipsOf are the slips to try for a field in a unit, likeliest first.
func slipsOf(field session.Field, unit string) []slip {
	if field == "dialyser_koa" {
		return decimalSlips // never given by the hour
	}
	switch unit {
	case "L":
		return append([]slip{{rule: "clin-litres", factor: 0.001}}, decimalSlips...)
	case "L/h":
		if field == "uf_rate" {
			return append([]slip{{rule: "clin-litres", factor: 0.001}}, decimalSlips...)
		}
		return append([]slip{{rule: "clin-unit", factor: 60.0 / 1000}}, decimalSlips...)
	case "mL/h":
		return append([]slip{{rule: "clin-litres", factor: 1000}}, decimalSlips...)
	case "mL/min":
		return append([]slip{
			{rule: "clin-unit", factor: flowPerHour},
			{rule: "clin-litres", factor: 1000},
		}, decimalSlips...)
	case "Cel":
		return append([]slip{{rule: "clin-fahrenheit", factor: fahrenheitOne, offset: fahrenheitOff}}, decimalSlips...)
	case "mm[Hg]":
		if strings.Contains(string(field), "bp_") {
			return append([]slip{{rule: "clin-unit", factor: mmHgPerKPa}}, decimalSlips...)
		}
	case "cm":
		return append([]slip{{rule: "clin-unit", factor: 100}, {rule: "clin-unit", factor: 2.54}}, decimalSlips...)
	case "min":
		// Hours, or a part of the day as spreadsheets store 2:42.
		return append([]slip{{rule: "clin-unit", factor: 60}, {rule: "clin-unit", factor: 24 * 60}}, decimalSlips...)
	}
	return decimalSlips
}

// likely returns a possible slip in a number outside its limits, and the
// corrected number: the first slip that leads to the person's own number, if
// known, or else into the usual limits.
func likely(field session.Field, unit string, number, scale, own float64, l profiles.Limit, could func(float64) bool) (rule string, meant issue.Text) {
	for _, s := range slipsOf(field, unit) {
		if own > 0 && within(number*s.factor+s.offset, own, 0.02) {
			return s.rule, quantity(s.meant(number*s.factor+s.offset), unit)
		}
	}
	for _, other := range labUnits(field, unit, l) {
		// The other sample of a pair may be in the wrong unit too.
		if f, _ := factor(field, other, l); !l.Unusual(number*f) && (could == nil || could(number*f/scale) || could(number)) {
			return "clin-unit", quantity(short(number), other)
		}
	}
	for _, s := range slipsOf(field, unit) {
		value := number*s.factor + s.offset
		if l.Unusual(value*scale) || value == 0 || s.rule == "clin-decimal-point" && !asFine(unit, number, value) || tooNear(field, value, l) || could != nil && !could(value) {
			continue
		}
		return s.rule, quantity(s.meant(value), unit)
	}
	return "", issue.Text{}
}

// labUnits are the other units a laboratory may have used for the number.
func labUnits(field session.Field, unit string, l profiles.Limit) []string {
	if _, lab := session.TestField(string(field)); !lab {
		return nil
	}
	return slices.DeleteFunc(fitting(field, l), func(other string) bool { return other == unit })
}

// wholeUnits are the units in which displays and cuffs show no decimals (common practice).
var wholeUnits = []string{"mm[Hg]", "/min", "mL/min"}

// asFine reports a number written as the unit is: whole where displays show no decimals,
// unless the number written has some.
func asFine(unit string, written, meant float64) bool {
	return !slices.Contains(wholeUnits, unit) || written != math.Trunc(written) || !strings.Contains(short(meant), ".")
}

// withoutDigit is what an impossible whole number is with one digit less, within the
// person's own range of the field, or about the middle of that; ok is false if the
// person's own numbers are few or more than two are left.
func (c *checker) withoutDigit(field session.Field, v session.Value, l profiles.Limit) (expected issue.Text, ok bool) {
	own := slices.DeleteFunc(c.ownRanges()[field], l.Impossible)
	if !slices.Contains(wholeUnits, v.Unit) || v.Unit != l.Unit || len(own) < fewest || foreignUnit(v) {
		return expected, false
	}
	var meant []string
	for i := range v.Text {
		text := v.Text[:i] + v.Text[i+1:]
		d, err := session.ParseDecimal(text, '.')
		if err == nil && d.Float64() >= own[0] && d.Float64() <= own[len(own)-1] && !slices.Contains(meant, text) {
			meant = append(meant, text)
		}
	}
	switch slices.Sort(meant); len(meant) {
	case 0:
		return issue.T("about {}", quantity(short(roundFor(median(own))), v.Unit)), true
	case 1:
		return issue.T("perhaps {}", quantity(meant[0], v.Unit)), true
	case 2:
		return issue.T("perhaps {} or {}", meant[0], quantity(meant[1], v.Unit)), true
	}
	return expected, false
}

// alone reports a result in a unit that no other result of the session has,
// while others are in the unit of the number meant.
func alone(s *session.Session, v session.Value, meant issue.Text) bool {
	like := false
	for _, l := range s.Labs {
		if l.Value.Cell != v.Cell && l.Value.Unit == v.Unit {
			return false
		}
		like = like || l.Value.Unit != "" && strings.HasSuffix(meant.String(), " "+spoken(l.Value.Unit))
	}
	return like
}

// tooNear keeps from suggesting an amount or a rate so small that it was hardly
// meant.
func tooNear(field session.Field, value float64, l profiles.Limit) bool {
	return (l.Unit == "L" || l.Unit == "L/h") && l.SoftLow == 0 && math.Abs(value) < 0.05 && field != "rinseback"
}

// meant writes the number a slip suggests: with all its digits when only the
// decimal point moved, rounded when a unit was converted.
func (s slip) meant(value float64) string {
	if s.rule == "clin-decimal-point" || s.rule == "clin-litres" {
		return short(value)
	}
	return short(roundFor(value))
}

// roundFor rounds a suggestion to the digits a person would have written.
func roundFor(v float64) float64 {
	switch a := math.Abs(v); {
	case a >= 100:
		return math.Round(v)
	case a >= 1:
		return math.Round(v*10) / 10
	default:
		return math.Round(v*1000) / 1000
	}
}
