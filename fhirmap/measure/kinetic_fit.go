package measure

import (
	"fmt"
	"math"
	"strconv"

	"runsheet.example/calc"
)

// fitBy says what the samples are used for.
type fitBy uint8

const (
	byNothing   fitBy = iota // no samples: clearance from flows
	byClearance              // one factor on all clearances
	byVolume                 // the volume, clearances from flows
)

// variant is one way to set the model up.
type variant struct {
	name    string
	pools   calc.Pools
	volume  bodyWater // not used when fitted
	by      fitBy
	printed bool // clearance from printed KoA and whole blood flow
}

// kineticRun is one start of the model and the steps it is followed through.
type kineticRun struct {
	fit  *KineticFit
	part *stretch
	// The span opens with step open and ends with step last. The sessions as
	// they were are followed from step first, up to one span before, to step
	// to.
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
	steady calc.Steady
	whyNot string
}

// course is a variant followed forward. Its clock is in minutes from the
// start of the opening step.
type course struct {
	run    calc.Run
	model  FittedModel
	whyNot string
}

// start finds the starting points of a stretch and follows the model from
// each.
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

// span finds the step that opens the span which ends at the sampled one: whole
// weeks back where there is a session, because a schedule repeats by weeks,
// else as far as four weeks go.
func (r *kineticRun) span() bool {
	r.open = r.last
	for i := r.last - 1; i >= 0; i-- {
		switch days := r.days(i, r.last); {
		case days > longestSpanDays:
			i = 0
		case days%7 == 0 || r.days(r.open, r.last)%7 != 0 || r.open == r.last:
			r.open = i
		}
	}
	r.describe()
	if r.days(r.open, r.last) < shortestSpanDays {
		r.fit.WhyNot = fmt.Sprintf("less than %d days of sessions are known in one piece up to this one", shortestSpanDays)
		return false
	}
	return true
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
	r.fit.Notes = append(r.fit.Notes, fmt.Sprintf("the %s in the %.1f days up to %s are taken to have repeated before", countOf(r.fit.Sessions, "session", "sessions"), r.fit.Days, day(last.start)))
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

// flowsOnly starts the model without samples at the beginning of a stretch,
// where none of the runs with samples reaches back to it.
func flowsOnly(part *stretch, sampled []*kineticRun) *kineticRun {
	if len(part.steps) == 0 || len(sampled) > 0 && sampled[0].first == 0 {
		return nil
	}
	r := &kineticRun{part: part, to: len(part.steps) - 1}
	for i := 1; i <= r.to && r.days(0, i) <= longestSpanDays; i++ {
		if r.days(0, i)%7 == 0 || r.days(0, r.last)%7 != 0 || r.last == 0 {
			r.last = i
		}
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

// models are the ways to set the model up that are printed, the main first.
func (r *kineticRun) models() []variant {
	var watson bodyWater
	if volumes := r.volumes(); len(volumes) > 0 {
		watson = volumes[0]
	}
	if r.sample == nil {
		return []variant{
			{name: "two pools, body water by Watson, clearance from flows", pools: calc.TwoPools(), volume: watson},
			{name: "one pool, body water by Watson, clearance from flows", volume: watson},
		}
	}
	return []variant{
		{name: "two pools, body water by Watson, clearance fitted", pools: calc.TwoPools(), volume: watson, by: byClearance},
		{name: "one pool, body water by Watson, clearance fitted", volume: watson, by: byClearance},
		{name: "two pools, body water fitted, clearance from flows", pools: calc.TwoPools(), by: byVolume},
	}
}

// volumes are the body-water formulas at the latest weight of the span.
func (r *kineticRun) volumes() []bodyWater {
	for i := r.last; i >= r.open; i-- {
		if v := r.part.steps[i].volumes; len(v) > 0 {
			return v
		}
	}
	return nil
}

// cycle is the span as a schedule that repeats. The opening session only marks
// its beginning, as in the count of the week.
func (r *kineticRun) cycle(printed bool) calc.Cycle {
	steps := r.part.steps
	c := calc.Cycle{LengthMin: r.minute(r.last)}
	for i := r.open + 1; i <= r.last; i++ {
		clearance := steps[i].clearance
		if printed {
			clearance = steps[i].printed
		}
		c.Treatments = append(c.Treatments, calc.Treatment{
			StartMin: r.minute(i), DurationMin: steps[i].minutes, ClearanceMLPerMin: clearance, UFLitres: steps[i].ufL,
		})
	}
	return c
}

// minute is when a step starts on the clock of the run.
func (r *kineticRun) minute(i int) float64 {
	return r.part.steps[i].start.Sub(r.part.steps[r.open].start).Minutes()
}

// prepare fits every printed model to the span and reports whether any came
// out.
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

// steady fits one variant to the span.
func (r *kineticRun) steady(v variant) (calc.Steady, error) {
	body := calc.Body{VolumeL: v.volume.litres, GenerationMgPerMin: 1, GenerationAssumed: v.by == byNothing,
		ResidualMLPerMin: r.part.steps[r.last].kru, Pools: v.pools}
	cycle := r.cycle(v.printed)
	if v.by != byVolume && v.volume.litres == 0 {
		return calc.Steady{}, calc.NotComputable("body water cannot be computed: sex, height or weight after is not recorded")
	}
	if v.by == byNothing {
		return calc.SteadyState(body, cycle)
	}
	sample := calc.PairedSample{
		Session: len(cycle.Treatments) - 1, BeforeMgPerDL: waterUrea(r.sample.before), AfterMgPerDL: waterUrea(r.sample.after),
		Equilibrated: r.sample.equilibrated,
	}
	if v.by == byVolume {
		return calc.FitVolume(body, cycle, sample)
	}
	return calc.FitClearance(body, cycle, sample)
}

// fitted describes the model that came out.
func (r *kineticRun) fitted(v variant, steady calc.Steady) FittedModel {
	m := FittedModel{Name: v.name, Body: steady.Body, VolumeFrom: v.volume.method, Factor: 1}
	if v.by == byVolume {
		m.VolumeFrom = "fitted"
	}
	last := len(steady.Cycle.Treatments) - 1
	if from := r.part.steps[r.last].clearance; v.by == byClearance && from > 0 {
		m.Factor = steady.Cycle.Treatments[last].ClearanceMLPerMin / from
	}
	method, _ := calc.MethodByID("npcr-generation")
	inputs := calc.Inputs{"total_body_water": steady.Body.VolumeL}
	if r.sample != nil {
		inputs["urea_generation"] = steady.Body.GenerationMgPerMin
	}
	m.NPCR = method.Compute(inputs)
	return m
}

// shortNumber writes a number for a note.
func shortNumber(v float64, decimals int) string {
	if math.IsNaN(v) {
		return "-"
	}
	return strconv.FormatFloat(v, 'f', decimals, 64)
}
