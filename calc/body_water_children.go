package calc

import "math"

// MellitsCheekBoy returns total body water in litres of a boy from height in
// cm and weight in kg: -1.927 + 0.465·W + 0.045·H up to 132.7 cm, and -21.993
// + 0.406·W + 0.209·H above. It is high in children of today (Wells 2005).
//
// Mellits and Cheek 1970 (coefficients from a secondary source).
func MellitsCheekBoy(heightCm, weightKg float64) (float64, error) {
	if heightCm <= 132.7 {
		return childLine(heightCm, weightKg, -1.927, 0.465, 0.045)
	}
	return childLine(heightCm, weightKg, -21.993, 0.406, 0.209)
}

// MellitsCheekGirl returns total body water in litres of a girl from height
// in cm and weight in kg: 0.076 + 0.507·W + 0.013·H up to 110.8 cm, and
// -10.313 + 0.252·W + 0.154·H above. See [MellitsCheekBoy].
func MellitsCheekGirl(heightCm, weightKg float64) (float64, error) {
	if heightCm <= 110.8 {
		return childLine(heightCm, weightKg, 0.076, 0.507, 0.013)
	}
	return childLine(heightCm, weightKg, -10.313, 0.252, 0.154)
}

func childLine(heightCm, weightKg, constant, perKg, perCm float64) (float64, error) {
	return positiveVolume(constant+perKg*weightKg+perCm*heightCm,
		Positive("height", heightCm), Positive("weight", weightKg))
}

// Morgenstern returns total body water in litres of a child from age in
// years, sex ([SexMale] or [SexFemale]), height in cm and weight in kg:
//
//	up to 3 months    0.887·W^0.83
//	3 months to 13 y  0.0846·f·(H·W)^0.65, f = 0.95 for girls
//	above 13 y        0.0758·f·(H·W)^0.69, f = 0.84 for girls
//
// Morgenstern et al, J Am Soc Nephrol 2002;13:1884. For a child of 3 months
// or 13 years exactly the middle band is used.
func Morgenstern(ageYears, sex, heightCm, weightKg float64) (float64, error) {
	if err := Guard(NotNegative("age", ageYears), zeroOrOne("sex", sex), Positive("height", heightCm), Positive("weight", weightKg),
		When(ageYears >= 21, "the formula is for children and adolescents")); err != nil {
		return math.NaN(), err
	}
	girl := func(factor float64) float64 {
		if sex == SexFemale {
			return factor
		}
		return 1
	}
	switch {
	case ageYears < 0.25:
		return MorgensternInfant(weightKg)
	case ageYears <= 13:
		return 0.0846 * girl(0.95) * math.Pow(heightCm*weightKg, 0.65), nil
	default:
		return 0.0758 * girl(0.84) * math.Pow(heightCm*weightKg, 0.69), nil
	}
}

// MorgensternInfant returns total body water in litres of an infant up to 3
// months from the weight in kg, 0.887·W^0.83; see [Morgenstern].
func MorgensternInfant(weightKg float64) (float64, error) {
	return given(0.887*math.Pow(weightKg, 0.83), Positive("weight", weightKg))
}
