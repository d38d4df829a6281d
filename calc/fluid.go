package calc

// UFRatePerKg returns the ultrafiltration rate in mL/kg/h from the fluid
// removed in litres, the treated time in minutes and the weight after dialysis
// in kg. It is negative if the net fluid balance is positive.
func UFRatePerKg(ufLitres, minutes, weightAfterKg float64) (float64, error) {
	return given(1000*ufLitres/(minutes/60)/weightAfterKg,
		Finite("fluid removed", ufLitres), Positive("treated time", minutes), Positive("weight after dialysis", weightAfterKg))
}

// UFExpected returns the UF volume in litres expected from the weights in kg:
// the weight lost, plus drinks and infusions, minus urine, all in litres. One
// litre counts as one kilogram. It compares with a gross UF volume; a machine
// that shows UF net of saline differs by that saline.
func UFExpected(weightBeforeKg, weightAfterKg, drinks, saline, rinseback, urine float64) (float64, error) {
	return given(weightBeforeKg-weightAfterKg+drinks+saline+rinseback-urine,
		Positive("weight before dialysis", weightBeforeKg), Positive("weight after dialysis", weightAfterKg),
		NotNegative("drinks", drinks), NotNegative("saline", saline),
		NotNegative("rinse-back", rinseback), NotNegative("urine", urine))
}

// UFDiscrepancy returns the fluid removed minus the expected UF volume, in
// litres. More than 0.5 L either way deserves a check (common practice).
func UFDiscrepancy(ufLitres, expectedLitres float64) (float64, error) {
	return given(ufLitres-expectedLitres, Finite("fluid removed", ufLitres), Finite("UF expected", expectedLitres))
}

// WeightGain returns the interdialytic weight gain in kg: the weight before
// this session minus the weight after the previous one.
//
// Cabrera et al, BMC Nephrol 2015;16:113.
func WeightGain(weightBeforeKg, previousWeightAfterKg float64) (float64, error) {
	return given(weightBeforeKg-previousWeightAfterKg,
		Positive("weight before dialysis", weightBeforeKg), Positive("weight after the previous session", previousWeightAfterKg))
}

// WeightGainPercent returns [WeightGain] in percent of the previous weight
// after dialysis.
//
// Cabrera et al, BMC Nephrol 2015;16:113.
func WeightGainPercent(weightBeforeKg, previousWeightAfterKg float64) (float64, error) {
	gain, err := WeightGain(weightBeforeKg, previousWeightAfterKg)
	return 100 * gain / previousWeightAfterKg, err
}

// TargetMiss returns the weight after dialysis minus the dry weight, in kg:
// positive if fluid was left.
func TargetMiss(weightAfterKg, dryWeightKg float64) (float64, error) {
	return given(weightAfterKg-dryWeightKg,
		Positive("weight after dialysis", weightAfterKg), Positive("dry weight", dryWeightKg))
}

func fluidMethods() []Method {
	return []Method{
		Method{
			ID: "uf-rate-per-kg", Version: "1", Quantity: "ultrafiltration rate per kg", Key: "uf_rate_per_kg", Unit: "mL/kg/h", Decimals: 1,
			Formula: "uf_rate_per_kg = 1000*uf_removed/(treated_time/60)/weight_after", Source: "definition, on the weight after dialysis",
			Range:  "mean over the session; thresholds were found in in-centre, thrice-weekly treatment",
			Inputs: need("uf_removed", "treated_time", "weight_after"),
			notes:  negativeUF,
		}.of3(UFRatePerKg),
		{
			ID: "uf-expected", Version: "1", Quantity: "UF volume expected from the weights", Key: "uf_expected", Unit: "L", Decimals: 2,
			Formula: "uf_expected = weight_before - weight_after + drinks + saline + rinseback - urine",
			Source:  "mass balance, one litre taken as one kilogram", Range: "compares with a gross UF volume",
			Inputs: need("weight_before", "weight_after", "?drinks", "?saline", "?rinseback", "?urine"),
			eval: func(in Inputs) (float64, error) {
				return UFExpected(in["weight_before"], in["weight_after"], in["drinks"], in["saline"], in["rinseback"], in["urine"])
			},
		},
		Method{
			ID: "uf-discrepancy", Version: "1", Quantity: "UF volume against the weights", Key: "uf_discrepancy", Unit: "L", Decimals: 2,
			Formula: "uf_discrepancy = uf_removed - uf_expected", Source: "mass balance",
			Range:  "more than 0.5 L either way is worth a look (common practice)",
			Inputs: need("uf_removed", "uf_expected"),
		}.of2(UFDiscrepancy),
		Method{
			ID: "idwg", Version: "1", Quantity: "interdialytic weight gain", Key: "interdialytic_weight_gain", Unit: "kg", Decimals: 2,
			Formula: "interdialytic_weight_gain = weight_before - previous_weight_after", Source: "Cabrera et al, BMC Nephrol 2015;16:113",
			Range:  "same scales, similar clothes",
			Inputs: need("weight_before", "previous_weight_after"),
		}.of2(WeightGain),
		Method{
			ID: "idwg-percent", Version: "1", Quantity: "interdialytic weight gain, relative", Key: "interdialytic_weight_gain_percent", Unit: "%", Decimals: 2,
			Formula: "interdialytic_weight_gain_percent = 100*(weight_before - previous_weight_after)/previous_weight_after",
			Source:  "Cabrera et al, BMC Nephrol 2015;16:113", Range: "same scales, similar clothes",
			Inputs: need("weight_before", "previous_weight_after"),
		}.of2(WeightGainPercent),
		Method{
			ID: "target-miss", Version: "1", Quantity: "weight after dialysis against dry weight", Key: "target_miss", Unit: "kg", Decimals: 2,
			Formula: "target_miss = weight_after - dry_weight", Source: "definition", Range: "positive: fluid left; negative: below dry weight",
			Inputs: need("weight_after", "dry_weight"),
		}.of2(TargetMiss),
	}
}

// negativeUF notes a negative UF volume, which is possible but rare.
func negativeUF(in Inputs, _ float64) []string {
	if in["uf_removed"] < 0 {
		return []string{"the UF volume is negative: fluid was given on balance, or the sign is wrong"}
	}
	return nil
}
