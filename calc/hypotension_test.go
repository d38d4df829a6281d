package calc

import "testing"

func TestHypotensionNadir(t *testing.T) {
	for _, c := range []struct {
		name   string
		before Maybe
		during []float64
		want   Answer
	}{
		{"only before and after known", Known(150), nil, NotAssessable},
		{"no reading before", Maybe{}, []float64{80}, NotAssessable},
		{"lowest of several", Known(150), []float64{120, 89, 110}, Yes},
		{"90 is not below 90", Known(150), []float64{90}, No},
		{"160 before raises the limit", Known(160), []float64{99}, Yes},
		{"100 is not below 100", Known(160), []float64{100}, No},
		{"a reading that is none", Known(150), []float64{0}, NotAssessable},
	} {
		got := HypotensionNadir(c.before, c.during)
		if got.Answer != c.want || (got.Why != "") != (c.want == NotAssessable) {
			t.Errorf("%s: %v %q", c.name, got.Answer, got.Why)
		}
	}
}

// A fall alone is never called hypotension (Kuipers 2016: 77.7 % of sessions
// have one, 6.7 % meet the definition).
func TestHypotensionEBPGNeedsAllParts(t *testing.T) {
	before := &Pressure{150, 80}
	fallen := []Pressure{{130, 78}}   // systolic by 20
	meanOnly := []Pressure{{140, 70}} // mean by exactly 10, systolic by 10
	steadyBP := []Pressure{{145, 79}}
	for _, c := range []struct {
		name                string
		before              *Pressure
		during              []Pressure
		event, intervention Answer
		want                Answer
	}{
		{"all parts", before, fallen, Yes, Yes, Yes},
		{"mean fall of exactly 10", before, meanOnly, Yes, Yes, Yes},
		{"fall without event", before, fallen, No, Yes, No},
		{"fall without intervention", before, fallen, Yes, No, No},
		{"event without fall", before, steadyBP, Yes, Yes, No},
		{"event not recorded", before, fallen, NotAssessable, Yes, NotAssessable},
		{"no fall decides although the event is unknown", before, steadyBP, NotAssessable, NotAssessable, No},
		{"no readings", before, nil, Yes, Yes, NotAssessable},
		{"no readings, but no event", before, nil, No, Yes, No},
		{"swapped pressures", before, []Pressure{{70, 120}}, Yes, Yes, NotAssessable},
	} {
		if got := HypotensionEBPG(c.before, c.during, c.event, c.intervention); got.Answer != c.want {
			t.Errorf("%s: %v (%s), want %v", c.name, got.Answer, got.Why, c.want)
		}
	}
	if got := HypotensionKDOQI(before, fallen, Yes); got.Answer != Yes || got.Tag != Memory {
		t.Errorf("KDOQI: %v %v", got.Answer, got.Tag)
	}
}

func TestPressurePatterns(t *testing.T) {
	frequent := FrequentHypotension(3, 12) // 25 %
	if frequent[0].Answer != No || frequent[1].Answer != Yes {
		t.Errorf("25 %% of sessions: %v %v", frequent[0].Answer, frequent[1].Answer)
	}
	if FrequentHypotension(0, 0)[0].Answer != NotAssessable {
		t.Error("no session was assessed")
	}
	if got := IntradialyticHypertension([]float64{-5, 12, 15, 3, 20, 11}).Answer; got != Yes {
		t.Errorf("four of six rises above 10: %v", got)
	}
	if got := IntradialyticHypertension([]float64{30, 30, 30, 30, 0, 0, 0, 11, 10, 10}).Answer; got != No {
		t.Errorf("only the last six count: %v", got)
	}
	if got := IntradialyticHypertension([]float64{30, 30, 30, 30, 30}).Answer; got != NotAssessable {
		t.Errorf("five sessions: %v", got)
	}
	if got := OrthostaticFall(&Pressure{130, 80}, &Pressure{125, 70}).Answer; got != Yes {
		t.Errorf("diastolic fall of 10: %v", got)
	}
	if got := OrthostaticFall(&Pressure{130, 80}, nil).Answer; got != NotAssessable {
		t.Errorf("no standing reading: %v", got)
	}
}
