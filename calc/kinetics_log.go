package calc

import "fmt"

// LoggedSession is a session as a log holds it.
type LoggedSession struct {
	StartMin          float64 // minutes on one clock over all sessions
	TreatedMin        float64
	ClearanceMLPerMin float64 // of the dialyser, estimated or fitted
	UFLitres          Maybe   // fluid removed, used where a weight is missing
	WeightBeforeKg    Maybe
	WeightAfterKg     Maybe
}

// LoggedWeeks is a stretch of sessions as they were done.
type LoggedWeeks struct {
	Sessions []LoggedSession // in time order; sessions not done are left out
	EndMin   float64         // where the stretch ends
	// ReferenceKg is the weight at which the body holds Body.VolumeL of
	// water, as a rule the dry weight.
	ReferenceKg float64
}

// Course lays the sessions out for [Follow]. The body's water follows the
// weights, one litre per kilogram, and not the sum of what was removed: drinks
// and rinse-back are in the weights, and errors do not add up over months.
// Where a weight is missing, the fluid removed stands for the loss and the
// fluid removed next for the gain, and the notes say so.
//
// start gives the urea at the first session, from [Steady.Start] or measured;
// its volume and time are replaced by those of the log.
func (l LoggedWeeks) Course(body Body, start UreaState) (Course, []string, error) {
	if err := guard(
		when(len(l.Sessions) == 0, "there is no session"),
		positive("the reference weight", l.ReferenceKg), positive("urea volume", body.VolumeL),
	); err != nil {
		return Course{}, nil, err
	}
	walk := waterWalk{base: body.VolumeL - l.ReferenceKg, volume: body.VolumeL}
	course := Course{EndMin: l.EndMin}
	gained, off := 0.0, 0.0
	for i, s := range l.Sessions {
		gain, err := walk.before(s, i+1)
		if err != nil {
			return Course{}, nil, err
		}
		walk.volume += gain
		done := CourseSession{Treatment: Treatment{StartMin: s.StartMin, DurationMin: s.TreatedMin, ClearanceMLPerMin: s.ClearanceMLPerMin}}
		if i == 0 {
			start.AtMin, start.VolumeL = s.StartMin, walk.volume
		} else {
			done.GainLitres = gain
			gained += gain
			off += s.StartMin - l.Sessions[i-1].StartMin - l.Sessions[i-1].TreatedMin
		}
		if done.UFLitres, err = walk.during(s, i+1); err != nil {
			return Course{}, nil, err
		}
		walk.volume -= done.UFLitres
		course.Sessions = append(course.Sessions, done)
	}
	course.Start = start
	if off > 0 {
		last := l.Sessions[len(l.Sessions)-1]
		course.TailLitres = gained / off * (l.EndMin - last.StartMin - last.TreatedMin)
	}
	return course, walk.notes, nil
}

// waterWalk follows the body's water from weight to weight.
type waterWalk struct {
	base   float64 // litres of water at 0 kg
	volume float64 // where the walk stands, L; it sets out from the reference volume
	notes  []string
}

// before returns the gain up to the start of a session.
func (w *waterWalk) before(s LoggedSession, number int) (float64, error) {
	switch {
	case s.WeightBeforeKg.Known:
		return w.base + s.WeightBeforeKg.Value - w.volume, nil
	case s.UFLitres.Known:
		w.notes = append(w.notes, fmt.Sprintf("session %d: weight before not recorded, gain taken as the fluid removed", number))
		return s.UFLitres.Value, nil
	}
	return 0, NotComputable(fmt.Sprintf("session %d: neither weight before nor fluid removed was recorded", number))
}

// during returns the water lost in a session.
func (w *waterWalk) during(s LoggedSession, number int) (float64, error) {
	switch {
	case s.WeightAfterKg.Known:
		return w.volume - (w.base + s.WeightAfterKg.Value), nil
	case s.UFLitres.Known:
		w.notes = append(w.notes, fmt.Sprintf("session %d: weight after not recorded, loss taken as the fluid removed", number))
		return s.UFLitres.Value, nil
	}
	return 0, NotComputable(fmt.Sprintf("session %d: neither weight after nor fluid removed was recorded", number))
}
