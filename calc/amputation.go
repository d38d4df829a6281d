package calc

import (
	"math"
)

// WeightBeforeAmputation returns the weight in kg that a person would have
// with the missing part, W/(1-P), P being the missing share of body weight.
// Use it for the body mass index only: for body water and surface area after
// an amputation there is no settled rule.
func WeightBeforeAmputation(weightKg, missingShare float64) (float64, error) {
	if err := guard(
		positive("weight", weightKg), notNegative("the missing share", missingShare),
		when(missingShare >= 1, "the missing share must be below 1"),
	); err != nil {
		return math.NaN(), err
	}
	return weightKg / (1 - missingShare), nil
}
