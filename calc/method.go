package calc

import (
	"maps"
	"math"
	"slices"
	"strings"
	"sync"
)

// InputSpec is one input of a method.
type InputSpec struct {
	Key      string // name in the shared vocabulary
	Name     string // in words, for messages
	Unit     string // UCUM
	Optional bool   // the note of the method explains how it computes without it
}

// Method is one published or defined way to compute one quantity. Methods
// that compute the same quantity share Key and differ in ID; their values are
// not interchangeable.
type Method struct {
	ID       string // permanent, for instance "spktv-daugirdas2"
	Version  string // raised if the same inputs would give another value
	Quantity string // what it computes, in words
	Key      string // what it computes, in the shared vocabulary
	Unit     string // UCUM unit of the value
	Decimals int    // decimals kept by [Result.Rounded]
	Trim     bool   // a whole value is written without decimals
	Formula  string // "key = expression", written with the keys of Inputs; further definitions after ";"
	Source   string // author, year, journal; contains "from memory" if it was not read
	Range    string // where the method was derived or applies
	Inputs   []InputSpec

	eval  func(Inputs) (float64, error)
	notes func(Inputs, float64) []string // nil without notes
}

// of2, of3 and of4 complete a method by a function of its inputs in their order.
func (m Method) of2(f func(a, b float64) (float64, error)) Method {
	m.eval = func(in Inputs) (float64, error) { return f(in[m.Inputs[0].Key], in[m.Inputs[1].Key]) }
	return m
}

func (m Method) of3(f func(a, b, c float64) (float64, error)) Method {
	m.eval = func(in Inputs) (float64, error) {
		return f(in[m.Inputs[0].Key], in[m.Inputs[1].Key], in[m.Inputs[2].Key])
	}
	return m
}

func (m Method) of4(f func(a, b, c, d float64) (float64, error)) Method {
	m.eval = func(in Inputs) (float64, error) {
		return f(in[m.Inputs[0].Key], in[m.Inputs[1].Key], in[m.Inputs[2].Key], in[m.Inputs[3].Key])
	}
	return m
}

// Code is the code of the algorithm with its version, as in
// Observation.method.
func (m Method) Code() string { return m.ID + "-" + m.Version }

// Compute evaluates the method on inputs given in the units of its [InputSpec]
// list. Required inputs that are absent, inputs that are not finite, and
// numbers for which the formula is undefined give a Result without value and
// with the reason. Nothing is clamped or filled in; the notes list omitted
// optional inputs. Further inputs do not change the value but may add a note,
// for instance a number of sessions a week outside the method's range.
func (m Method) Compute(in Inputs) Result {
	r := Result{Method: m, Unit: m.Unit, Value: math.NaN()}
	r.Inputs = make([]Input, 0, len(m.Inputs))
	var missing []string
	for _, spec := range m.Inputs {
		value, present := in[spec.Key]
		switch {
		case present:
			r.Inputs = append(r.Inputs, Input{Key: spec.Key, Value: value, Unit: spec.Unit})
			if reason := Finite(spec.Name, value); reason != "" && r.WhyNot == "" {
				r.WhyNot = reason
			}
		case spec.Optional:
			r.Notes = append(r.Notes, spec.Name+" not recorded: left out")
		default:
			r.Missing = append(r.Missing, spec.Key)
			missing = append(missing, spec.Name)
		}
	}
	if len(missing) > 0 {
		r.WhyNot = "not recorded: " + strings.Join(missing, ", ")
	}
	if !r.OK() {
		r.Notes = nil
		return r
	}
	m.evaluate(in, &r)
	return r
}

func (m Method) evaluate(in Inputs, r *Result) {
	value, err := m.eval(in)
	switch {
	case err != nil:
		r.WhyNot, r.Notes = err.Error(), nil
		return
	case math.IsNaN(value) || math.IsInf(value, 0):
		r.WhyNot, r.Notes = "the formula has no finite value for these numbers", nil
		return
	}
	r.Value = value
	if age, known := in["age"]; known && age < AdultYears && slices.ContainsFunc(derivedInAdults, func(prefix string) bool { return strings.HasPrefix(m.ID, prefix) }) {
		r.Notes = append(r.Notes, DerivedInAdults)
	}
	if m.notes != nil {
		r.Notes = append(r.Notes, m.notes(in, value)...)
	}
}

