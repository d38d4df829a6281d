package calc

// VascularAccess is the kind of access that the eKt/V forms distinguish.
type VascularAccess uint8

const (
	AccessUnknown  VascularAccess = iota
	Arteriovenous                 // fistula or graft
	VenousCatheter                // central venous catheter
)

// SampleFacts is the data for choosing a method for Kt/V from blood samples
// before and after a session.
type SampleFacts struct {
	Late            bool // the sample after was drawn 30 min or more after the end
	Access          VascularAccess
	TreatedMin      float64
	SessionsPerWeek float64 // 0 if unknown
	IntervalKnown   bool    // the days since the previous session are known
}

// Range of session lengths of the rate equation for eKt/V, minutes; outside it
// the multiplicative form applies, whose correction vanishes with the dose.
const (
	rateEquationFromMin = 150
	rateEquationToMin   = 300
)

// ChooseKtV returns the ids of the methods for single-pool and equilibrated
// Kt/V by the rules of blood samples:
//
//   - a sample drawn 30 min or more after the end is already equilibrated: it
//     gives eKt/V directly, is not corrected a second time, and gives no
//     single-pool value,
//   - three sessions a week take the factor 0.008, and so does a session whose
//     preceding interval is not known; others take the factor for that interval,
//   - the rate equation serves 2.5 to 5 h; shorter and longer sessions take a
//     multiplicative form,
//   - where the access is not known, the method is one that asks for it and so
//     has no value.
func ChooseKtV(f SampleFacts) (spKtV, eKtV string) {
	factor := ""
	if f.SessionsPerWeek != 3 && f.IntervalKnown {
		factor = "-gfac"
	}
	ordinary := f.TreatedMin >= rateEquationFromMin && f.TreatedMin <= rateEquationToMin
	switch {
	case f.Late:
		eKtV = "ektv-delayed-sample" + factor
	case f.Access == AccessUnknown:
		eKtV = "ektv-tattersall-by-access"
	case f.Access == Arteriovenous && ordinary:
		eKtV = "ektv-rate-av"
	case f.Access == Arteriovenous:
		eKtV = "ektv-tattersall-av"
	case ordinary:
		eKtV = "ektv-rate-cvc"
	default:
		eKtV = "ektv-tattersall-cvc"
	}
	return "spktv-daugirdas2" + factor, eKtV
}

// FittedEKtV returns the id of the multiplicative eKt/V that goes into the
// weekly form with ultrafiltration and residual clearance ([StdKtVFHN]).
func FittedEKtV(access VascularAccess) string {
	if access == VenousCatheter {
		return "ektv-tattersall-cvc"
	}
	return "ektv-tattersall-refit"
}
