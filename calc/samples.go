package calc

import "fmt"

// AfterSample says how the blood sample after dialysis was drawn.
type AfterSample uint8

const (
	NoAfterSample    AfterSample = iota // none was drawn
	AtEnd                               // at once, after slow blood flow or stopped dialysate
	HalfHourLater                       // 30 min or more after the end
	AfterTimeUnknown                    // drawn, but it is not recorded when
)

// VascularAccess is the way into the blood that the eKt/V forms distinguish.
type VascularAccess uint8

const (
	AccessUnknown  VascularAccess = iota
	Arteriovenous                 // fistula or graft
	VenousCatheter                // central venous catheter
)

// SampleFacts is what must be known to choose a method for Kt/V from blood
// samples.
type SampleFacts struct {
	BeforeDrawn     bool
	After           AfterSample
	Access          VascularAccess
	TreatedMin      float64
	SessionsPerWeek float64
	IntervalKnown   bool // the days since the previous session are known
}

// SampleRule is which methods the samples allow. Empty ids mean that there is
// no value, and WhyNot says why.
type SampleRule struct {
	SpKtV  string // method id of single-pool Kt/V
	EKtV   string // method id of equilibrated Kt/V
	Notes  []string
	WhyNot string // why there is no single-pool Kt/V
}

// ChooseKtV applies the rules of blood samples:
//
//   - without a sample before and after there is no spKt/V; a value from the
//     dialysate side is never called one,
//   - a sample drawn 30 min or more later is already equilibrated: it gives
//     eKt/V directly and is not corrected a second time,
//   - three sessions a week take the factor 0.008, others the factor for the
//     preceding interval,
//   - the rate equation serves 2.5 to 5 h; shorter and longer sessions take a
//     multiplicative form.
func ChooseKtV(f SampleFacts) SampleRule {
	switch {
	case !f.BeforeDrawn || f.After == NoAfterSample:
		return SampleRule{WhyNot: "no blood samples before and after this session; a value from the dialysate side is not an spKt/V"}
	case f.After == HalfHourLater:
		return SampleRule{
			EKtV:   "ektv-delayed-sample",
			WhyNot: "the sample after dialysis was drawn 30 min or more later: it gives eKt/V directly",
		}
	}
	var r SampleRule
	switch {
	case f.SessionsPerWeek == 3:
		r.SpKtV = "spktv-daugirdas2"
	case f.IntervalKnown:
		r.SpKtV = "spktv-daugirdas2-gfac"
		r.Notes = append(r.Notes, fmt.Sprintf("%g sessions a week: generation factor by the preceding interval instead of 0.008", f.SessionsPerWeek))
	default:
		return SampleRule{WhyNot: "the schedule is not three a week and the days since the previous session are not known"}
	}
	if f.After == AfterTimeUnknown {
		r.Notes = append(r.Notes, "when the sample after dialysis was drawn is not recorded: taken as drawn at the end; 30 min later it would already be equilibrated")
	}
	r.EKtV = chooseEKtV(f)
	if r.EKtV == "" {
		r.Notes = append(r.Notes, "no eKt/V: the access is not recorded")
	}
	return r
}

func chooseEKtV(f SampleFacts) string {
	ordinary := f.TreatedMin >= 150 && f.TreatedMin <= 300
	switch {
	case f.Access == Arteriovenous && ordinary:
		return "ektv-rate-av"
	case f.Access == Arteriovenous:
		return "ektv-tattersall-refit"
	case f.Access == VenousCatheter && ordinary:
		return "ektv-rate-cvc"
	case f.Access == VenousCatheter:
		return "ektv-tattersall-cvc"
	}
	return ""
}
