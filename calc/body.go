package calc

import "math"

// BSADuBois returns body surface area in m² from height in cm and weight in
// kg: 0.007184·H^0.725·W^0.425. It is up to 20 % low in obesity.
//
// Du Bois and Du Bois, Arch Intern Med 1916;17:863 (coefficients from a
// secondary source).
func BSADuBois(heightCm, weightKg float64) (float64, error) {
	return powerLaw(heightCm, weightKg, 0.007184, 0.725, 0.425)
}

// BSAHaycock returns body surface area in m² from height in cm and weight in
// kg: 0.024265·H^0.3964·W^0.5378. Derived in persons from infants to adults.
//
// Haycock, Schwartz and Wisotsky, J Pediatr 1978;93:62 (coefficients from a
// secondary source).
func BSAHaycock(heightCm, weightKg float64) (float64, error) {
	return powerLaw(heightCm, weightKg, 0.024265, 0.3964, 0.5378)
}

// BSAGehan returns body surface area in m² from height in cm and weight in
// kg: 0.0235·H^0.42246·W^0.51456.
//
// Gehan and George, Cancer Chemother Rep 1970;54:225 (coefficients from a
// secondary source).
func BSAGehan(heightCm, weightKg float64) (float64, error) {
	return powerLaw(heightCm, weightKg, 0.0235, 0.42246, 0.51456)
}

func powerLaw(heightCm, weightKg, factor, heightPower, weightPower float64) (float64, error) {
	if err := guard(positive("height", heightCm), positive("weight", weightKg)); err != nil {
		return math.NaN(), err
	}
	return factor * math.Pow(heightCm, heightPower) * math.Pow(weightKg, weightPower), nil
}

// BSAMosteller returns body surface area in m² from height in cm and weight
// in kg: √(H·W/3600).
//
// Mosteller, N Engl J Med 1987;317:1098 (formula from a secondary source).
func BSAMosteller(heightCm, weightKg float64) (float64, error) {
	if err := guard(positive("height", heightCm), positive("weight", weightKg)); err != nil {
		return math.NaN(), err
	}
	return math.Sqrt(heightCm * weightKg / 3600), nil
}

// BMI returns the body mass index in kg/m² from height in cm and weight in
// kg. After an amputation use the weight of [WeightBeforeAmputation].
func BMI(heightCm, weightKg float64) (float64, error) {
	if err := guard(positive("height", heightCm), positive("weight", weightKg)); err != nil {
		return math.NaN(), err
	}
	metres := heightCm / 100
	return weightKg / (metres * metres), nil
}
