package calc

import "math"

// UFRatePerKg returns the ultrafiltration rate in mL/kg/h from the fluid
// removed in litres, the treated time in minutes and the weight after
// dialysis in kg. Negative when fluid was given on balance.
func UFRatePerKg(ufLitres, minutes, weightAfterKg float64) (float64, error) {
	if err := guard(finite("fluid removed", ufLitres), positive("treated time", minutes), positive("weight after dialysis", weightAfterKg)); err != nil {
		return math.NaN(), err
	}
	return 1000 * ufLitres / (minutes / 60) / weightAfterKg, nil
}

// UFExpected returns the UF volume in litres that the weights in kg explain:
// the weight lost, plus what was drunk and infused, less urine passed, all in
// litres. One litre is taken as one kilogram. It compares with a gross UF
// volume; a machine that shows UF net of saline differs by that saline.
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

// UFDiscrepancy returns the fluid removed less the UF volume expected, in
// litres. More than 0.5 L either way is worth a look (common practice).
func UFDiscrepancy(ufLitres, expectedLitres float64) (float64, error) {
	if err := guard(finite("fluid removed", ufLitres), finite("UF expected", expectedLitres)); err != nil {
		return math.NaN(), err
	}
	return ufLitres - expectedLitres, nil
}

// WeightGain returns the interdialytic weight gain in kg: the weight before
// this session less the weight after the previous one.
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

// TargetMiss returns the weight after dialysis less the dry weight, in kg:
// positive when fluid was left.
func TargetMiss(weightAfterKg, dryWeightKg float64) (float64, error) {
	if err := guard(positive("weight after dialysis", weightAfterKg), positive("dry weight", dryWeightKg)); err != nil {
		return math.NaN(), err
	}
	return weightAfterKg - dryWeightKg, nil
}
