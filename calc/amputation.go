package calc

import (
	"math"
)

// WeightBeforeAmputation returns the weight in kg of the person with the
// missing part, W/(1-P), where P is the missing share of body weight. Use it
// only for the body mass index: there is no established rule for body water
// and surface area after an amputation.
func WeightBeforeAmputation(weightKg, missingShare float64) (float64, error) {
	if err := guard(
		positive("weight", weightKg), notNegative("the missing share", missingShare),
		when(missingShare >= 1, "the missing share must be below 1"),
	); err != nil {
		return math.NaN(), err
	}
	return weightKg / (1 - missingShare), nil
}