// DerivedInAdults is the note on a value for a person below [AdultYears] by a
// formula that was fitted to adults, and on values computed from it.
const DerivedInAdults = "the formula was derived in adults"

// derivedInAdults are the id prefixes of such methods: body water by surveys
// of adults, and regressions on the sessions of adult patients (the methods
// have their sources; that the patients were adults is from memory).
var derivedInAdults = []string{"watson-", "hume-", "chertow", "spktv-", "ektv-", "stdktv-leypoldt", "stdktv-fhn", "san-stdktv", "stdkt-per-surface", "npcr-"}

// table is built once, on first use, and never changes.
var table = sync.OnceValue(func() methodTable {
	t := methodTable{ordered: slices.Concat(
		bodyMethods(), volumeMethods(), childVolumeMethods(),
		fluidMethods(), planMethods(), haemodynamicMethods(), circuitMethods(),
		ureaMethods(), gfacMethods(), equilibratedMethods(), dialysateMethods(), weeklyMethods(), equivalentMethods(),
		proteinMethods(), kineticMethods(), attendanceMethods(),
	)}
	t.byID = make(map[string]int, len(t.ordered))
	for i, m := range t.ordered {
		t.byID[m.ID] = i
	}
	return t
})

type methodTable struct {
	ordered []Method
	byID    map[string]int
}

// Methods returns every method, grouped by topic, in a fixed order. The slice
// belongs to the caller; the inputs of its methods are shared and must not be
// changed.
func Methods() []Method { return slices.Clone(table().ordered) }

// MethodByID finds a method by its permanent id, without version.
func MethodByID(id string) (Method, bool) {
	t := table()
	i, found := t.byID[id]
	if !found {
		return Method{}, false
	}
	return t.ordered[i], true
}

// Sequence computes the methods in the given order. Each value becomes an
// input of the methods after it, under its Key and at full precision; in is
// not changed. An unknown id gives a Result with an error.
func Sequence(in Inputs, ids ...string) []Result {
	known := make(Inputs, len(in)+len(ids))
	for key, value := range in {
		known[key] = value
	}
	results := make([]Result, 0, len(ids))
	for _, id := range ids {
		m, found := MethodByID(id)
		if !found {
			results = append(results, Result{Method: Method{ID: id}, Value: math.NaN(), WhyNot: "no method has the id " + id})
			continue
		}
		r := m.Compute(known)
		if r.OK() {
			known[m.Key] = r.Value
		}
		results = append(results, r)
	}
	return results
}

// Vary computes the method again with one input replaced by each of the
// values. It shows the sensitivity of a value to its least certain input, for
// instance body water by several formulas.
func (m Method) Vary(in Inputs, key string, values ...float64) []Result {
	results := make([]Result, 0, len(values))
	changed := maps.Clone(in)
	for _, value := range values {
		changed[key] = value
		results = append(results, m.Compute(changed))
	}
	return results
}

// Slack returns the largest change of the value, in its own unit, that rounded
// inputs can cause: half has half a unit of the last kept digit of each such
// input. It sums the larger effect of each input moved alone and adds half a
// unit of the value's own last decimal. A reader that recomputes a rounded
// value from rounded inputs must allow this much. It is NaN without a value.
func (m Method) Slack(in, half Inputs) float64 {
	centre := m.Compute(in)
	if !centre.OK() {
		return math.NaN()
	}
	slack := 0.5 * math.Pow10(-m.Decimals)
	for _, spec := range m.Inputs {
		width := half[spec.Key]
		value, present := in[spec.Key]
		if !present || width == 0 {
			continue
		}
		effect := 0.0
		for _, r := range m.Vary(in, spec.Key, value-width, value+width) {
			if r.OK() {
				effect = math.Max(effect, math.Abs(r.Value-centre.Value))
			}
		}
		slack += effect
	}
	return slack
}
