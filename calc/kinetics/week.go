package kinetics

import (
	"math"

	"runsheet.example/calc"
)

// WeekSession is a session of a [DoneWeek]. Times are minutes from the start
// of the week.
type WeekSession struct {
	StartMin, DurationMin float64
	ClearanceMLPerMin     float64 // of the dialyser, estimated from flows and KoA
	UFLitres              float64
	WeightBeforeKg        float64
}

// DoneWeek is one week as treated, with the state of the urea model at its
// start: all inputs for running the model through this week alone. Body water
// changes with the weight, one litre per kilogram.
type DoneWeek struct {
	Body  Body
	Start UreaState // at the start of the week; AtMin is 0
	// ReferenceKg is the weight at which the body holds Body.VolumeL.
	ReferenceKg float64
	// ClearanceFactor multiplies the clearance of every session.
	ClearanceFactor float64
	LengthMin       float64
	// Sessions are those that overlap the week, in time order, and the first
	// one after it, whose weight gives the fluid gained up to the end.
	Sessions []WeekSession
	// NotDone are the times of the week of sessions planned and not done.
	NotDone []float64
	// GainLPerDay is the fluid gained after the last session if no session
	// after the week is known.
	GainLPerDay float64
}

// Follow computes the week and returns the run, in which the week is from 0 to
// LengthMin, and whose End is the state at the end of the week. A session that
// began before the week counts from the start of the week; its urea before
// dialysis belongs to the week before.
func (w DoneWeek) Follow() (Run, error) {
	if err := calc.Guard(calc.Positive("the length of the week", w.LengthMin), calc.Positive("the factor of the clearances", w.ClearanceFactor),
		calc.Positive("the reference weight", w.ReferenceKg)); err != nil {
		return Run{}, err
	}
	course := Course{Start: w.Start, NotDone: w.NotDone, EndMin: w.LengthMin}
	course.Start.AtMin = 0
	free, volume, begun := 0.0, w.Start.VolumeL, false
	for i, s := range w.Sessions {
		if s.StartMin+s.DurationMin <= 0 {
			return Run{}, calc.NotComputable("a session lies before the week")
		}
		gain := w.Body.VolumeL - w.ReferenceKg + s.WeightBeforeKg - volume
		if s.StartMin >= w.LengthMin {
			if s.StartMin > free {
				course.TailLitres = gain * (w.LengthMin - free) / (s.StartMin - free)
			}
			return w.run(course, begun)
		}
		if s.StartMin < 0 {
			begun, gain = i == 0, 0
		}
		one := s.within(w.LengthMin)
		one.ClearanceMLPerMin *= w.ClearanceFactor
		course.Sessions = append(course.Sessions, CourseSession{Treatment: one, GainLitres: gain})
		free, volume = one.StartMin+one.DurationMin, volume+gain-one.UFLitres
	}
	course.TailLitres = w.GainLPerDay / 1440 * (w.LengthMin - free)
	return w.run(course, begun)
}

// run computes the course; begun reports that its first session began before
// it.
func (w DoneWeek) run(course Course, begun bool) (Run, error) {
	r, err := Follow(w.Body, course)
	if err == nil && begun {
		r.Sessions = r.Sessions[1:]
	}
	return r, err
}

// within is the part of a session in the week, with its share of the fluid
// removed.
func (s WeekSession) within(lengthMin float64) Treatment {
	from, to := math.Max(s.StartMin, 0), math.Min(s.StartMin+s.DurationMin, lengthMin)
	return Treatment{
		StartMin: from, DurationMin: to - from, ClearanceMLPerMin: s.ClearanceMLPerMin,
		UFLitres: s.UFLitres * (to - from) / s.DurationMin,
	}
}
