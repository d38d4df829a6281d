package measure

import (
	"math"
	"slices"
	"strings"

	"runsheet.example/calc/kinetics"
)

// Sensitivity is the change of a kinetic result with one uncertain input: the
// weekly standard Kt/V for several of its values.
type Sensitivity struct {
	Input string // the varied input, in words
	Unit  string // UCUM
	Cases []SensitivityCase
}

// SensitivityCase is the result for one value of the uncertain input.
type SensitivityCase struct {
	Label  string
	Value  float64
	StdKtV float64
	WhyNot string // "" if computed
}

// watsonSD are the standard deviations of Watson's formulas in litres
// (Watson, Watson and Batt, Am J Clin Nutr 1980;33:27).
func watsonSD(method string) float64 {
	switch method {
	case "watson-male":
		return 3.76
	case "watson-female":
		return 3.60
	default:
		return 0
	}
}

// sensitivity repeats the main model of a run with other values of its least
// certain inputs, fits the samples again each time, and returns the week's
// dose of each.
//
// Decision 14. A sample absorbs part of an error in the model, so uncertainty
// is shown by fitting again: half and double exchange, one pool, another body
// water, each refitted to the same sample and followed through the same week.
func (r *kineticRun) sensitivity(from, to float64) []Sensitivity {
	var all []Sensitivity
	for _, q := range r.questions(r.variants[r.mainVariant()]) {
		s := Sensitivity{Input: q.input, Unit: q.unit}
		for i := range q.cases {
			s.Cases = append(s.Cases, q.cases[i].dose(r, from, to))
		}
		all = append(all, s)
	}
	return all
}

// mainVariant is the first variant with a course; a week with values has one.
func (r *kineticRun) mainVariant() int {
	return slices.IndexFunc(r.courses, func(c course) bool { return c.whyNot == "" })
}

// question is one varied input.
type question struct {
	input, unit string
	cases       []*questionCase
}

type questionCase struct {
	label string
	value float64
	variant
}

// questions are built once for a run, which keeps the courses of their cases.
func (r *kineticRun) questions(main variant) []question {
	if r.asked != nil {
		return r.asked
	}
	r.asked = append(r.asked, exchangeQuestion(main))
	if q := r.volumeQuestion(main); len(q.cases) > 1 {
		r.asked = append(r.asked, q)
	}
	if main.by == byNothing {
		printed := main
		printed.printed = true
		last := r.part.steps[r.last]
		r.asked = append(r.asked, question{"dialyser clearance", "mL/min", []*questionCase{
			{"in use", last.clearance, main}, {"as printed", last.printed, printed},
		}})
	}
	return r.asked
}

func exchangeQuestion(main variant) question {
	q := question{input: "urea exchange between the pools, per litre of body water", unit: "mL/min/L"}
	for _, c := range []struct {
		label  string
		factor float64
	}{{"half", 0.5}, {"as used", 1}, {"double", 2}} {
		v := main
		v.pools = kinetics.TwoPools()
		v.pools.ExchangePerLitre *= c.factor
		q.cases = append(q.cases, &questionCase{c.label, v.pools.ExchangePerLitre, v})
	}
	single := main
	single.pools = kinetics.Pools{}
	q.cases = append(q.cases, &questionCase{"one pool", 0, single})
	return q
}

func (r *kineticRun) volumeQuestion(main variant) question {
	q := question{input: "urea volume", unit: "L"}
	add := func(label string, volume bodyWater) {
		v := main
		v.volume = volume
		q.cases = append(q.cases, &questionCase{label, volume.litres, v})
	}
	if main.by == byVolume {
		return q
	}
	for _, v := range r.volumes() {
		add(formulaName(v.method), v)
		if sd := watsonSD(v.method); sd > 0 {
			add("less 1 SD", bodyWater{v.method, v.litres - sd})
			add("plus 1 SD", bodyWater{v.method, v.litres + sd})
		}
	}
	return q
}

// formulaName is the author of a body-water formula.
func formulaName(method string) string {
	for prefix, name := range map[string]string{"watson": "Watson", "hume": "Hume", "morgenstern": "Morgenstern", "mellits": "Mellits and Cheek"} {
		if strings.HasPrefix(method, prefix) {
			return name
		}
	}
	return method
}

// dose is the week's dose of a case.
func (c *questionCase) dose(r *kineticRun, from, to float64) SensitivityCase {
	out := SensitivityCase{Label: c.label, Value: c.value, StdKtV: math.NaN()}
	if r.cases == nil {
		r.cases = map[*questionCase]course{}
	}
	followed, ok := r.cases[c]
	if main := r.mainVariant(); !ok && c.variant == r.variants[main] {
		followed, ok = r.courses[main], true
	}
	if !ok {
		followed = r.course(c.variant, r.solve(c.variant))
		r.cases[c] = followed
	}
	if followed.whyNot != "" {
		out.WhyNot = followed.whyNot
		return out
	}
	window, err := followed.run.Window(from, to)
	if err != nil {
		out.WhyNot = err.Error()
		return out
	}
	out.StdKtV = window.StdKtV()
	return out
}
