package session

import (
	"slices"
	"strings"
)

// unitSpelling is one UCUM code and the ways people write it, in lower case
// without spaces. Spellings that mean different things to different people
// ("U" is the enzyme unit in UCUM, "cc", "%") are left out; "units" is
// listed because a dose in units is in international units (common practice).
type unitSpelling struct {
	ucum      string
	spellings []string
}

// doseUnits are the units of a dose.
var doseUnits = []unitSpelling{
	{"[iU]", []string{"iu", "i.u.", "unit", "units", "[iu]"}},
	{"k[iU]", []string{"kiu", "k[iu]"}},
	{"mg", []string{"mg", "milligram", "milligrams"}},
	{"g", []string{"g", "gram", "grams"}},
	{"ug", []string{"ug", "µg", "μg", "mcg", "microgram", "micrograms"}},
	{"mL", []string{"ml", "millilitre", "millilitres", "milliliter", "milliliters"}},
	{"L", []string{"l", "litre", "litres", "liter", "liters"}},
	{"mmol", []string{"mmol"}},
}

// hourSpellings are the ways to write "each hour" after a dose unit.
var hourSpellings = []string{"/h", "/hr", "/hour", "perhour", "anhour"}

// laboratoryUnits are the units of a laboratory result.
var laboratoryUnits = []unitSpelling{
	{"mmol/L", []string{"mmol/l"}},
	{"umol/L", []string{"umol/l", "µmol/l", "μmol/l", "micromol/l"}},
	{"meq/L", []string{"meq/l"}},
	{"mg/dL", []string{"mg/dl"}},
	{"g/dL", []string{"g/dl"}},
	{"g/L", []string{"g/l"}},
	{"mg/L", []string{"mg/l"}},
	{"ug/L", []string{"ug/l", "µg/l", "μg/l", "mcg/l"}},
	{"ug/mL", []string{"ug/ml", "µg/ml", "μg/ml", "mcg/ml"}},
	{"ug/dL", []string{"ug/dl", "µg/dl", "μg/dl", "mcg/dl"}},
	{"ng/mL", []string{"ng/ml"}},
	{"ng/L", []string{"ng/l"}},
	{"pg/mL", []string{"pg/ml"}},
	{"pmol/L", []string{"pmol/l"}},
	{"nmol/L", []string{"nmol/l"}},
	{"%", []string{"percent"}},
}

// checkUnits are the units of a value looked at before a treatment. A part per
// million is a unit of its own: nothing is converted.
var checkUnits = []unitSpelling{
	{"mg/L", []string{"mg/l"}},
	{"[ppm]", []string{"ppm"}},
	{"mmol/L", []string{"mmol/l"}},
	{"[gr]/[gal_us]", []string{"gpg", "grains/gallon", "gr/gal"}},
	{"mS/cm", []string{"ms/cm"}},
}

// columnUnits are spellings of the units in headings; a cell that
// repeats the heading's unit is still a plain number.
var columnUnits = []unitSpelling{
	{"kg", []string{"kg"}},
	{"L", []string{"l", "litre", "litres", "liter", "liters"}},
	{"mm[Hg]", []string{"mmhg", "mm[hg]"}},
	{"/min", []string{"/min", "bpm", "/minute"}},
	{"Cel", []string{"°c", "c", "ºc", "℃"}},
	{"mL/min", []string{"ml/min"}},
	{"L/h", []string{"l/h", "l/hr"}},
	{"mL/h", []string{"ml/h", "ml/hr"}},
	{"min", []string{"min", "mins", "minutes"}},
	{"mmol/L", []string{"mmol/l"}},
	{"mS/cm", []string{"ms/cm"}},
	{"cm", []string{"cm"}},
	{"[lb_av]", []string{"lb", "lbs", "lb.", "lbs.", "pounds"}},
	{"g", []string{"g"}},
	{"mL", []string{"ml", "cc"}},
	{"[degF]", []string{"°f", "f", "ºf", "℉"}},
	{"kPa", []string{"kpa"}},
	{"h", []string{"h", "hr", "hrs", "hours"}},
	{"L/min", []string{"l/min"}},
	{"meq/L", []string{"meq/l"}},
	{"mg/dL", []string{"mg/dl"}},
}

// ucumOf finds the UCUM code of a written unit. A code written exactly, in its
// own case, is always found.
func ucumOf(written string, table []unitSpelling) (string, bool) {
	plain := strings.ToLower(strings.Join(strings.Fields(written), ""))
	for _, u := range table {
		if written == u.ucum || slices.Contains(u.spellings, plain) {
			return u.ucum, true
		}
	}
	return "", false
}

// rateUnit finds the UCUM code of a written dose for each hour.
func rateUnit(written string) (string, bool) {
	plain := strings.ToLower(strings.Join(strings.Fields(written), ""))
	for _, hour := range hourSpellings {
		if dose, ok := strings.CutSuffix(plain, hour); ok {
			if u, known := ucumOf(dose, doseUnits); known {
				return u + "/h", true
			}
		}
	}
	return "", false
}
