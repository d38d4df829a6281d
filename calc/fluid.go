package calc

import "math"

// UFRatePerKg returns the ultrafiltration rate in mL/kg/h from the fluid
// removed in litres, the treated time in minutes and the weight after dialysis
// in kg. It is negative if the net fluid balance is positive.
func UFRatePerKg(ufLitres, minutes, weightAfterKg float64) (float64, error) {
	if err := guard(finite("fluid removed", ufLitres), positive("treated time", minutes), positive("weight after dialysis", weightAfterKg)); err != nil {
		return math.NaN(), err
	}
	return 1000 * ufLitres / (minutes / 60) / weightAfterKg, nil
}

// UFExpected returns the UF volume in litres expected from the weights in kg:
// the weight lost, plus drinks and infusions, minus urine, all in litres. One
// litre counts as one kilogram. It compares with a gross UF volume; a machine
// that shows UF net of saline differs by that saline.
func UFExpected(weightBeforeKg, weightAfterKg, drinks, saline, rinseback, urine float64) (float64, error) {
	if err := guard(
		positive("weight before dialysis", weightBeforeKg), positive("weight after dialysis", weightAfterKg),
		notNegative("drinks", drinks), notNegative("saline", saline),
		notNegative("rinse-back", rinseback), notNegative("urine", urine),
	); err != nil {
		return math.NaN(), err
	}
	return weightBeforeKg - weightAfterKg + drinks + saline + rinseback - urine, nil
}

// UFDiscrepancy returns the fluid removed minus the expected UF volume, in
// litres. More than 0.5 L either way deserves a check (common practice).
func UFDiscrepancy(ufLitres, expectedLitres float64) (float64, error) {
	if err := guard(finite("fluid removed", ufLitres), finite("UF expected", expectedLitres)); err != nil {
		return math.NaN(), err
	}
	return ufLitres - expectedLitres, nil
}

// WeightGain returns the interdialytic weight gain in kg: the weight before
// this session minus the weight after the previous one.
//
// Cabrera et al, BMC Nephrol 2015;16:113.
func WeightGain(weightBeforeKg, previousWeightAfterKg float64) (float64, error) {
	if err := guard(positive("weight before dialysis", weightBeforeKg), positive("weight after the previous session", previousWeightAfterKg)); err != nil {
		return math.NaN(), err
	}
	return weightBeforeKg - previousWeightAfterKg, nil
}

// WeightGainPercent returns [WeightGain] in percent of the previous weight
// after dialysis.
//
// Cabrera et al, BMC Nephrol 2015;16:113.
func WeightGainPercent(weightBeforeKg, previousWeightAfterKg float64) (float64, error) {
	gain, err := WeightGain(weightBeforeKg, previousWeightAfterKg)
	if err != nil {
		return math.NaN(), err
	}
	return 100 * gain / previousWeightAfterKg, nil
}

// TargetMiss returns the weight after dialysis minus the dry weight, in kg:
// positive if fluid was left.
func TargetMiss(weightAfterKg, dryWeightKg float64) (float64, error) {
	if err := guard(positive("weight after dialysis", weightAfterKg), positive("dry weight", dryWeightKg)); err != nil {
		return math.NaN(), err
	}
	return weightAfterKg - dryWeightKg, nil
}
