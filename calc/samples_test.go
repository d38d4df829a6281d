package calc

import "testing"

func TestBloodSampleRules(t *testing.T) {
	full := SampleFacts{BeforeDrawn: true, After: AtEnd, Access: Arteriovenous, TreatedMin: 240, SessionsPerWeek: 3}
	for _, c := range []struct {
		name        string
		change      func(*SampleFacts)
		spKtV, eKtV string
		notes       int
	}{
		{"three a week", func(*SampleFacts) {}, "spktv-daugirdas2", "ektv-rate-av", 0},
		{"catheter", func(f *SampleFacts) { f.Access = VenousCatheter }, "spktv-daugirdas2", "ektv-rate-cvc", 0},
		{"five a week, interval known", func(f *SampleFacts) { f.SessionsPerWeek, f.IntervalKnown, f.TreatedMin = 5, true, 140 }, "spktv-daugirdas2-gfac", "ektv-tattersall-refit", 1},
		{"five a week, first of the log", func(f *SampleFacts) { f.SessionsPerWeek = 5 }, "", "", 0},
		{"long night by catheter", func(f *SampleFacts) { f.Access, f.TreatedMin = VenousCatheter, 480 }, "spktv-daugirdas2", "ektv-tattersall-cvc", 0},
		{"no sample before", func(f *SampleFacts) { f.BeforeDrawn = false }, "", "", 0},
		{"no sample after", func(f *SampleFacts) { f.After = NoAfterSample }, "", "", 0},
		{"sample half an hour later", func(f *SampleFacts) { f.After = HalfHourLater }, "", "ektv-delayed-sample", 0},
		{"time of sample unknown", func(f *SampleFacts) { f.After = AfterTimeUnknown }, "spktv-daugirdas2", "ektv-rate-av", 1},
		{"access unknown", func(f *SampleFacts) { f.Access = AccessUnknown }, "spktv-daugirdas2", "", 1},
	} {
		f := full
		c.change(&f)
		got := ChooseKtV(f)
		if got.SpKtV != c.spKtV || got.EKtV != c.eKtV || len(got.Notes) != c.notes || (got.SpKtV == "") != (got.WhyNot != "") {
			t.Errorf("%s: %+v", c.name, got)
		}
		for _, id := range []string{got.SpKtV, got.EKtV} {
			if _, found := MethodByID(id); id != "" && !found {
				t.Errorf("%s: no method %s", c.name, id)
			}
		}
	}
}
