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
	return given(factor*math.Pow(heightCm, heightPower)*math.Pow(weightKg, weightPower),
		Positive("height", heightCm), Positive("weight", weightKg))
}

// BSAMosteller returns body surface area in m² from height in cm and weight
// in kg: √(H·W/3600).
//
// Mosteller, N Engl J Med 1987;317:1098 (formula from a secondary source).
func BSAMosteller(heightCm, weightKg float64) (float64, error) {
	return given(math.Sqrt(heightCm*weightKg/3600), Positive("height", heightCm), Positive("weight", weightKg))
}

// BMI returns the body mass index in kg/m² from height in cm and weight in
// kg. After an amputation use the weight of [WeightBeforeAmputation].
func BMI(heightCm, weightKg float64) (float64, error) {
	metres := heightCm / 100
	return given(weightKg/(metres*metres), Positive("height", heightCm), Positive("weight", weightKg))
}

// WeightBeforeAmputation returns the weight in kg of the person with the
// missing part, W/(1-P), where P is the missing share of body weight. Use it
// only for the body mass index: there is no established rule for body water
// and surface area after an amputation.
func WeightBeforeAmputation(weightKg, missingShare float64) (float64, error) {
	return given(weightKg/(1-missingShare),
		Positive("weight", weightKg), NotNegative("the missing share", missingShare),
		When(missingShare >= 1, "the missing share must be below 1"))
}

func bodyMethods() []Method {
	size := need("height", "weight_after")
	secondary := " (coefficients from a secondary source)"
	surface := func(id, formula, source, validity string, eval func(h, w float64) (float64, error)) Method {
		return Method{
			ID: id, Version: "1", Quantity: "body surface area", Key: "body_surface_area", Unit: "m2", Decimals: 2,
			Formula: "body_surface_area = " + formula, Source: source + secondary, Range: validity,
			Inputs: size,
		}.of2(eval)
	}
	return []Method{
		surface("bsa-dubois", "0.007184*height^0.725*weight_after^0.425",
			"Du Bois and Du Bois, Arch Intern Med 1916;17:863", "adults; up to 20 % low in obesity", BSADuBois),
		surface("bsa-haycock", "0.024265*height^0.3964*weight_after^0.5378",
			"Haycock, Schwartz and Wisotsky, J Pediatr 1978;93:62", "infants to adults", BSAHaycock),
		surface("bsa-mosteller", "sqrt(height*weight_after/3600)",
			"Mosteller, N Engl J Med 1987;317:1098", "adults and children", BSAMosteller),
		surface("bsa-gehan", "0.0235*height^0.42246*weight_after^0.51456",
			"Gehan and George, Cancer Chemother Rep 1970;54:225", "infants to adults", BSAGehan),
		Method{
			ID: "bmi", Version: "1", Quantity: "body mass index", Key: "bmi", Unit: "kg/m2", Decimals: 1,
			Formula: "bmi = weight_after/(height/100)^2", Source: "definition",
			Range: "adults; after an amputation use the corrected weight", Inputs: size,
		}.of2(BMI),
		Method{
			ID: "weight-before-amputation", Version: "1", Quantity: "weight corrected for a missing limb", Key: "weight_before_amputation", Unit: "kg", Decimals: 1,
			Formula: "weight_before_amputation = weight_after/(1 - missing_share)", Source: "Osterkamp (shares from a secondary source; tables disagree)",
			Range: "for the body mass index only", Inputs: need("weight_after", "missing_share"),
		}.of2(WeightBeforeAmputation),
	}
}
