package measure

import (
	"math"
	"time"

	"runsheet.example/calc"
	"runsheet.example/fhirmap/session"
)

// Forms computes values that a record does not contain: the other published
// forms of the quantities of Log, from the same inputs, so that a reader sees
// the effect of the form. The result is parallel to log.Sessions. Values of
// different forms are not interchangeable.
func Forms(log *session.Log) [][]Value {
	all := make([][]Value, len(log.Sessions))
	for i, s := range log.Sessions {
		if s.Broken || s.Status == session.SkippedStatus {
			continue
		}
		c := newCollector(log, i)
		c.compute()
		all[i] = c.forms()
	}
	return all
}

// formWriter runs methods on the inputs of a collector without changing them,
// so that no form is an input of another by default.
type formWriter struct {
	*collector
	done map[string]bool
	out  []Value
}

func (c *collector) forms() []Value {
	w := formWriter{collector: c, done: map[string]bool{}}
	for _, v := range c.values {
		w.done[v.Result.Method.ID] = true
	}
	start, end := c.s.Start.Time, c.s.End.Time
	w.form(start, end, "uf-rate-mean", "time-from-dialysate", "flow-fraction", "dialysate-saturation-michaels-in-use", "clearance-michaels")
	if in, ok := w.form(start, end, "clearance-michaels-in-use"); ok {
		c.inputs["dialyser_clearance"] = in
		w.form(start, end, "ktv-nominal")
	}
	w.form(end, end, otherVolumes(c)...)
	w.pulsePressures()
	if c.sampled {
		w.doseForms(c.start(), end)
	}
	return w.out
}

func otherVolumes(c *collector) []string {
	if methods := c.volumeMethods(); len(methods) > 1 {
		return methods[1:]
	}
	return nil
}

// form runs methods that have not run yet and keeps those with a value. It
// returns the last as an input for others.
func (w *formWriter) form(start, end time.Time, ids ...string) (last Input, ok bool) {
	for _, id := range ids {
		method, known := calc.MethodByID(id)
		if !known || w.done[id] {
			continue
		}
		w.done[id] = true
		result := method.Compute(w.numbers())
		if !result.OK() {
			continue
		}
		value := Value{Result: result, Start: start, End: end}
		for _, used := range result.Inputs {
			value.Inputs = append(value.Inputs, w.inputs[used.Key])
		}
		w.out = append(w.out, value)
		last, ok = Input{Key: method.Key, Number: result.Value, Unit: method.Unit, Text: result.Rounded(), Origin: Computed, Method: id, Cells: value.Cells()}, true
	}
	return last, ok
}

func (w *formWriter) pulsePressures() {
	for _, when := range []string{"before", "after"} {
		for _, which := range []string{"systolic", "diastolic"} {
			field := session.Field("bp_" + when + "_" + which)
			w.entered("bp_"+which, field, w.s.Value(field))
		}
		moment := w.s.Start.Time
		if when == "after" {
			moment = w.s.End.Time
		}
		before := len(w.out)
		w.form(moment, moment, "pulse-pressure")
		for i := before; i < len(w.out); i++ {
			w.out[i].When = when
		}
		delete(w.done, "pulse-pressure")
		delete(w.inputs, "bp_systolic")
		delete(w.inputs, "bp_diastolic")
	}
}

// doseForms are the forms that need samples.
func (w *formWriter) doseForms(start, end time.Time) {
	before := len(w.out)
	defer func() {
		for i := before; i < len(w.out); i++ {
			w.out[i].Result.Notes = append(w.out[i].Result.Notes, w.notes...)
		}
	}()
	w.form(start, end, "spktv-daugirdas2", "spktv-daugirdas2-gfac", "spktv-daugirdas2-gfac-volume")
	switch w.access() {
	case calc.VenousCatheter:
		w.form(start, end, "ektv-rate-cvc", "ektv-tattersall-cvc", "ektv-leypoldt")
	case calc.Arteriovenous:
		w.form(start, end, "ektv-rate-av", "ektv-tattersall-av", "ektv-tattersall-refit", "ektv-leypoldt")
	}
	if _, weekly := w.inputs["sessions_per_week"]; !weekly {
		return
	}
	from, _ := w.week()
	w.form(from, end, "stdktv-gotch", "san-stdktv", "stdkt-per-surface", "continuous-clearance", "weekly-hours", "haemodialysis-product")
	w.form(start, end, w.protein()...)
}

// protein selects the two-point method of the session, for two and three
// sessions a week only: it is not defined for other schedules.
func (w *formWriter) protein() []string {
	place := w.placeInWeek()
	if place == "" {
		return nil
	}
	if kru := w.inputs["residual_urea_clearance"]; kru.Number > 0 {
		return []string{place + "-kru"}
	}
	return []string{place}
}

// placeInWeek distinguishes first, midweek and last session by the days before
// and after it: the long interval is before the first and after the last. The
// schedule is the prescribed one, otherwise the count rounded to the nearest
// quarter: a count over a few weeks is rarely exactly three.
func (w *formWriter) placeInWeek() string {
	before, after := math.Round(w.inputs["preceding_interval"].Number), w.followingInterval()
	n, _ := w.sessionsPerWeek()
	switch n = math.Round(4*n) / 4; {
	case n == 3 && before == 3 && after == 2:
		return "npcr-3-first"
	case n == 3 && before == 2 && after == 2:
		return "npcr-3-midweek"
	case n == 3 && before == 2 && after == 3:
		return "npcr-3-last"
	case n == 2 && before == 4 && after == 3:
		return "npcr-2-first"
	case n == 2 && before == 3 && after == 4:
		return "npcr-2-second"
	default:
		return ""
	}
}

// followingInterval is the days to the next session of the log, zero if there
// is none or it is held back.
func (w *formWriter) followingInterval() float64 {
	for _, next := range w.log.Sessions[w.at+1:] {
		switch {
		case next.Broken || !next.Date.OK():
			return 0
		case next.Status == session.SkippedStatus:
			continue
		default:
			return float64(daysBetween(w.s.Date.Time, next.Date.Time))
		}
	}
	return 0
}
