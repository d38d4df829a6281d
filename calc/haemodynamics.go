package calc

import "math"

// MeanArterialPressure returns DBP + (SBP-DBP)/3 in mm[Hg]. Prefer the mean
// that the cuff measured, if it displays one.
func MeanArterialPressure(systolic, diastolic float64) (float64, error) {
	if err := bloodPressurePair(systolic, diastolic); err != nil {
		return math.NaN(), err
	}
	return diastolic + (systolic-diastolic)/3, nil
}

// PulsePressure returns SBP-DBP in mm[Hg].
func PulsePressure(systolic, diastolic float64) (float64, error) {
	if err := bloodPressurePair(systolic, diastolic); err != nil {
		return math.NaN(), err
	}
	return systolic - diastolic, nil
}

func bloodPressurePair(systolic, diastolic float64) error {
	return guard(
		positive("systolic blood pressure", systolic), positive("diastolic blood pressure", diastolic),
		when(diastolic >= systolic, "diastolic blood pressure is not below systolic: swapped or mistyped"),
	)
}
