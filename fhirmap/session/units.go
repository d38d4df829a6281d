package session

import (
	"slices"
	"strings"
)

// unitParts are the ways to write a part of a unit, in lower case without spaces,
// by the UCUM code in lower case. "U" is left out, which is the enzyme unit in UCUM;
// "units" is listed because a dose in units is in international units (common practice).
var unitParts = map[string][]string{
	"[iu]":     {"iu", "i.u.", "unit", "units", "internationalunit", "internationalunits", "i.e.", "ie", "einheit", "einheiten"},
	"k[iu]":    {"kiu"},
	"kg":       {"kilogram", "kilograms"},
	"g":        {"gram", "grams", "gramm"},
	"mg":       {"milligram", "milligrams", "milligramm"},
	"ug":       {"mcg", "microgram", "micrograms", "mikrogramm"},
	"ng":       {"nanogram", "nanograms", "nanogramm"},
	"pg":       {"picogram", "picograms", "pikogramm"},
	"l":        {"litre", "litres", "liter", "liters"},
	"dl":       {"decilitre", "decilitres", "deciliter", "deciliters"},
	"ml":       {"millilitre", "millilitres", "milliliter", "milliliters", "cc", "ccm", "cm3"},
	"mmol":     {"millimol", "millimole", "millimoles"},
	"umol":     {"micromol", "micromole", "micromoles", "mikromol"},
	"nmol":     {"nanomol", "nanomole", "nanomoles"},
	"pmol":     {"picomol", "picomole", "picomoles", "pikomol"},
	"meq":      {"milliequivalent", "milliequivalents"},
	"h":        {"hr", "hrs", "hour", "hours", "std", "stunden"},
	"min":      {"mins", "minute", "minutes"},
	"mm[hg]":   {"mmhg"},
	"cel":      {"°c", "c", "ºc", "℃"},
	"[degf]":   {"°f", "f", "degf", "ºf", "℉"},
	"[lb_av]":  {"lb", "lbs", "lb.", "lbs.", "pound", "pounds"},
	"[ppm]":    {"ppm"},
	"[gr]":     {"gr", "grains"},
	"[gal_us]": {"gal", "gallon"},
	"%":        {"percent"},
}

// unitWritten is the UCUM code of each part as it is written, and of a unit under a
// name of its own.
var unitWritten = func() map[string]string {
	all := map[string]string{"bpm": "/min", "gpg": "[gr]/[gal_us]"}
	for code, spellings := range unitParts {
		for _, one := range spellings {
			all[one] = code
		}
	}
	return all
}()

// apart puts the parts of a unit apart, with both signs for micro as UCUM has it.
var apart = strings.NewReplacer("µ", "u", "μ", "u", "/", " / ")

// plainUnit is a unit in lower case with each part as its UCUM code.
func plainUnit(written string) string {
	words := strings.Fields(apart.Replace(strings.ToLower(written)))
	for i, word := range words {
		if word == "per" || word == "a" || word == "an" {
			words[i] = "/"
		}
	}
	parts := strings.Split(strings.Join(words, ""), "/")
	for i, part := range parts {
		if code, known := unitWritten[part]; known {
			parts[i] = code
		}
	}
	return strings.Join(parts, "/")
}

// doseUnits are the units of a dose.
var doseUnits = []string{"[iU]", "k[iU]", "mg", "g", "ug", "mL", "L", "mmol"}

// laboratoryUnits are the units of a laboratory result.
var laboratoryUnits = []string{
	"mmol/L", "umol/L", "nmol/L", "pmol/L", "meq/L", "mg/dL", "g/dL", "g/L", "mg/L",
	"ug/L", "ug/mL", "ug/dL", "ng/mL", "ng/L", "pg/mL", "%",
}

// checkUnits are the units of a value looked at before a treatment. A part per
// million is a unit of its own: nothing is converted.
var checkUnits = []string{"mg/L", "[ppm]", "mmol/L", "[gr]/[gal_us]", "mS/cm"}

// columnUnits are the units of headings; a cell that repeats the heading's unit is
// still a plain number.
var columnUnits = []string{
	"kg", "L", "mm[Hg]", "/min", "Cel", "mL/min", "L/h", "mL/h", "min", "mmol/L", "mS/cm", "cm",
	"[lb_av]", "g", "mL", "[degF]", "kPa", "h", "L/min", "meq/L", "mg/dL",
}

// ucumOf finds the UCUM code of a written unit among some.
func ucumOf(written string, units []string) (string, bool) {
	plain := plainUnit(written)
	i := slices.IndexFunc(units, func(u string) bool { return strings.EqualFold(u, plain) })
	if i < 0 {
		return "", false
	}
	return units[i], true
}

// rateUnit finds the UCUM code of a written dose for each hour.
func rateUnit(written string) (string, bool) {
	dose, hourly := strings.CutSuffix(plainUnit(written), "/h")
	u, known := ucumOf(dose, doseUnits)
	return u + "/h", known && hourly
}
