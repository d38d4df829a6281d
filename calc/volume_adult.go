package calc

import "math"

// HumeWeyersMale returns total body water in litres of an adult man from
// height in cm and weight after dialysis in kg:
//
//	V = 0.194786·H + 0.296785·W - 14.012934
//
// Hume and Weyers, J Clin Pathol 1971;24:234 (coefficients from a secondary
// source).
func HumeWeyersMale(heightCm, weightKg float64) (float64, error) {
	if err := guard(positive("height", heightCm), positive("weight", weightKg)); err != nil {
		return math.NaN(), err
	}
	return positiveVolume(0.194786*heightCm + 0.296785*weightKg - 14.012934)
}

// HumeWeyersFemale returns total body water in litres of an adult woman from
// height in cm and weight after dialysis in kg:
//
//	V = 0.34454·H + 0.183809·W - 35.270121
//
// Hume and Weyers, J Clin Pathol 1971;24:234 (coefficients from a secondary
// source).
func HumeWeyersFemale(heightCm, weightKg float64) (float64, error) {
	if err := guard(positive("height", heightCm), positive("weight", weightKg)); err != nil {
		return math.NaN(), err
	}
	return positiveVolume(0.34454*heightCm + 0.183809*weightKg - 35.270121)
}

// Chertow returns total body water in litres of an adult on dialysis from age
// in years, sex ([SexMale] or [SexFemale]), diabetes (1 or 0), height in cm
// and weight after dialysis in kg. Ten terms:
//
//	V = -0.07493713·A - 1.01767992·m + 0.12703384·H - 0.04012056·W
//	    + 0.57894981·d - 0.00067247·W² - 0.03486146·A·m + 0.11262857·m·W
//	    + 0.00104135·A·W + 0.00186104·H·W
//
// Many public copies print the last coefficient as 0.0186104, ten times too
// large, which gives over 200 L; a test guards the digit.
//
// Chertow et al, Kidney Int 1997;51:1578 (coefficients from memory; all but
// the last also seen in secondary sources).
func Chertow(ageYears, sex, diabetes, heightCm, weightKg float64) (float64, error) {
	if err := guard(
		notNegative("age", ageYears), positive("height", heightCm), positive("weight", weightKg),
		zeroOrOne("sex", sex), zeroOrOne("diabetes", diabetes),
	); err != nil {
		return math.NaN(), err
	}
	a, m, d, h, w := ageYears, sex, diabetes, heightCm, weightKg
	return positiveVolume(-0.07493713*a - 1.01767992*m + 0.12703384*h - 0.04012056*w +
		0.57894981*d - 0.00067247*w*w - 0.03486146*a*m + 0.11262857*m*w +
		0.00104135*a*w + 0.00186104*h*w)
}

func zeroOrOne(name string, v float64) string {
	return when(v != 0 && v != 1, name+" must be 0 or 1")
}
