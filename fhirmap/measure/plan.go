package measure

import (
	"time"

	"runsheet.example/calc"
	"runsheet.example/fhirmap/session"
)

// Limits of the rate equation for equilibrated Kt/V; outside them the
// multiplicative form is used, whose correction vanishes with the dose.
const (
	rateEquationFromMin = 150
	rateEquationToMin   = 300
)

// compute runs the methods that fit the session, in an order in which each
// finds the values it needs.
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
// share a key, so When tells them apart and neither becomes an input.
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

// bodyWater picks Watson's equation for the person's sex; without sex there
// is none.
func (c *collector) bodyWater() {
	switch c.log.About.Sex.Text {
	case "male":
		c.atEnd("watson-male")
	case "female":
		c.atEnd("watson-female")
	}
}

// dose computes what needs blood samples. Once a sample was drawn the log
// promises a dose, so a missing one is kept with its reason.
func (c *collector) dose() {
	_, sampled := c.inputs["urea_after"]
	if !sampled && c.whyNoDose == "" {
		return
	}
	start, covered := c.week()
	c.promised("urr")
	c.promised(c.singlePoolMethod())
	c.promised(c.equilibratedMethod())
	if !covered {
		return
	}
	week := func(method string) {
		before := len(c.values)
		c.run(method, start, c.s.End.Time, false)
		for i := before; i < len(c.values); i++ {
			c.values[i].Result.Notes = append(c.values[i].Result.Notes, c.unlike()...)
		}
	}
	week("stdktv-leypoldt-fixed")
	// The form with ultrafiltration and residual function was fitted with
	// this equilibrated Kt/V, so it takes the place of the one before.
	c.always("ektv-tattersall-refit")
	week("stdktv-fhn-uf-kru")
}

// singlePoolMethod keeps the original generation factor for three sessions a
// week, for which it was derived, and takes the interval's factor otherwise.
func (c *collector) singlePoolMethod() string {
	n, known := c.sessionsPerWeek()
	if _, interval := c.inputs["preceding_interval"]; interval && known && n != 3 {
		return "spktv-daugirdas2-gfac"
	}
	return "spktv-daugirdas2"
}

// sessionsPerWeek is the prescription's where there is one, else the count of
// the session's week.
func (c *collector) sessionsPerWeek() (float64, bool) {
	if p, ok := c.log.About.PrescriptionOn(c.s.Date.Time); ok {
		if p.SessionsPerWeek.OK() {
			return p.SessionsPerWeek.Decimal.Float64(), true
		}
		if len(p.Weekdays) > 0 {
			return float64(len(p.Weekdays)), true
		}
	}
	in, ok := c.inputs["sessions_per_week"]
	return in.Number, ok
}

func (c *collector) equilibratedMethod() string {
	access, known := c.log.About.AccessOn(c.s.Date.Time)
	catheter := known && access.Kind.Text == "catheter"
	minutes := c.inputs["treated_time"].Number
	rate := minutes >= rateEquationFromMin && minutes <= rateEquationToMin
	switch {
	case rate && catheter:
		return "ektv-rate-cvc"
	case rate:
		return "ektv-rate-av"
	case catheter:
		return "ektv-tattersall-cvc"
	default:
		return "ektv-tattersall-av"
	}
}

func (c *collector) always(method string) { c.run(method, c.s.Start.Time, c.s.End.Time, false) }

func (c *collector) promised(method string) { c.run(method, c.s.Start.Time, c.s.End.Time, true) }

func (c *collector) atStart(method string) {
	c.run(method, c.s.Start.Time, c.s.Start.Time, false)
}

func (c *collector) atEnd(method string) { c.run(method, c.s.End.Time, c.s.End.Time, false) }

// run computes one method from what is gathered. Without a value it is kept
// only when promised.
func (c *collector) run(id string, start, end time.Time, promised bool) {
	method, ok := calc.MethodByID(id)
	if !ok {
		return
	}
	result := method.Compute(c.numbers())
	if !result.OK() {
		if !promised {
			return
		}
		if c.whyNoDose != "" {
			result.WhyNot = c.whyNoDose
		}
	}
	value := Value{Result: result, Start: start, End: end}
	for _, used := range result.Inputs {
		value.Inputs = append(value.Inputs, c.inputs[used.Key])
	}
	c.values = append(c.values, value)
	if result.OK() {
		c.inputs[method.Key] = Input{
			Key: method.Key, Number: result.Value, Unit: method.Unit, Text: result.Rounded(),
			Origin: Computed, Method: id, Cells: value.Cells(),
		}
	}
}

// numbers are all inputs gathered so far. A method takes those it asks for;
// the others, the prescribed sessions a week among them, let it say where it
// is used outside its range. The map is used again by the next call.
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
