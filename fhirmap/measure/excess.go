package measure

import (
	"math"
	"time"

	"runsheet.example/calc"
	"runsheet.example/fhirmap/session"
)

// WeightExcess is the weight above the dry weight, averaged over the time
// between sessions, for the intervals that begin in a number of local days. It
// requires all weights, no held-back session, and a constant dry weight;
// otherwise it returns the reason.
func WeightExcess(log *session.Log, first time.Time, days int) Value {
	method := calc.Method{
		ID: "time-averaged-weight-excess", Version: "1", Quantity: "time-averaged weight above dry weight", Key: "time_averaged_weight_excess", Unit: "kg", Decimals: 2,
		Formula: "time_averaged_weight_excess = sum((weight after + next weight before)/2 * hours between)/sum(hours between) - dry_weight",
		Source:  "trapezoid over the intervals between sessions", Range: "between sessions; same scales, similar clothes",
		Inputs: []calc.InputSpec{{Key: "dry_weight", Name: calc.Spec("dry_weight").Name, Unit: "kg"}},
	}
	v := Value{Result: calc.Result{Method: method, Unit: "kg", Value: math.NaN()}, Start: first, End: first.AddDate(0, 0, days)}
	e := excess{log: log, value: &v}
	v.Result.WhyNot = e.gather(first, days)
	if v.Result.WhyNot != "" {
		return v
	}
	result, err := calc.TimeAveragedExcess(e.before, e.after, e.hours, e.dry.Number)
	if err != nil {
		v.Result.WhyNot = err.Error()
		return v
	}
	v.Result.Value = result
	v.Result.Inputs = []calc.Input{{Key: "dry_weight", Value: e.dry.Number, Unit: "kg"}}
	v.Inputs = append([]Input{e.dry}, v.Inputs...)
	return v
}

type excess struct {
	log           *session.Log
	value         *Value
	before, after []float64
	hours         []float64
	dry           Input
}

// gather returns the sessions that start in the days and the first one after.
func (e *excess) gather(first time.Time, days int) string {
	var ended time.Time
	for i, s := range e.log.Sessions {
		if !s.Date.OK() || s.Date.Time.Before(first) || s.Status == session.SkippedStatus && !s.Broken {
			continue
		}
		if s.Broken {
			return "the session of " + day(s.Date.Time) + " is held back because of mistakes"
		}
		c := newCollector(e.log, i)
		c.gather()
		before, after := c.inputs["weight_before"], c.inputs["weight_after"]
		if before.Key == "" {
			return "not recorded on " + day(s.Date.Time) + ": weight before dialysis"
		}
		if !s.Start.OK() || s.Start.DateOnly || !s.End.OK() {
			return "not recorded on " + day(s.Date.Time) + ": start and end"
		}
		if len(e.after) > 0 {
			if daysBetween(ended, s.Start.Time) > longestSilenceDays {
				return "nothing is written between " + day(ended) + " and " + day(s.Start.Time)
			}
			e.hours = append(e.hours, s.Start.Time.Sub(ended).Hours())
			e.value.Inputs = append(e.value.Inputs, before)
		}
		e.before = append(e.before, before.Number)
		if daysBetween(first, s.Date.Time) >= days {
			e.after = append(e.after, before.Number) // ends the last interval; not used otherwise
			return ""
		}
		if after.Key == "" {
			return "not recorded on " + day(s.Date.Time) + ": weight after dialysis"
		}
		if why := e.dryWeight(c.inputs["dry_weight"]); why != "" {
			return why
		}
		e.after = append(e.after, after.Number)
		e.value.Inputs = append(e.value.Inputs, after)
		ended = s.End.Time
	}
	if len(e.hours) == 0 {
		return "fewer than two sessions"
	}
	return ""
}

func (e *excess) dryWeight(dry Input) string {
	switch {
	case dry.Key == "":
		return "no dry weight is known"
	case e.dry.Key == "":
		e.dry = dry
	case e.dry.Number != dry.Number:
		return "the dry weight changed within this time"
	}
	return ""
}
