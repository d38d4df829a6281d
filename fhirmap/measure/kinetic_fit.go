package measure

import (
	"fmt"
	"time"

	"runsheet.example/calc/kinetics"
	"runsheet.example/validate/issue"
)

// kineticRun is one start of the model and the steps that it covers.
type kineticRun struct {
	fit  *KineticFit
	part *stretch
	// The span begins with step open and ends with step last. The model runs
	// through the real sessions from step first, at most one span earlier, to
	// step to.
	first, open, last, to int
	sample                *pairedSample
	variants              []variant
	solutions             []solution // parallel to variants
	courses               []course   // parallel to variants
	// asked are the variations of the main model, cases their courses.
	asked []question
	cases map[*questionCase]course
}

// solution is a variant fitted to the span.
type solution struct {
	steady kinetics.Steady
	whyNot string
}

// course is the forward run of a variant. Its clock is in minutes from the
// start of the first step of the span.
type course struct {
	run    kinetics.Run
	model  FittedModel
	whyNot string
	// assumedTo is the end of the last assumed session of the repetition,
	// which no record has.
	assumedTo float64
	// referenceKg is the weight at which the body has the fitted volume.
	referenceKg float64
	// gainLPerMin is the assumed fluid gain after the last session.
	gainLPerMin float64
}

// start finds the starting points of a stretch and runs the model from each.
func (k *kinetic) start(part *stretch, out *Kinetics) {
	var runs []*kineticRun
	for i := range part.steps {
		c := newCollector(k.log, part.steps[i].at)
		pair, whyNot := c.pair()
		if pair == nil && whyNot == "" {
			continue
		}
		r := &kineticRun{part: part, last: i, sample: pair, fit: &KineticFit{Session: part.steps[i].session, Sampled: true}}
		out.Fits = append(out.Fits, r.fit)
		if whyNot != "" {
			r.fit.WhyNot = whyNot
			continue
		}
		r.fit.Before, r.fit.After, r.fit.Equilibrated = pair.before, pair.after, pair.equilibrated
		r.fit.Cells, r.fit.Notes = pair.cells, pair.notes
		if r.span() && r.prepare() {
			runs = append(runs, r)
		}
	}
	for i, r := range runs {
		r.to = len(part.steps) - 1
		if i+1 < len(runs) {
			r.to = runs[i+1].last
		}
		r.follow()
		if i > 0 {
			r.fit.Forecast = runs[i-1].forecast()
		}
	}
	if flows := flowsOnly(part, runs); flows != nil {
		out.Fits = append(out.Fits, flows.fit)
		runs = append([]*kineticRun{flows}, runs...)
	}
	k.runs = append(k.runs, runs...)
}

// span finds the first step of the span that ends at the sampled one: whole
// weeks back if a session is there, because a schedule repeats by weeks,
// otherwise at most four weeks.
func (r *kineticRun) span() bool {
	starts := r.starts()
	r.open = weeksApart(starts[r.last], starts[:r.last], -1)
	if r.open < 0 {
		r.open = r.last
		for r.open > 0 && r.days(r.open-1, r.last) <= longestSpanDays {
			r.open--
		}
	}
	r.describe()
	if r.days(r.open, r.last) < shortestSpanDays {
		r.fit.WhyNot = fmt.Sprintf("less than %d days of sessions are known in one piece up to this one", shortestSpanDays)
		return false
	}
	return true
}

// starts are the start times of the steps.
func (r *kineticRun) starts() []time.Time {
	starts := make([]time.Time, len(r.part.steps))
	for i, s := range r.part.steps {
		starts[i] = s.start
	}
	return starts
}

// days are the calendar days between two steps.
func (r *kineticRun) days(from, to int) int {
	steps := r.part.steps
	return daysBetween(steps[from].session.Date.Time, steps[to].session.Date.Time)
}

func (r *kineticRun) describe() {
	open, last := r.part.steps[r.open], r.part.steps[r.last]
	r.fit.From, r.fit.Sessions = open.start, r.last-r.open
	r.fit.Days = last.start.Sub(open.start).Hours() / 24
	r.fit.Notes = append(r.fit.Notes, fmt.Sprintf("the %s in the %.1f days up to %s are taken to have repeated before", issue.Plural(r.fit.Sessions, "session", "sessions"), r.fit.Days, day(last.start)))
	if !last.kruKnown {
		r.fit.Notes = append(r.fit.Notes, "the prescription states no residual urea clearance: computed without")
	}
	for _, s := range r.part.steps[r.open : r.last+1] {
		if s.fromClock {
			r.fit.Notes = append(r.fit.Notes, "treated time of some sessions from start to end: pauses count as treatment")
			break
		}
	}
}

// flowsOnly starts the model without samples at the beginning of a stretch, if
// no run with samples covers it.
func flowsOnly(part *stretch, sampled []*kineticRun) *kineticRun {
	if len(part.steps) == 0 || len(sampled) > 0 && sampled[0].first == 0 {
		return nil
	}
	r := &kineticRun{part: part, to: len(part.steps) - 1}
	starts := r.starts()
	r.last = weeksApart(starts[0], starts[1:], 1) + 1
	for whole := r.last; whole == 0 && r.last < r.to && r.days(0, r.last+1) <= longestSpanDays; {
		r.last++
	}
	r.fit = &KineticFit{Session: part.steps[r.last].session}
	if len(sampled) > 0 {
		r.to = min(r.to, max(r.last, sampled[0].last))
	}
	r.describe()
	if r.days(0, r.last) < shortestSpanDays {
		r.fit.WhyNot = fmt.Sprintf("less than %d days of sessions are known in one piece", shortestSpanDays)
		return r
	}
	r.fit.Notes = append(r.fit.Notes, "no blood samples: an estimate from flows and body size only")
	if r.prepare() {
		r.follow()
	}
	return r
}

// prepare fits every printed model to the span and reports whether any fit
// succeeded.
func (r *kineticRun) prepare() bool {
	r.variants = r.models()
	worked := false
	for _, v := range r.variants {
		s := r.solve(v)
		r.solutions = append(r.solutions, s)
		worked = worked || s.whyNot == ""
	}
	if !worked {
		r.fit.WhyNot = r.solutions[0].whyNot
	}
	return worked
}

func (r *kineticRun) solve(v variant) solution {
	steady, err := r.steady(v)
	if err != nil {
		return solution{whyNot: err.Error()}
	}
	return solution{steady: steady}
}
