package measure

import (
	"time"

	"runsheet.example/calc/kinetics"
)

// follow runs every printed model through the run's steps.
func (r *kineticRun) follow() {
	r.first = r.open
	for r.first > 0 && r.minute(r.first-1) >= -r.minute(r.last) {
		r.first--
	}
	worked := false
	for i, v := range r.variants {
		c := r.course(v, r.solutions[i])
		r.courses = append(r.courses, c)
		r.fit.Models = append(r.fit.Models, c.model)
		worked = worked || c.whyNot == ""
	}
	if !worked {
		r.fit.WhyNot = r.courses[0].whyNot
	}
}

// course runs one variant forward: from one span before the span, which is
// assumed to have repeated, through the real sessions. The assumed sessions
// precede the first real one, so that the hours before it have a state.
func (r *kineticRun) course(v variant, from solution) course {
	if from.whyNot != "" {
		return course{whyNot: from.whyNot, model: FittedModel{Name: v.name, WhyNot: from.whyNot}}
	}
	steady := from.steady
	out := course{model: r.fitted(v, steady)}
	forward, free, volume := r.repeated(steady)
	out.assumedTo, out.referenceKg = free, r.meanAfter()
	zero := steady.Body.VolumeL - out.referenceKg
	for i := r.first; i <= r.to; i++ {
		s := r.part.steps[i]
		clearance := s.clearance * out.model.Factor
		if v.printed {
			clearance = s.printed
		}
		one := kinetics.CourseSession{Treatment: kinetics.Treatment{StartMin: r.minute(i), DurationMin: s.minutes, ClearanceMLPerMin: clearance, UFLitres: s.ufL}}
		one.GainLitres = zero + s.weight - volume
		forward.Sessions = append(forward.Sessions, one)
		free, volume = one.StartMin+one.DurationMin, zero+s.weight-s.ufL
	}
	forward.EndMin = free
	if r.to == len(r.part.steps)-1 {
		forward.EndMin = max(free, r.at(r.part.lastDay.AddDate(0, 0, 1)))
		out.gainLPerMin = gainRate(steady.Cycle)
		forward.TailLitres = out.gainLPerMin * (forward.EndMin - free)
	}
	for _, moment := range r.part.notDone {
		if at := r.at(moment); at >= forward.Start.AtMin && at <= forward.EndMin {
			forward.NotDone = append(forward.NotDone, at)
		}
	}
	run, err := kinetics.Follow(steady.Body, forward)
	if err != nil {
		out.whyNot = err.Error()
		out.model.WhyNot = err.Error()
	}
	out.run = run
	return out
}

// meanAfter is the mean weight after dialysis over the span, at which the body
// has the fitted urea volume, kg: the weight before minus the fluid removed,
// so that drinks and rinse-back are a gain until the next session, as in the
// model.
func (r *kineticRun) meanAfter() float64 {
	sum := 0.0
	for _, s := range r.part.steps[r.open+1 : r.last+1] {
		sum += s.weight - s.ufL
	}
	return sum / float64(r.last-r.open)
}

// repeated is the span repeated twice before it began, up to the first known
// session; free is the end of its last session and volume, in litres, the
// volume then.
func (r *kineticRun) repeated(steady kinetics.Steady) (forward kinetics.Course, free, volume float64) {
	gain, length := gainRate(steady.Cycle), steady.Cycle.LengthMin
	forward.Start = steady.Start
	forward.Start.AtMin -= 2 * length
	free, volume = forward.Start.AtMin, forward.Start.VolumeL
	for _, back := range []float64{2 * length, length} {
		for _, t := range steady.Cycle.Treatments {
			t.StartMin -= back
			if t.StartMin+t.DurationMin > r.minute(r.first) {
				return forward, free, volume
			}
			one := kinetics.CourseSession{Treatment: t, GainLitres: gain * (t.StartMin - free)}
			forward.Sessions = append(forward.Sessions, one)
			free, volume = t.StartMin+t.DurationMin, volume+one.GainLitres-t.UFLitres
		}
	}
	return forward, free, volume
}

// gainRate is the mean gain of fluid between the sessions of a cycle, L/min.
func gainRate(c kinetics.Cycle) float64 {
	litres, free := 0.0, c.LengthMin
	for _, t := range c.Treatments {
		litres += t.UFLitres
		free -= t.DurationMin
	}
	return litres / free
}

// at converts an instant to the clock of the run.
func (r *kineticRun) at(t time.Time) float64 {
	return t.Sub(r.part.steps[r.open].start).Minutes()
}

// forecast is the main model's prediction for the last step of the run, which
// is the next sampled one.
func (r *kineticRun) forecast() *Forecast {
	for _, c := range r.courses {
		if c.whyNot == "" && len(c.run.Sessions) > 0 {
			last := c.run.Sessions[len(c.run.Sessions)-1]
			return &Forecast{Before: plasmaUrea(last.BeforeMgPerDL), After: plasmaUrea(last.AfterMgPerDL)}
		}
	}
	return nil
}

// covers reports whether the run includes a whole local week.
func (r *kineticRun) covers(monday time.Time) bool {
	sunday := monday.AddDate(0, 0, 6)
	opens := r.part.steps[r.first].session.Date.Time
	return r.fit.WhyNot == "" && !opens.After(monday) && !r.part.lastDay.Before(sunday) && r.reaches(monday.AddDate(0, 0, 7))
}

// reaches reports whether the run extends to an instant.
func (r *kineticRun) reaches(t time.Time) bool {
	return r.to == len(r.part.steps)-1 || !r.part.steps[r.to].start.Before(t)
}
