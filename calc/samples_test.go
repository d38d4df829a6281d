package calc

import "testing"

func TestBloodSampleRules(t *testing.T) {
	full := SampleFacts{Access: Arteriovenous, TreatedMin: 240, SessionsPerWeek: 3, IntervalKnown: true}
	for _, c := range []struct {
		name        string
		change      func(*SampleFacts)
		spKtV, eKtV string
	}{
		{"three a week", func(*SampleFacts) {}, "spktv-daugirdas2", "ektv-rate-av"},
		{"shortest of the rate equation", func(f *SampleFacts) { f.TreatedMin = 150 }, "spktv-daugirdas2", "ektv-rate-av"},
		{"longest of the rate equation", func(f *SampleFacts) { f.TreatedMin = 300 }, "spktv-daugirdas2", "ektv-rate-av"},
		{"catheter", func(f *SampleFacts) { f.Access = VenousCatheter }, "spktv-daugirdas2", "ektv-rate-cvc"},
		{"five short ones a week", func(f *SampleFacts) { f.SessionsPerWeek, f.TreatedMin = 5, 140 }, "spktv-daugirdas2-gfac", "ektv-tattersall-av"},
		{"five a week, first of the log", func(f *SampleFacts) { f.SessionsPerWeek, f.IntervalKnown = 5, false }, "spktv-daugirdas2", "ektv-rate-av"},
		{"schedule not known", func(f *SampleFacts) { f.SessionsPerWeek = 0 }, "spktv-daugirdas2-gfac", "ektv-rate-av"},
		{"long night by catheter", func(f *SampleFacts) { f.Access, f.TreatedMin = VenousCatheter, 480 }, "spktv-daugirdas2", "ektv-tattersall-cvc"},
		{"sample half an hour later", func(f *SampleFacts) { f.Late = true }, "spktv-daugirdas2", "ektv-delayed-sample"},
		{"late, five a week, access not known", func(f *SampleFacts) { *f = SampleFacts{Late: true, SessionsPerWeek: 5, IntervalKnown: true} }, "spktv-daugirdas2-gfac", "ektv-delayed-sample-gfac"},
		{"access not known", func(f *SampleFacts) { f.Access = AccessUnknown }, "spktv-daugirdas2", "ektv-tattersall-by-access"},
	} {
		f := full
		c.change(&f)
		spKtV, eKtV := ChooseKtV(f)
		if spKtV != c.spKtV || eKtV != c.eKtV {
			t.Errorf("%s: %s, %s", c.name, spKtV, eKtV)
		}
		for _, id := range []string{spKtV, eKtV, FittedEKtV(f.Access)} {
			if _, found := MethodByID(id); !found {
				t.Errorf("%s: no method %s", c.name, id)
			}
		}
	}
}

// The form that the weekly dose was fitted with is for fistulas; a catheter has
// its own.
func TestFittedEKtVByAccess(t *testing.T) {
	for access, want := range map[VascularAccess]string{
		VenousCatheter: "ektv-tattersall-cvc", Arteriovenous: "ektv-tattersall-refit",
	} {
		if got := FittedEKtV(access); got != want {
			t.Errorf("access %v: %s, want %s", access, got, want)
		}
	}
}
