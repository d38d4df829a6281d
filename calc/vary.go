package calc

import (
	"maps"
	"math"
)

// Vary computes the method again with one input replaced by each of the
// values. It shows the sensitivity of a value to its least certain input, for
// instance body water by several formulas.
func (m Method) Vary(in Inputs, key string, values ...float64) []Result {
	results := make([]Result, 0, len(values))
	changed := maps.Clone(in)
	for _, value := range values {
		changed[key] = value
		results = append(results, m.Compute(changed))
	}
	return results
}

// Slack returns the largest change of the value, in its own unit, that rounded
// inputs can cause: half has half a unit of the last kept digit of each such
// input. It sums the larger effect of each input moved alone and adds half a
// unit of the value's own last decimal. A reader that recomputes a rounded
// value from rounded inputs must allow this much. It is NaN without a value.
func (m Method) Slack(in, half Inputs) float64 {
	centre := m.Compute(in)
	if !centre.OK() {
		return math.NaN()
	}
	slack := 0.5 * math.Pow10(-m.Decimals)
	for _, spec := range m.Inputs {
		width := half[spec.Key]
		value, present := in[spec.Key]
		if !present || width == 0 {
			continue
		}
		effect := 0.0
		for _, r := range m.Vary(in, spec.Key, value-width, value+width) {
			if r.OK() {
				effect = math.Max(effect, math.Abs(r.Value-centre.Value))
			}
		}
		slack += effect
	}
	return slack
}
