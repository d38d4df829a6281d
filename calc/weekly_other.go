package calc

import "math"

// StdKtVGotch returns the weekly standard Kt/V in Gotch's own form, with eKt/V
// in 1-e^-k and spKt/V in the inner term. Do not compare its values with those
// of [StdKtVFixedVolume].
//
// Gotch, Nephrol Dial Transplant 1998 (from memory).
func StdKtVGotch(spKtV, eKtV, minutes, sessionsPerWeek float64) (float64, error) {
	return weeklyForm(eKtV, spKtV, minutes, sessionsPerWeek)
}

// AdultVolumePerSurface is the mean ratio of body water to surface area in
// adults, L/m², to which surface-normalised standard Kt/V refers (medians
// 21.34 in men, 18.50 in women; Daugirdas et al 2008, PMC2692381).
// ChildVolumePerSurface is that of children (PMC2863971).
const (
	AdultVolumePerSurface = 20.0
	ChildVolumePerSurface = 17.5
)

// SANStdKtV returns the surface-area-normalised weekly standard Kt/V,
// stdKt/V·(V/S)/M, from an anthropometric body water in litres, surface area
// in m² and the reference ratio M in L/m² ([AdultVolumePerSurface] or
// [ChildVolumePerSurface]).
//
// Daugirdas et al 2008, PMC2692381.
func SANStdKtV(stdKtV, volumeL, surfaceM2, referenceLPerM2 float64) (float64, error) {
	perSurface, err := StdKtPerSurface(stdKtV, volumeL, surfaceM2)
	if err != nil {
		return math.NaN(), err
	}
	if err := guard(positive("the reference ratio", referenceLPerM2)); err != nil {
		return math.NaN(), err
	}
	return perSurface / referenceLPerM2, nil
}

// StdKtPerSurface returns the weekly standard Kt per surface area in L/m²,
// stdKt/V·V/S.
//
// Daugirdas et al 2008, PMC2692381: 40 L/m² corresponds to 2.0 in adults.
func StdKtPerSurface(stdKtV, volumeL, surfaceM2 float64) (float64, error) {
	if err := guard(positive("weekly standard Kt/V", stdKtV), positive("body water", volumeL), positive("surface area", surfaceM2)); err != nil {
		return math.NaN(), err
	}
	return stdKtV * volumeL / surfaceM2, nil
}

// ContinuousClearance returns the continuous clearance in mL/min equivalent to
// a weekly standard Kt/V at a urea volume in litres: 2.0 at 35 L is 6.94
// mL/min.
func ContinuousClearance(stdKtV, volumeL float64) (float64, error) {
	if err := guard(positive("weekly standard Kt/V", stdKtV), positive("urea volume", volumeL)); err != nil {
		return math.NaN(), err
	}
	return stdKtV * 1000 * volumeL / MinutesPerWeek, nil
}

// EKRCorrected returns an equivalent renal clearance in mL/min corrected to a
// urea volume of 40 L.
//
// Casino and Lopez, Nephrol Dial Transplant 1996;11:1574.
func EKRCorrected(ekrMLPerMin, volumeL float64) (float64, error) {
	if err := guard(positive("EKR", ekrMLPerMin), positive("urea volume", volumeL)); err != nil {
		return math.NaN(), err
	}
	return ekrMLPerMin * 40 / volumeL, nil
}

// StdEKR returns an equivalent renal clearance in mL/min as a weekly Kt/V,
// EKR·10.08/V with V in litres. It refers to the time-averaged concentration
// and lies above the standard Kt/V of the same week, which refers to the
// concentration before dialysis.
func StdEKR(ekrMLPerMin, volumeL float64) (float64, error) {
	if err := guard(positive("EKR", ekrMLPerMin), positive("urea volume", volumeL)); err != nil {
		return math.NaN(), err
	}
	return ekrMLPerMin * MinutesPerWeek / (1000 * volumeL), nil
}

// EKRcThriceWeekly returns corrected EKR in mL/min from the Kt/V of three
// sessions a week, 1 + 10·Kt/V. At higher dose the line is above the model: 15
// instead of 14.4 at 1.4.
//
// Casino and Lopez, Nephrol Dial Transplant 1996;11:1574.
func EKRcThriceWeekly(ktV float64) (float64, error) {
	if err := guard(positive("Kt/V", ktV)); err != nil {
		return math.NaN(), err
	}
	return 1 + 10*ktV, nil
}
