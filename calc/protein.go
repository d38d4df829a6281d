package calc

import "math"

// NPCRFromGeneration returns the normalised protein catabolic rate in g/kg/d
// from urea nitrogen generation in mg/min and urea volume in litres:
//
//	nPCR = 5.42·G/V + 0.17
//
// which is PCR = 9.35·G + 0.294·V normalised to the weight V/0.58. Valid in
// steady state and for any schedule.
//
// Sargent and Gotch (coefficients from memory; the slope agrees with
// [PCRFromDailyGeneration]).
func NPCRFromGeneration(generationMgPerMin, volumeL float64) (float64, error) {
	if err := guard(positive("urea generation", generationMgPerMin), positive("urea volume", volumeL)); err != nil {
		return math.NaN(), err
	}
	return 5.42*generationMgPerMin/volumeL + 0.17, nil
}

// PCRFromDailyGeneration returns the protein catabolic rate in g/d from urea
// nitrogen generation in g/d, from the daily relation G = 0.154·PCR - 1.7.
//
// Sargent (relation read on a secondary page).
func PCRFromDailyGeneration(generationGPerDay float64) (float64, error) {
	if err := guard(positive("urea generation", generationGPerDay)); err != nil {
		return math.NaN(), err
	}
	return (generationGPerDay + 1.7) / 0.154, nil
}
