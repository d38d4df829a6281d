package kinetics

import "runsheet.example/calc"

// What tests ask of the steady state and the program does not.

// WeekOf returns a cycle of one week, 10080 minutes.
func WeekOf(treatments ...Treatment) Cycle {
	return Cycle{LengthMin: calc.MinutesPerWeek, Treatments: treatments}
}

// EKRc returns [Steady.EKR] corrected to a urea volume of 40 L.
func (s Steady) EKRc() float64 { return s.EKR() * 40 / s.Body.VolumeL }

// NPCR returns [calc.NPCRFromGeneration] of the body; NaN without generation.
func (s Steady) NPCR() float64 {
	v, _ := calc.NPCRFromGeneration(s.Body.GenerationMgPerMin, s.Body.VolumeL)
	return v
}

// KtV returns K·t/V of one session by the volume after dialysis averaged over
// the cycle, dimensionless.
func (s Steady) KtV(session int) float64 {
	t := s.Cycle.Treatments[session]
	return t.ClearanceMLPerMin * t.DurationMin / (1000 * s.Body.VolumeL)
}

// UreaMg returns the urea nitrogen in the body in this state, in mg.
func (r Run) UreaMg(s UreaState) float64 {
	m := r.model.massOf(s)
	return m[0] + m[1]
}
