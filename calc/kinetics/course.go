package kinetics

import (
	"fmt"
	"math"

	"runsheet.example/calc"
)

// UreaState is the urea nitrogen in the body at one moment.
type UreaState struct {
	AtMin         float64 // on the clock of the course
	VolumeL       float64
	PlasmaMgPerDL float64 // in pool 1, per body water
	InnerMgPerDL  float64 // in pool 2; not used in a single pool
}

// CourseSession is a session as treated, with the fluid gained since the
// previous one (or since the start of the course), from the weights.
type CourseSession struct {
	Treatment
	GainLitres float64
}

// Course is a period as treated: it omits missed sessions, and shortened ones
// are short. It begins at a known state and does not repeat.
type Course struct {
	Start    UreaState
	Sessions []CourseSession // in time order
	// NotDone are the times in the course of sessions planned and not done:
	// their urea counts as urea before a session.
	NotDone    []float64
	EndMin     float64 // end of the course after the last session
	TailLitres float64 // fluid gained between the last session and EndMin
}

// Run is a computed course. Its values describe the treatment done, not the
// prescription; they are not periodic.
type Run struct {
	Body     Body
	Sessions []SessionUrea
	End      UreaState // state to continue from
	NotDone  []float64 // as in the course

	model  model
	legs   []leg
	starts []float64 // start of each leg, min
	states []mass    // at the start of each leg
}

// Follow computes a course forward from its start state, by the same closed
// forms as [SteadyState]. Body.VolumeL is the reference volume for Kc and for
// standard Kt/V; the true volume comes from the start state, the gains and
// the fluid removed.
func Follow(body Body, course Course) (Run, error) {
	k, err := body.model()
	if err != nil {
		return Run{}, err
	}
	if err := course.check(); err != nil {
		return Run{}, err
	}
	r := Run{Body: body, model: k, NotDone: course.NotDone, Sessions: make([]SessionUrea, 0, len(course.Sessions))}
	steps := 2*len(course.Sessions) + 1
	r.legs, r.starts, r.states = make([]leg, 0, steps), make([]float64, 0, steps), make([]mass, 0, steps)
	at, volume := course.Start.AtMin, 1000*course.Start.VolumeL
	m := k.massOf(course.Start)
	for i, session := range course.Sessions {
		if m, volume, err = r.step(at, m, between(at, session.StartMin, volume, session.GainLitres)); err != nil {
			return Run{}, fmt.Errorf("before session %d: %w", i+1, err)
		}
		on := leg{minutes: session.DurationMin, volume: volume, loss: 1000 * session.UFLitres / session.DurationMin, clearance: session.ClearanceMLPerMin}
		urea := SessionUrea{StartMin: session.StartMin, BeforeMgPerDL: k.plasma(m, volume), VolumeBeforeL: volume / 1000}
		if m, volume, err = r.step(session.StartMin, m, on); err != nil {
			return Run{}, fmt.Errorf("session %d: %w", i+1, err)
		}
		urea.AfterMgPerDL, urea.VolumeAfterL = k.plasma(m, volume), volume/1000
		urea.EquilibratedMgPerDL = 100 * (m[0] + m[1]) / volume
		r.Sessions = append(r.Sessions, urea)
		at = session.StartMin + session.DurationMin
	}
	if m, volume, err = r.step(at, m, between(at, course.EndMin, volume, course.TailLitres)); err != nil {
		return Run{}, fmt.Errorf("after the last session: %w", err)
	}
	r.End = k.stateOf(course.EndMin, volume, m)
	if err := calc.Guard(calc.Finite("urea at the end", r.End.PlasmaMgPerDL), calc.Finite("urea at the end", r.End.InnerMgPerDL)); err != nil {
		return Run{}, err
	}
	return r, nil
}

func (c Course) check() error {
	if err := calc.Guard(
		calc.Finite("the start of the course", c.Start.AtMin), calc.Positive("the volume at the start", c.Start.VolumeL),
		calc.NotNegative("urea at the start", c.Start.PlasmaMgPerDL), calc.NotNegative("urea at the start", c.Start.InnerMgPerDL),
		calc.Finite("the end of the course", c.EndMin), calc.Finite("fluid gained", c.TailLitres),
	); err != nil {
		return err
	}
	free := c.Start.AtMin
	for i, s := range c.Sessions {
		if err := s.check(free); err != nil {
			return fmt.Errorf("session %d: %w", i+1, err)
		}
		free = s.StartMin + s.DurationMin
	}
	for _, moment := range c.NotDone {
		if err := calc.Guard(calc.When(!(moment >= c.Start.AtMin && moment <= c.EndMin), "a session planned and not done lies outside the course")); err != nil {
			return err
		}
	}
	return calc.Guard(
		calc.When(c.EndMin < free, "the course ends before its last session"),
		calc.When(c.EndMin == free && c.TailLitres != 0, "fluid was gained after the last session in no time"),
	)
}

// check returns what is wrong with a session if the one before it ended at
// free.
func (s CourseSession) check(free float64) error {
	return calc.Guard(
		calc.Finite("the start of a session", s.StartMin), calc.Positive("the duration of a session", s.DurationMin),
		calc.NotNegative("clearance", s.ClearanceMLPerMin), calc.Finite("fluid removed", s.UFLitres), calc.Finite("fluid gained", s.GainLitres),
		calc.When(s.StartMin < free, "starts before the one before it has ended"),
		calc.When(s.StartMin == free && s.GainLitres != 0, "fluid was gained before it in no time"),
	)
}

// between is the leg between two sessions, with a constant rate of fluid gain.
func between(from, to, volume, gainLitres float64) leg {
	l := leg{minutes: to - from, volume: volume}
	if l.minutes > 0 {
		l.loss = -1000 * gainLitres / l.minutes
	}
	return l
}

func (r *Run) step(at float64, m mass, l leg) (mass, float64, error) {
	if math.Min(l.volume, l.endVolume()) <= 0 {
		return m, 0, calc.NotComputable("more fluid is removed than the body holds")
	}
	r.legs, r.starts, r.states = append(r.legs, l), append(r.starts, at), append(r.states, m)
	end, _ := r.model.advance(m, l)
	return end, l.endVolume(), nil
}

func (k model) massOf(s UreaState) mass {
	volume := 1000 * s.VolumeL
	if k.single {
		return mass{s.PlasmaMgPerDL / 100 * volume}
	}
	return mass{s.PlasmaMgPerDL / 100 * k.share * volume, s.InnerMgPerDL / 100 * (1 - k.share) * volume}
}

func (k model) stateOf(at, volume float64, m mass) UreaState {
	s := UreaState{AtMin: at, VolumeL: volume / 1000, PlasmaMgPerDL: k.plasma(m, volume)}
	if !k.single {
		s.InnerMgPerDL = 100 * m[1] / ((1 - k.share) * volume)
	}
	return s
}
