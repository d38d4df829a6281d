package calc

import "math"

// BloodProcessed returns the blood volume processed in litres from a constant
// blood flow in mL/min and the treated time in minutes. Prefer the machine's
// own total, which includes every stop of the pump.
func BloodProcessed(bloodFlow, minutes float64) (float64, error) {
	if err := guard(positive("blood flow", bloodFlow), positive("treated time", minutes)); err != nil {
		return math.NaN(), err
	}
	return bloodFlow * minutes / 1000, nil
}
