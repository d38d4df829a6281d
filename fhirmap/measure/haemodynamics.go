package measure

import (
	"runsheet.example/calc"
	"runsheet.example/fhirmap/session"
)

// Definition is the answer of one named definition.
type Definition struct {
	Name string
	calc.Assessment
}

// Haemodynamics is blood pressure around and during a session. Definitions of
// intradialytic hypotension differ; they are listed by name and never merged.
type Haemodynamics struct {
	Before, After *calc.Pressure // sitting; nil unless both numbers are recorded
	// Lowest is the lowest systolic pressure during the session, Readings the
	// number of readings.
	Lowest   calc.Maybe
	Readings int
	// Hypotension has the definitions by nadir, EBPG 2007 and KDOQI 2005.
	Hypotension []Definition
	// Standing has the fall on standing before and after.
	Standing []Definition
}

// NadirName is the definition by the lowest pressure, the only family
// associated with mortality.
const NadirName = "nadir (Flythe 2015)"

// PressuresOf assesses each session. Symptoms are the rows of kind "symptom"
// as far as the definition counts them ([calc.SymptomsOfHypotension]); an
// unknown word leaves it open. A session without symptom rows counts as free
// of symptoms only if the log has events at all. An intervention is saline
// given: an action in words beside a symptom may or may not be one, and leaves
// a definition that requires an intervention open. The definitions of hypotension
// do not assess a child. The result is parallel to log.Sessions; broken and skipped sessions have an empty one.
func PressuresOf(log *session.Log) []Haemodynamics {
	kept := false
	for _, s := range log.Sessions {
		kept = kept || len(s.Events) > 0
	}
	all := make([]Haemodynamics, len(log.Sessions))
	for i, s := range log.Sessions {
		if !s.Broken && s.Status != session.SkippedStatus {
			all[i] = haemodynamics(s, kept)
			years, known := log.About.AgeOn(s.Date)
			for j, d := range all[i].Hypotension {
				all[i].Hypotension[j].Assessment = d.InAdults(calc.Maybe{Value: float64(years), Known: known})
			}
		}
	}
	return all
}

func haemodynamics(s *session.Session, eventsKept bool) Haemodynamics {
	h := Haemodynamics{Before: pressure(s, "bp_before_"), After: pressure(s, "bp_after_")}
	var systolic []float64
	var during []calc.Pressure
	for _, r := range s.Readings {
		high, low := maybe(r.Value("bp_systolic"), "mm[Hg]"), maybe(r.Value("bp_diastolic"), "mm[Hg]")
		if high.Known {
			systolic = append(systolic, high.Value)
			if !h.Lowest.Known || high.Value < h.Lowest.Value {
				h.Lowest = high
			}
		}
		if high.Known && low.Known {
			during = append(during, calc.Pressure{Systolic: high.Value, Diastolic: low.Value})
		}
	}
	h.Readings = len(systolic)
	ebpg, kdoqi, intervention := symptoms(s, eventsKept)
	h.Hypotension = []Definition{
		{NadirName, calc.HypotensionNadir(maybe(s.Value("bp_before_systolic"), "mm[Hg]"), systolic)},
		{"EBPG 2007", calc.HypotensionEBPG(h.Before, during, ebpg, intervention)},
		{"KDOQI 2005", calc.HypotensionKDOQI(h.Before, during, kdoqi)},
	}
	h.Standing = []Definition{
		{"before", calc.OrthostaticFall(h.Before, pressure(s, "bp_before_standing_"))},
		{"after", calc.OrthostaticFall(h.After, pressure(s, "bp_after_standing_"))},
	}
	return h
}

func pressure(s *session.Session, prefix string) *calc.Pressure {
	high, low := maybe(s.Value(session.Field(prefix+"systolic")), "mm[Hg]"), maybe(s.Value(session.Field(prefix+"diastolic")), "mm[Hg]")
	if !high.Known || !low.Known {
		return nil
	}
	return &calc.Pressure{Systolic: high.Value, Diastolic: low.Value}
}

func symptoms(s *session.Session, eventsKept bool) (ebpg, kdoqi, intervention calc.Answer) {
	if eventsKept {
		ebpg, kdoqi = calc.No, calc.No
	}
	reported, worded := false, false
	for _, e := range s.Events {
		if e.Kind.Text == "symptom" {
			byEBPG, byKDOQI := calc.CountsForHypotension(e.What.Text)
			ebpg, kdoqi = withSymptom(ebpg, byEBPG), withSymptom(kdoqi, byKDOQI)
			reported, worded = true, worded || e.Action.OK()
		}
	}
	saline := maybe(s.Value("saline"), "L")
	switch {
	case saline.Known && saline.Value > 0:
		intervention = calc.Yes
	case !reported && eventsKept, saline.Known && !worded:
		intervention = calc.No
	}
	return ebpg, kdoqi, intervention
}

// withSymptom adds one more symptom: a counted one decides; an unknown one
// leaves an undecided answer open.
func withSymptom(so, one calc.Answer) calc.Answer {
	if so == calc.Yes || one == calc.Yes {
		return calc.Yes
	}
	return min(so, one)
}

// PressurePatterns assesses patterns over many sessions: whether hypotension
// by nadir is frequent, and whether pressure rises during dialysis.
func PressurePatterns(log *session.Log, all []Haemodynamics) []Definition {
	present, assessable := 0, 0
	var rises []float64
	for i, s := range log.Sessions {
		h := all[i]
		for _, d := range h.Hypotension {
			if d.Name == NadirName && d.Answer != calc.NotAssessable {
				assessable++
				if d.Answer == calc.Yes {
					present++
				}
			}
		}
		before, after := maybe(s.Value("bp_before_systolic"), "mm[Hg]"), maybe(s.Value("bp_after_systolic"), "mm[Hg]")
		if len(h.Hypotension) > 0 && before.Known && after.Known {
			rises = append(rises, after.Value-before.Value)
		}
	}
	var out []Definition
	for _, a := range calc.FrequentHypotension(present, assessable) {
		out = append(out, Definition{"frequent intradialytic hypotension", a})
	}
	return append(out, Definition{"intradialytic hypertension", calc.IntradialyticHypertension(rises)})
}
