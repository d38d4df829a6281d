package profiles

// UnitWords is a UCUM code as people write it.
type UnitWords struct {
	Code string
	// Symbol stands beside a number in a table or a heading.
	Symbol string
	// Said stands after a number in a sentence; empty for a ratio.
	Said string
	// Sent is the unit of a Quantity, beside its code.
	Sent string
}

// unitWords are the codes that people write otherwise (common practice).
var unitWords = [...]UnitWords{
	{"mm[Hg]", "mmHg", "mmHg", "mmHg"},
	{"Cel", "°C", "°C", "°C"},
	{"[degF]", "°F", "°F", "°F"},
	{"[lb_av]", "lb", "lb", "lb"},
	{"/min", "/min", "a minute", "per minute"},
	{"/wk", "/wk", "a week", "per week"},
	{"[iU]", "[iU]", "IU", "international units"},
	{"[iU]/h", "[iU]/h", "IU/h", "international units per hour"},
	{"ug", "ug", "ug", "microgram"},
	{"[ppm]", "[ppm]", "ppm", "ppm"},
	{"[gr]/[gal_us]", "[gr]/[gal_us]", "grains per gallon", "grains per gallon"},
	{"a", "a", "a", "years"},
	{"d", "d", "d", "days"},
	{"1", "1", "", "ratio"},
}

// UnitOf returns the words for a UCUM code, which are the code itself where
// people write that.
func UnitOf[T string | []byte](code T) UnitWords {
	for i := range unitWords {
		if unitWords[i].Code == string(code) {
			return unitWords[i]
		}
	}
	own := string(code)
	return UnitWords{own, own, own, own}
}

// UnitsInWords lists the codes that people write otherwise.
func UnitsInWords() []UnitWords { return unitWords[:] }
