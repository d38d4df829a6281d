package calc

import (
	"math"
	"slices"
)

// BodyPart is the share of body weight of a limb or part of one. Tables
// disagree: another gives below the knee as 0.065.
type BodyPart struct {
	Name  string
	Share float64
}

// BodyParts returns the shares of body weight used to correct for a missing
// limb (Osterkamp; figures from a secondary source).
func BodyParts() []BodyPart {
	return slices.Clone([]BodyPart{
		{"hand", 0.007}, {"forearm and hand", 0.023}, {"whole arm", 0.05},
		{"foot", 0.015}, {"leg below the knee", 0.059}, {"whole leg", 0.16},
	})
}

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
