package calc

import "math"

// WatsonMale returns total body water in litres of an adult man from age in
// years, height in cm and weight after dialysis in kg:
//
//	V = 2.447 - 0.09516·A + 0.1074·H + 0.3362·W    (SD 3.76 L)
//
// Many public copies print the age coefficient as 0.09156, which is 0.29 L too
// much at 80 years. Fluid above the dry weight adds one litre per kilogram,
// which the formula ignores.
//
// Watson, Watson and Batt, Am J Clin Nutr 1980;33:27.
func WatsonMale(ageYears, heightCm, weightKg float64) (float64, error) {
	if err := guard(notNegative("age", ageYears), positive("height", heightCm), positive("weight", weightKg)); err != nil {
		return math.NaN(), err
	}
	return positiveVolume(2.447 - 0.09516*ageYears + 0.1074*heightCm + 0.3362*weightKg)
}

// WatsonFemale returns total body water in litres of an adult woman from
// height in cm and weight after dialysis in kg:
//
//	V = -2.097 + 0.1069·H + 0.2466·W    (SD 3.60 L)
//
// Watson, Watson and Batt, Am J Clin Nutr 1980;33:27.
func WatsonFemale(heightCm, weightKg float64) (float64, error) {
	if err := guard(positive("height", heightCm), positive("weight", weightKg)); err != nil {
		return math.NaN(), err
	}
	return positiveVolume(-2.097 + 0.1069*heightCm + 0.2466*weightKg)
}

// positiveVolume refuses the negative volumes of linear regressions far
// outside their range.
func positiveVolume(litres float64) (float64, error) {
	if litres <= 0 {
		return undefined("the body-water formula gives no positive volume for this body")
	}
	return litres, nil
}

// BodyWaterMethods returns the ids of the formulas of total body water for a
// person of a sex ([SexMale] or [SexFemale]), the preferred one first. Below
// [AdultYears] they are the formulas for children: Morgenstern's by age, then
// Mellits and Cheek's by height in cm. An unknown age counts as an adult's.
func BodyWaterMethods(sex float64, ageYears Maybe, heightCm float64) []string {
	person, bound := "female", 110.8
	child := "girl"
	if sex == SexMale {
		person, child, bound = "male", "boy", 132.7
	}
	if !ageYears.Known || ageYears.Value >= AdultYears {
		return []string{"watson-" + person, "hume-" + person}
	}
	morgenstern, mellits := "morgenstern-"+child, "mellits-"+child+"-small"
	if ageYears.Value > 13 {
		morgenstern += "-teen"
	}
	if ageYears.Value < 0.25 {
		morgenstern = "morgenstern-infant"
	}
	if heightCm > bound {
		mellits = "mellits-" + child + "-tall"
	}
	return []string{morgenstern, mellits}
}
