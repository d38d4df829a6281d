package calc

import "math"

// Answer is the result of a definition. The zero value means that the readings
// do not allow an answer.
type Answer uint8

const (
	NotAssessable Answer = iota // the readings do not allow an answer
	No                          // the definition is not met
	Yes                         // the definition is met
)

// String returns "not assessable", "no" or "yes".
func (a Answer) String() string {
	switch a {
	case No:
		return "no"
	case Yes:
		return "yes"
	default:
		return "not assessable"
	}
}

// Assessment is the answer of one named definition. Definitions of the same
// condition differ and are never merged.
type Assessment struct {
	Definition string
	Source     string
	Tag        Tag
	Answer     Answer
	Why        string // why not assessable; "" otherwise
}

// Pressure is one blood pressure reading in mm[Hg].
type Pressure struct{ Systolic, Diastolic float64 }

func (p Pressure) mean() (float64, error) { return MeanArterialPressure(p.Systolic, p.Diastolic) }

func (a Assessment) because(why string) Assessment {
	a.Answer, a.Why = NotAssessable, why
	return a
}

// ForAdults is why a definition derived in adults does not assess a child.
const ForAdults = "the definition was derived in adults"

// InAdults returns the assessment by a definition derived in adults of a person
// of an age in years: below [AdultYears] it is not assessable. That the
// patients of the definitions of hypotension were adults is from memory.
func (a Assessment) InAdults(age Maybe) Assessment {
	if age.Known && age.Value < AdultYears {
		return a.because(ForAdults)
	}
	return a
}

func (a Assessment) answer(yes bool) Assessment {
	a.Answer = answerOf(yes)
	return a
}

// HypotensionNadir assesses intradialytic hypotension by the nadir: the lowest
// systolic pressure during dialysis below 90, or below 100 when it was 160 or
// more before. Only this family of definitions was associated with mortality.
// It needs readings taken during dialysis.
//
// Flythe et al, J Am Soc Nephrol 2015;26:724.
func HypotensionNadir(systolicBefore Maybe, systolicDuring []float64) Assessment {
	a := Assessment{
		Definition: "lowest systolic pressure during dialysis below 90 mm[Hg], or below 100 when 160 or more before",
		Source:     "Flythe et al, J Am Soc Nephrol 2015;26:724", Tag: Seen,
	}
	if len(systolicDuring) == 0 {
		return a.because("no blood pressure was recorded during dialysis")
	}
	if !systolicBefore.Known {
		return a.because("no blood pressure was recorded before dialysis")
	}
	nadir := math.Inf(1)
	for _, systolic := range systolicDuring {
		if Positive("", systolic) != "" {
			return a.because("a reading is not a pressure")
		}
		nadir = math.Min(nadir, systolic)
	}
	limit := 90.0
	if systolicBefore.Value >= 160 {
		limit = 100
	}
	return a.answer(nadir < limit)
}

// HypotensionEBPG assesses intradialytic hypotension by the European
// guideline: systolic pressure fell by 20 or more, or mean pressure by 10 or
// more, with a clinical event and an intervention. A fall alone is not enough
// and is common: 77.7 % of sessions show one, 6.7 % meet the definition
// (Kuipers 2016).
//
// EBPG 2007 (Kooman et al, Nephrol Dial Transplant 22 suppl 2:ii22; text read
// in Kuipers et al, BMC Nephrol 2016;17:21).
func HypotensionEBPG(before *Pressure, during []Pressure, event, intervention Answer) Assessment {
	a := Assessment{
		Definition: "systolic fall of 20 mm[Hg] or more, or mean fall of 10 or more, with a clinical event and an intervention",
		Source:     "EBPG 2007, read in Kuipers et al, BMC Nephrol 2016;17:21", Tag: Seen,
	}
	return a.fallWith(before, during, event, intervention)
}

// HypotensionKDOQI assesses intradialytic hypotension by KDOQI 2005: the same
// fall with symptoms (from memory).
func HypotensionKDOQI(before *Pressure, during []Pressure, symptoms Answer) Assessment {
	a := Assessment{
		Definition: "systolic fall of 20 mm[Hg] or more, or mean fall of 10 or more, with symptoms",
		Source:     "KDOQI 2005", Tag: Memory,
	}
	return a.fallWith(before, during, symptoms, Yes)
}

// fallWith answers "no" if any part is known to be absent, and is not
// assessable while an unknown part could decide.
func (a Assessment) fallWith(before *Pressure, during []Pressure, first, second Answer) Assessment {
	fall, why := pressureFall(before, during)
	parts := []Answer{fall, first, second}
	for _, part := range parts {
		if part == No {
			return a.answer(false)
		}
	}
	switch {
	case fall == NotAssessable:
		return a.because(why)
	case first == NotAssessable || second == NotAssessable:
		return a.because("whether there were symptoms or an intervention is not recorded")
	}
	return a.answer(true)
}

func pressureFall(before *Pressure, during []Pressure) (fell Answer, why string) {
	if before == nil || len(during) == 0 {
		return NotAssessable, "blood pressure was not recorded both before and during dialysis"
	}
	meanBefore, err := before.mean()
	if err != nil {
		return NotAssessable, err.Error()
	}
	fell = No
	for _, p := range during {
		mean, err := p.mean()
		if err != nil {
			return NotAssessable, err.Error()
		}
		// The tolerance keeps a fall of exactly 10 in thirds of a mm[Hg].
		if before.Systolic-p.Systolic >= 20 || meanBefore-mean >= 10-1e-9 {
			fell = Yes
		}
	}
	return fell, ""
}
