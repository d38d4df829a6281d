package calc

// MeanArterialPressure returns DBP + (SBP-DBP)/3 in mm[Hg]. Prefer the mean
// that the cuff measured, if it displays one.
func MeanArterialPressure(systolic, diastolic float64) (float64, error) {
	return fromPressures(diastolic+(systolic-diastolic)/3, systolic, diastolic)
}

// PulsePressure returns SBP-DBP in mm[Hg].
func PulsePressure(systolic, diastolic float64) (float64, error) {
	return fromPressures(systolic-diastolic, systolic, diastolic)
}

func fromPressures(value, systolic, diastolic float64) (float64, error) {
	return given(value,
		Positive("systolic blood pressure", systolic), Positive("diastolic blood pressure", diastolic),
		When(diastolic >= systolic, "diastolic blood pressure is not below systolic: swapped or mistyped"),
	)
}

func haemodynamicMethods() []Method {
	pair := need("bp_systolic", "bp_diastolic")
	return []Method{
		{
			ID: "map-third", Version: "1", Quantity: "mean arterial pressure", Key: "mean_arterial_pressure", Unit: "mm[Hg]", Decimals: 0,
			Formula: "mean_arterial_pressure = bp_diastolic + (bp_systolic - bp_diastolic)/3", Source: "common practice",
			Range:  "an approximation; prefer the mean the cuff measured",
			Inputs: pair,
			eval:   func(in Inputs) (float64, error) { return MeanArterialPressure(in["bp_systolic"], in["bp_diastolic"]) },
		},
		{
			ID: "pulse-pressure", Version: "1", Quantity: "pulse pressure", Key: "pulse_pressure", Unit: "mm[Hg]", Decimals: 0,
			Formula: "pulse_pressure = bp_systolic - bp_diastolic", Source: "definition", Range: "one reading, same arm and posture",
			Inputs: pair,
			eval:   func(in Inputs) (float64, error) { return PulsePressure(in["bp_systolic"], in["bp_diastolic"]) },
		},
	}
}
