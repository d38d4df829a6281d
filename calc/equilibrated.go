package calc

import "math"

// Time constants of [EKtVTattersall] in minutes, all from memory.
const (
	// TattersallAVMin is for an arteriovenous access (some texts print 36).
	TattersallAVMin = 35.0
	// TattersallCVCMin is for a central venous catheter.
	TattersallCVCMin = 22.0
	// TattersallRefitMin is the constant refitted on the HEMO and FHN data.
	TattersallRefitMin = 30.7
)

// EKtVRateAV returns equilibrated Kt/V for an arteriovenous access by the
// rate equation sp - 0.6·sp/t + 0.03, from spKt/V and the length in hours.
// For 2.5 to 5 h; the constant does not vanish at low dose, so short sessions
// need a multiplicative form.
//
// Daugirdas and Schneditz, ASAIO J 1995;41:M719 (formula read in EBPG 2002,
// Nephrol Dial Transplant 17 suppl 7:17).
func EKtVRateAV(spKtV, hours float64) (float64, error) {
	return rateEquation(spKtV, hours, 1, 0.6, 0.03)
}

// EKtVRateCVC returns equilibrated Kt/V for a venous catheter by the rate
// equation sp - 0.47·sp/t + 0.02; see [EKtVRateAV].
func EKtVRateCVC(spKtV, hours float64) (float64, error) {
	return rateEquation(spKtV, hours, 1, 0.47, 0.02)
}

// EKtVLeypoldt returns equilibrated Kt/V by the regression on the HEMO data,
// 0.924·sp - 0.395·sp/t + 0.056, from spKt/V and the length in hours.
//
// Leypoldt et al, on the HEMO study (coefficients from memory).
func EKtVLeypoldt(spKtV, hours float64) (float64, error) {
	return rateEquation(spKtV, hours, 0.924, 0.395, 0.056)
}

func rateEquation(spKtV, hours, slope, rate, constant float64) (float64, error) {
	if err := guard(positive("spKt/V", spKtV), positive("treated time", hours)); err != nil {
		return math.NaN(), err
	}
	value := slope*spKtV - rate*spKtV/hours + constant
	if value <= 0 {
		return undefined("the session is too short for this equation")
	}
	return value, nil
}

// EKtVTattersall returns equilibrated Kt/V as sp·t/(t + tp), with the length
// and the time constant in minutes ([TattersallAVMin], [TattersallCVCMin] or
// [TattersallRefitMin]). The form is multiplicative and so fits short
// sessions.
//
// Tattersall et al, Kidney Int 1996;50:2094 (from memory).
func EKtVTattersall(spKtV, minutes, constantMin float64) (float64, error) {
	if err := guard(positive("spKt/V", spKtV), positive("treated time", minutes), positive("the time constant", constantMin)); err != nil {
		return math.NaN(), err
	}
	return spKtV * minutes / (minutes + constantMin), nil
}
