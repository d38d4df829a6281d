package measure

import (
	"time"

	"runsheet.example/calc"
)

// follow takes every printed model through the run's steps.
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

// course follows one variant: from one span before the span, where it is taken
// to have repeated, through the sessions as they were. Before the first of them
// stand those of the repetition, so that the hours before it have a state.
func (r *kineticRun) course(v variant, from solution) course {
	if from.whyNot != "" {
		return course{whyNot: from.whyNot, model: FittedModel{Name: v.name, WhyNot: from.whyNot}}
	}
	steady := from.steady
	out := course{model: r.fitted(v, steady)}
	forward, free := r.repeated(steady)
	gain := gainRate(steady.Cycle)
	for i := r.first; i <= r.to; i++ {
		s := r.part.steps[i]
		clearance := s.clearance * out.model.Factor
		if v.printed {
			clearance = s.printed
		}
		one := calc.CourseSession{Treatment: calc.Treatment{StartMin: r.minute(i), DurationMin: s.minutes, ClearanceMLPerMin: clearance, UFLitres: s.ufL}}
		if i == r.first {
			one.GainLitres = gain * (one.StartMin - free)
		} else {
			before := r.part.steps[i-1]
			one.GainLitres = s.weight - before.weight + before.ufL
		}
		forward.Sessions = append(forward.Sessions, one)
		free = one.StartMin + one.DurationMin
	}
	forward.EndMin = free
	if r.to == len(r.part.steps)-1 {
		forward.EndMin = max(free, r.at(r.part.lastDay.AddDate(0, 0, 1)))
		forward.TailLitres = gain * (forward.EndMin - free)
	}
	run, err := calc.Follow(steady.Body, forward)
	if err != nil {
		out.whyNot = err.Error()
		out.model.WhyNot = err.Error()
	}
	out.run = run
	return out
}

// repeated is the span twice before it began, up to the first session known;
// free is when its last session ended.
func (r *kineticRun) repeated(steady calc.Steady) (forward calc.Course, free float64) {
	gain, length := gainRate(steady.Cycle), steady.Cycle.LengthMin
	forward.Start = steady.Start
	forward.Start.AtMin -= 2 * length
	free = forward.Start.AtMin
	for _, back := range []float64{2 * length, length} {
		for _, t := range steady.Cycle.Treatments {
			t.StartMin -= back
			if t.StartMin+t.DurationMin > r.minute(r.first) {
				return forward, free
			}
			forward.Sessions = append(forward.Sessions, calc.CourseSession{Treatment: t, GainLitres: gain * (t.StartMin - free)})
			free = t.StartMin + t.DurationMin
		}
	}
	return forward, free
}

// gainRate is the mean gain of fluid between the sessions of a cycle, L/min.
func gainRate(c calc.Cycle) float64 {
	litres, free := 0.0, c.LengthMin
	for _, t := range c.Treatments {
		litres += t.UFLitres
		free -= t.DurationMin
	}
	return litres / free
}

// at is an instant on the clock of the run.
func (r *kineticRun) at(t time.Time) float64 {
	return t.Sub(r.part.steps[r.open].start).Minutes()
}

// forecast is what the main model says of the last step of the run, which is
// the next sampled one.
func (r *kineticRun) forecast() *Forecast {
	for _, c := range r.courses {
		if c.whyNot == "" && len(c.run.Sessions) > 0 {
			last := c.run.Sessions[len(c.run.Sessions)-1]
			return &Forecast{Before: plasmaUrea(last.BeforeMgPerDL), After: plasmaUrea(last.AfterMgPerDL)}
		}
	}
	return nil
}

// covers reports whether the run holds a whole local week.
func (r *kineticRun) covers(monday time.Time) bool {
	sunday := monday.AddDate(0, 0, 6)
	opens := r.part.steps[r.first].session.Date.Time
	return r.fit.WhyNot == "" && !opens.After(monday) && !r.part.lastDay.Before(sunday) && r.reaches(monday.AddDate(0, 0, 7))
}

// reaches reports whether the run goes on up to an instant.
func (r *kineticRun) reaches(t time.Time) bool {
	return r.to == len(r.part.steps)-1 || !r.part.steps[r.to].start.Before(t)
}
