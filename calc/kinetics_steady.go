package calc

import "math"

// SessionUrea is the urea nitrogen around one session, in mg/dL of body
// water.
type SessionUrea struct {
	StartMin      float64
	BeforeMgPerDL float64
	AfterMgPerDL  float64 // at once, in pool 1
	// EquilibratedMgPerDL is the concentration after dialysis if both pools
	// mixed at once. In a single pool it equals After.
	EquilibratedMgPerDL float64
	VolumeBeforeL       float64
	VolumeAfterL        float64
}

// Steady is a schedule repeated until all cycles are equal.
type Steady struct {
	Body                Body
	Cycle               Cycle
	Sessions            []SessionUrea // in time order
	TimeAveragedMgPerDL float64       // mean concentration of pool 1 over the cycle
	MeanBeforeMgPerDL   float64       // mean concentration before dialysis
	Start               UreaState     // before the first session, to begin a [Course] with
	GeneratedMg         float64       // per cycle
	DialyserRemovedMg   float64       // per cycle
	KidneyRemovedMg     float64       // per cycle
}

// SteadyState solves the kinetic model for a repeating schedule of any
// spacing, number and length of sessions, with fluid removal, gain between
// sessions and residual clearance.
//
// Within each period of constant rates the solution has a closed form, with
// one pool or two. One cycle is an affine map x' = A·x + b of the urea at its
// start, so the periodic state is the solution of (I-A)·x = b: there is no
// iteration and no step size.
//
// Single pool: Sargent and Gotch; two-pool parameters from memory, see
// [Pools]. There is no value if a number is out of range, sessions overlap or
// there is no clearance.
func SteadyState(body Body, cycle Cycle) (Steady, error) {
	treatments, err := cycle.sorted()
	if err != nil {
		return Steady{}, err
	}
	k, err := body.kinetics()
	if err != nil {
		return Steady{}, err
	}
	legs, err := cycle.legs(treatments, body.VolumeL)
	if err != nil {
		return Steady{}, err
	}
	start, err := k.periodic(legs)
	if err != nil {
		return Steady{}, err
	}
	s := Steady{Body: body, Cycle: Cycle{LengthMin: cycle.LengthMin, Treatments: treatments}}
	s.Start = k.stateOf(treatments[0].StartMin, legs[0].volume, start)
	s.fill(k, legs, start)
	if err := guard(finite("time-averaged urea", s.TimeAveragedMgPerDL), finite("mean urea before dialysis", s.MeanBeforeMgPerDL)); err != nil {
		return Steady{}, err
	}
	return s, nil
}

// periodic returns the state that one cycle maps onto itself.
func (k kinetics) periodic(legs []leg) (mass, error) {
	through := func(k kinetics, m mass) mass {
		for _, l := range legs {
			m, _ = k.advance(m, l)
		}
		return m
	}
	offset := through(k, mass{})
	free := k
	free.generation = 0
	first := through(free, mass{1, 0})
	if k.single {
		if remaining := 1 - first[0]; remaining > 0 {
			return mass{offset[0] / remaining}, nil
		}
		return mass{}, NotComputable("nothing removes urea: there is no steady state")
	}
	second := through(free, mass{0, 1})
	a, b := 1-first[0], -second[0]
	c, d := -first[1], 1-second[1]
	determinant := a*d - b*c
	if determinant <= 1e-14 {
		return mass{}, NotComputable("nothing removes urea: there is no steady state")
	}
	return mass{(d*offset[0] - b*offset[1]) / determinant, (a*offset[1] - c*offset[0]) / determinant}, nil
}

func (s *Steady) fill(k kinetics, legs []leg, m mass) {
	total := 0.0
	for i, t := range s.Cycle.Treatments {
		on, off := legs[2*i], legs[2*i+1]
		after, areaOn := k.advance(m, on)
		session := SessionUrea{
			StartMin: t.StartMin, BeforeMgPerDL: k.plasma(m, on.volume), AfterMgPerDL: k.plasma(after, off.volume),
			EquilibratedMgPerDL: 100 * (after[0] + after[1]) / off.volume,
			VolumeBeforeL:       on.volume / 1000, VolumeAfterL: off.volume / 1000,
		}
		s.Sessions = append(s.Sessions, session)
		next, areaOff := k.advance(after, off)
		s.DialyserRemovedMg += on.clearance * areaOn
		total += areaOn + areaOff
		s.MeanBeforeMgPerDL += session.BeforeMgPerDL / float64(len(s.Cycle.Treatments))
		m = next
	}
	s.TimeAveragedMgPerDL = 100 * total / s.Cycle.LengthMin
	s.KidneyRemovedMg = k.residual * total
	s.GeneratedMg = k.generation * s.Cycle.LengthMin
}

// plasma returns the concentration of pool 1 in mg/dL.
func (k kinetics) plasma(m mass, volume float64) float64 {
	if k.single {
		return 100 * m[0] / volume
	}
	return 100 * m[0] / (k.share * volume)
}

// StdKtVByDefinition returns the weekly standard Kt/V by its definition,
// 10080·G/(V·C), from urea nitrogen generation in mg/min, urea volume in
// litres and the mean concentration before dialysis in mg/dL of body water.
//
// Gotch, Nephrol Dial Transplant 1998 (definition from memory).
func StdKtVByDefinition(generationMgPerMin, volumeL, meanBeforeMgPerDL float64) (float64, error) {
	if err := guard(
		positive("urea generation", generationMgPerMin), positive("urea volume", volumeL),
		positive("mean urea before dialysis", meanBeforeMgPerDL),
	); err != nil {
		return math.NaN(), err
	}
	return MinutesPerWeek * generationMgPerMin / (10 * volumeL * meanBeforeMgPerDL), nil
}

// EKR returns the equivalent renal urea clearance in mL/min, generation in
// mg/min over the time-averaged concentration in mg/dL of body water;
// residual clearance is included.
//
// Casino and Lopez, Nephrol Dial Transplant 1996;11:1574.
func EKR(generationMgPerMin, timeAveragedMgPerDL float64) (float64, error) {
	if err := guard(positive("urea generation", generationMgPerMin), positive("time-averaged urea", timeAveragedMgPerDL)); err != nil {
		return math.NaN(), err
	}
	return 100 * generationMgPerMin / timeAveragedMgPerDL, nil
}
