package kinetics

import "runsheet.example/calc"

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
	Dose     // of one cycle
	Cycle    Cycle
	Sessions []SessionUrea // in time order
	Start    UreaState     // before the first session, to begin a [Course] with
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
	k, err := body.model()
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
	s := Steady{Dose: Dose{Body: body}, Cycle: Cycle{LengthMin: cycle.LengthMin, Treatments: treatments}}
	s.Start = k.stateOf(treatments[0].StartMin, legs[0].volume, start)
	s.fill(k, legs, start)
	if err := calc.Guard(calc.Finite("time-averaged urea", s.TimeAveragedMgPerDL), calc.Finite("mean urea before dialysis", s.MeanBeforeMgPerDL)); err != nil {
		return Steady{}, err
	}
	return s, nil
}

// periodic returns the state that one cycle maps onto itself.
func (k model) periodic(legs []leg) (mass, error) {
	through := func(k model, m mass) mass {
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
		return mass{}, calc.NotComputable("nothing removes urea: there is no steady state")
	}
	second := through(free, mass{0, 1})
	a, b := 1-first[0], -second[0]
	c, d := -first[1], 1-second[1]
	determinant := a*d - b*c
	if determinant <= 1e-14 {
		return mass{}, calc.NotComputable("nothing removes urea: there is no steady state")
	}
	return mass{(d*offset[0] - b*offset[1]) / determinant, (a*offset[1] - c*offset[0]) / determinant}, nil
}

func (s *Steady) fill(k model, legs []leg, m mass) {
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
func (k model) plasma(m mass, volume float64) float64 {
	if k.single {
		return 100 * m[0] / volume
	}
	return 100 * m[0] / (k.share * volume)
}
