package measure

import (
	"cmp"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"runsheet.example/calc"
	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// compute runs the methods for the session, ordered so that each finds the
// values it needs.
func (c *collector) compute() []Value {
	c.gather()
	c.always("uf-rate-per-kg")
	c.always("uf-expected")
	if _, expected := c.inputs["uf_expected"]; expected {
		c.always("uf-discrepancy")
	}
	c.atStart("idwg")
	c.atStart("idwg-percent")
	c.atEnd("target-miss")
	c.always("blood-processed-flow-time")
	c.pressures()
	c.atEnd("bmi")
	c.atEnd("bsa-dubois")
	c.bodyWater()
	c.always("dialysate-saturation-michaels")
	c.always("dialysate-kt-v")
	c.dose()
	return c.values
}

// pressures computes the mean arterial pressure before and after. The two
// share a key, so When distinguishes them and neither becomes an input.
func (c *collector) pressures() {
	for _, when := range []string{"before", "after"} {
		c.entered("bp_systolic", session.Field("bp_"+when+"_systolic"), c.s.Value(session.Field("bp_"+when+"_systolic")))
		c.entered("bp_diastolic", session.Field("bp_"+when+"_diastolic"), c.s.Value(session.Field("bp_"+when+"_diastolic")))
		computed := len(c.values)
		if when == "before" {
			c.atStart("map-third")
		} else {
			c.atEnd("map-third")
		}
		for i := computed; i < len(c.values); i++ {
			c.values[i].When = when
		}
		for _, key := range []string{"bp_systolic", "bp_diastolic", "mean_arterial_pressure"} {
			delete(c.inputs, key)
		}
	}
}

// bodyWater uses the formula for the person's sex, age and height; without sex
// there is none.
func (c *collector) bodyWater() {
	if methods := c.volumeMethods(); len(methods) > 0 {
		c.atEnd(methods[0])
	}
}

// dose computes the values that need blood samples. A sample in the log
// promises a dose, so a missing one is kept with its reason. The dose of a
// restarted treatment belongs to its last record.
func (c *collector) dose() {
	if goesOn(c.log, c.at) {
		return
	}
	c.whole()
	c.samples()
	if !c.sampled && c.whyNoDose == "" {
		return
	}
	start, tooLittle := c.week()
	n, _ := c.sessionsPerWeek()
	_, interval := c.inputs["preceding_interval"]
	single, equilibrated := calc.ChooseKtV(calc.SampleFacts{
		Late: c.late, Access: c.access(), TreatedMin: c.inputs["treated_time"].Number, SessionsPerWeek: n, IntervalKnown: interval,
	})
	if c.late {
		c.promised("urr-delayed-sample", "")
	} else {
		c.promised("urr", "")
	}
	c.promised(single, tooLateForSingle(c.late))
	c.promised(equilibrated, "")
	if _, known := c.inputs["e_kt_v"]; !known && tooLittle == "" {
		tooLittle = "there is no equilibrated Kt/V of this session"
	}
	c.weekly("stdktv-leypoldt-fixed", start, tooLittle)
	if c.late || tooLittle != "" {
		return
	}
	// The form with ultrafiltration and residual function was fitted with a
	// multiplicative equilibrated Kt/V, which replaces the previous one; a
	// catheter has its own.
	if refit := calc.FittedEKtV(c.access()); refit != equilibrated {
		c.always(refit)
	}
	c.weekly("stdktv-fhn-uf-kru", start, "")
}

// weekly computes a weekly form over the weeks counted from start. The first
// form is promised; the other is kept only with a value.
func (c *collector) weekly(method string, start time.Time, whyNot string) {
	before := len(c.values)
	if whyNot != "" {
		start = begin(c.s)
	}
	c.run(method, start, c.s.End.Time, method == "stdktv-leypoldt-fixed", whyNot)
	for i := before; i < len(c.values) && whyNot == ""; i++ {
		c.values[i].Result.Notes = append(c.values[i].Result.Notes, c.unlike()...)
	}
}

func tooLateForSingle(late bool) string {
	if late {
		return "the sample after dialysis was drawn 30 minutes or more after the end, so its urea is already equilibrated and gives no single-pool value"
	}
	return ""
}

// sessionsPerWeek is the prescription's, otherwise the count of the session's
// week.
func (c *collector) sessionsPerWeek() (float64, bool) {
	if p, ok := c.log.About.PrescriptionOn(c.s.Date.Time); ok {
		if in, ok := perWeek(p); ok {
			return in.Number, true
		}
	}
	in, ok := c.inputs["sessions_per_week"]
	return in.Number, ok
}

// perWeek is the prescribed number of sessions a week.
func perWeek(p session.Prescription) (Input, bool) {
	in := Input{Key: "sessions_per_week", Unit: "/wk", Origin: Stated}
	switch {
	case p.SessionsPerWeek.OK():
		in.Number, in.Text = p.SessionsPerWeek.Decimal.Float64(), p.SessionsPerWeek.Decimal.String()
		in.Cells = []issue.Cell{p.SessionsPerWeek.Cell}
	case len(p.Weekdays) > 0:
		in.Number, in.Text = float64(len(p.Weekdays)), strconv.Itoa(len(p.Weekdays))
	default:
		return Input{}, false
	}
	return in, true
}

// access is the kind of access of the session. An access named by the session
// differs from the usual one, and its kind is known only if it is one of the
// words of log.toml.
func (c *collector) access() calc.VascularAccess {
	current, _ := c.log.About.AccessOn(c.s.Date.Time)
	kind := current.Kind
	if own := c.s.Texts["access"]; own.OK() {
		kind = own
	}
	switch strings.ToLower(kind.Text) {
	case "fistula", "graft":
		return calc.Arteriovenous
	case "catheter":
		return calc.VenousCatheter
	default:
		return calc.AccessUnknown
	}
}

func (c *collector) always(method string) { c.run(method, c.start(), c.s.End.Time, false, "") }

// promised keeps the method without a value too. whyNot is the reason why it
// cannot have one, "" if it can.
func (c *collector) promised(method, whyNot string) {
	c.run(method, c.start(), c.s.End.Time, true, whyNot)
}

// start is the start of the object of the computation: the treatment, for its
// dose.
func (c *collector) start() time.Time {
	if c.dosing {
		return begin(c.log.Sessions[c.records[0]])
	}
	return c.s.Start.Time
}

func (c *collector) atStart(method string) {
	c.run(method, c.s.Start.Time, c.s.Start.Time, false, "")
}

func (c *collector) atEnd(method string) {
	c.run(method, c.s.End.Time, c.s.End.Time, false, "")
}

// run computes one method from the inputs, unless whyNot has a reason against
// it. Without a value it is kept only if promised.
func (c *collector) run(id string, start, end time.Time, promised bool, whyNot string) {
	method, ok := calc.MethodByID(id)
	if !ok {
		return
	}
	result := method.Compute(c.numbers())
	switch {
	case whyNot != "":
		result = c.without(method, whyNot)
	case result.OK():
		result.Notes = append(result.Notes, c.notes...)
	}
	if !result.OK() {
		if !promised {
			return
		}
		result.WhyNot = cmp.Or(c.whyNoDose, result.WhyNot)
	}
	value := Value{Result: result, Start: start, End: end}
	for _, used := range result.Inputs {
		value.Inputs = append(value.Inputs, c.inputs[used.Key])
		if c.adult[used.Key] && !slices.Contains(value.Result.Notes, calc.DerivedInAdults) {
			value.Result.Notes = append(value.Result.Notes, calc.DerivedInAdults)
		}
	}
	c.adult[method.Key] = slices.Contains(value.Result.Notes, calc.DerivedInAdults)
	c.values = append(c.values, value)
	if result.OK() {
		c.inputs[method.Key] = Input{
			Key: method.Key, Number: result.Value, Unit: method.Unit, Text: result.Rounded(),
			Origin: Computed, Method: id, Cells: value.Cells(),
		}
	}
}

// without is a result that must not have a value, with its missing inputs.
func (c *collector) without(method calc.Method, whyNot string) calc.Result {
	r := calc.Result{Method: method, Value: math.NaN(), Unit: method.Unit, WhyNot: whyNot}
	for _, spec := range method.Inputs {
		if _, known := c.inputs[spec.Key]; !known && !spec.Optional {
			r.Missing = append(r.Missing, spec.Key)
		}
	}
	return r
}

// numbers are all inputs so far. A method uses those it requires; the others,
// such as the prescribed sessions a week, let it note a use outside its range.
// The next call reuses the map.
func (c *collector) numbers() calc.Inputs {
	numbers := c.scratch
	clear(numbers)
	for key, in := range c.inputs {
		numbers[key] = in.Number
	}
	if _, counted := numbers["sessions_per_week"]; !counted {
		if n, known := c.sessionsPerWeek(); known {
			numbers["sessions_per_week"] = n
		}
	}
	return numbers
}
