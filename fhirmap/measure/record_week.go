package measure

import (
	"cmp"
	"slices"
	"strconv"
	"strings"
	"time"

	"runsheet.example/calc"
	"runsheet.example/calc/kinetics"
	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// Week is one local week for the record: the sessions done, and the urea model
// with its initial state, so that the week can be computed again from that
// state and its sessions.
type Week struct {
	// Monday is the local midnight at its start, End that of the next week.
	Monday, End time.Time
	// Sessions are those the week is computed from, in time order: with a
	// model, those that overlap it and the first one after it; otherwise those
	// that began in it.
	Sessions []*session.Session
	// State is the model at the start of the week, as stated inputs; nil if
	// there is none.
	State []Input
	// Continues reports that the state is the end of the week before.
	// Otherwise the model starts from Fit.
	Continues bool
	Fit       *KineticFit
	// Estimated reports that the model has no blood sample.
	Estimated bool
	Values    []Value
	Notes     []string
	// WhyNot is the reason why there is no model.
	WhyNot string
	// means are the inputs of the model's values.
	means calc.Inputs
	// Whole reports that the log covers the whole week. Otherwise the week has
	// no values.
	Whole bool
}

// SessionFields are the session measurements that a week uses. If none is
// recorded, the weight after dialysis represents the session in the count.
func SessionFields(s *session.Session) []session.Field {
	flow := session.Field("dialysate_flow")
	if isolated(s) {
		flow = "dialysate_volume"
	}
	return []session.Field{"weight_before", "uf_removed", "treated_time", "blood_flow", flow}
}

// Weeks computes the weeks of a log for the record, by the main model: two
// pools, body water by Watson's formula, clearance fitted to the samples.
func Weeks(log *session.Log) []Week {
	k, _ := startKinetics(log)
	mondays, first, last := k.mondays()
	weeks := make([]Week, 0, len(mondays))
	var before *kineticRun
	for _, monday := range mondays {
		w := Week{Monday: monday, End: monday.AddDate(0, 0, 7)}
		w.Whole = !first.After(monday) && !last.Before(monday.AddDate(0, 0, 6))
		done := w.done(log)
		w.Sessions = done
		r := k.runFor(monday)
		if r == nil {
			w.WhyNot = k.whyNoWeek(monday, first, last)
		} else if w.model(log, r); w.State != nil {
			w.Continues = r == before
		}
		before = nil
		if w.State != nil {
			before = r
		}
		if w.Whole {
			w.attendance(log, done)
			w.doses()
		}
		weeks = append(weeks, w)
	}
	return weeks
}

// done are the sessions that began in the week and took place.
func (w *Week) done(log *session.Log) []*session.Session {
	var done []*session.Session
	for _, s := range log.Sessions {
		if s.Date.OK() && !s.Date.Time.Before(w.Monday) && s.Date.Time.Before(w.End) && s.Status != session.SkippedStatus && !s.Broken {
			done = append(done, s)
		}
	}
	return done
}

// model reads state, sessions and mean concentrations from a run.
func (w *Week) model(log *session.Log, r *kineticRun) {
	c := r.courses[0]
	from, to := r.at(w.Monday), r.at(w.End)
	w.Fit, w.Estimated, w.WhyNot = r.fit, r.sample == nil, c.whyNot
	if w.WhyNot == "" && c.assumedTo > from {
		w.WhyNot = "the week begins within a session that is taken to have been done before the log begins"
	}
	if w.WhyNot != "" {
		return
	}
	start, err := c.run.At(from)
	if err != nil {
		w.WhyNot = err.Error()
		return
	}
	window, err := c.run.Window(from, to)
	if err != nil {
		w.WhyNot = err.Error()
		return
	}
	w.means, w.Notes = window.Inputs(), r.notes(c, from, to)
	w.Sessions = nil
	var koa []Input
	differs := false
	for i := r.first; i <= r.to; i++ {
		step := r.part.steps[i]
		if r.minute(i)+step.minutes <= from {
			continue
		}
		if len(parts(log, step.at)) > 1 {
			w.WhyNot = startedAgainInWeek
		}
		w.Sessions = append(w.Sessions, step.session)
		if koa = append(koa, step.koa); step.koa.Number != koa[0].Number {
			differs = true
		}
		if r.minute(i) >= to {
			break
		}
	}
	if w.WhyNot != "" {
		w.Sessions = w.done(log)
		return
	}
	if !differs && len(koa) > 0 {
		koa = koa[:1]
	}
	w.state(c, start, koa)
	for _, moment := range c.run.NotDone {
		if moment >= from && moment < to {
			w.stated("planned_not_done", moment-from)
		}
	}
	if r.to == len(r.part.steps)-1 && r.minute(r.to) < to {
		w.stated("fluid_gain_rate", 1440*c.gainLPerMin)
	}
}

// state returns the model at the start of the week. KoA is stated once, or for
// each session in order if it differs.
func (w *Week) state(c course, start kinetics.UreaState, koa []Input) {
	body := c.model.Body
	w.stated("urea_pool_1", start.PlasmaMgPerDL)
	w.stated("urea_pool_2", start.InnerMgPerDL)
	w.stated("body_water", start.VolumeL)
	w.stated("total_body_water", body.VolumeL)
	w.stated("reference_weight", c.referenceKg)
	w.stated("urea_generation", body.GenerationMgPerMin)
	w.stated("clearance_factor", c.model.Factor)
	w.stated("residual_urea_clearance", body.ResidualMLPerMin)
	w.State = append(w.State, koa...)
}

// stateDecimals are the decimals of a stated number of the model. They are
// digits of the arithmetic, not of a measurement: rounding the state moves no
// value of the week by more than a thousandth of its last digit.
const stateDecimals = 6

// computedInput is a number of the model at its stated precision.
func computedInput(key string, value float64) Input {
	in := Input{Key: key, Text: shortNumber(value, stateDecimals), Origin: Stated}
	if strings.Contains(in.Text, ".") {
		in.Text = strings.TrimRight(strings.TrimRight(in.Text, "0"), ".")
	}
	in.Number, _ = strconv.ParseFloat(in.Text, 64) // a formatted number always parses
	return in
}

func (w *Week) stated(key string, value float64) {
	w.State = append(w.State, computedInput(key, value))
}

// startedAgainInWeek is the reason why such a week has neither model nor
// count: both treat the records as one treatment, but the record does not show
// that they are.
const startedAgainInWeek = "a treatment of the week was stopped and started again, in two records that are taken as one"

// attendance computes the sessions done and planned. A held-back session
// prevents sums.
func (w *Week) attendance(log *session.Log, done []*session.Session) {
	held := ""
	for _, s := range log.Sessions {
		if s.Broken && s.Date.OK() && !s.Date.Time.Before(w.Monday) && s.Date.Time.Before(w.End) {
			held = "the session of " + day(s.Date.Time) + " is held back because of mistakes"
		}
	}
	again := held
	for i, s := range log.Sessions {
		if slices.Contains(done, s) && len(parts(log, i)) > 1 {
			again = cmp.Or(held, startedAgainInWeek)
		}
	}
	counted, treated, removed := weekSum{whyNot: again}, weekSum{whyNot: held}, weekSum{whyNot: held}
	for _, s := range done {
		c := collector{inputs: map[string]Input{}}
		for _, f := range SessionFields(s) {
			c.entered(string(f), f, s.Value(f))
		}
		if in, _ := treatedTime(s); in.Key != "" {
			c.inputs["treated_time"] = in
		}
		one := Input{Number: 1, Cells: []issue.Cell{s.Cell}}
		counted.add(s, one, len(c.inputs) > 0 || s.Value("weight_after").OK(), "has no value by which the record counts it")
		in, ok := c.inputs["treated_time"]
		treated.add(s, in, ok, "has no treated time")
		in, ok = c.inputs["uf_removed"]
		removed.add(s, in, ok, "has no fluid removed")
	}
	w.value("sessions-done", counted.whyNot, counted.input("sessions_counted"))
	w.planned(log)
	w.value("hours-done", treated.whyNot, treated.input("weekly_treated_time"))
	w.value("uf-done", removed.whyNot, removed.input("weekly_uf"))
}

// weekSum sums one number over the sessions of a week.
type weekSum struct {
	number float64
	cells  []issue.Cell
	whyNot string
}

func (t *weekSum) add(s *session.Session, in Input, known bool, lacks string) {
	if !known && t.whyNot == "" {
		t.whyNot = "the session of " + day(s.Date.Time) + " " + lacks
	}
	t.number += in.Number
	t.cells = append(t.cells, in.Cells...)
}

func (t *weekSum) input(key string) Input {
	in := computedInput(key, t.number)
	in.Cells = t.cells
	return in
}

// planned is the prescribed number, if one prescription applies on every day
// of the week.
func (w *Week) planned(log *session.Log) {
	p, prescribed := log.About.PrescriptionOn(w.Monday)
	end, _ := log.About.PrescriptionOn(w.Monday.AddDate(0, 0, 6))
	in, known := perWeek(p)
	why := ""
	switch {
	case !prescribed || !known:
		why = "no prescription in force at the start of the week says how many sessions a week"
	case !p.ValidFrom.Time.Equal(end.ValidFrom.Time):
		why = "the prescription changed within the week"
	}
	w.value("sessions-planned", why, in)
}

// doses are the values of the model, each computed from its stated inputs.
func (w *Week) doses() {
	for _, id := range weekDoses {
		method, _ := calc.MethodByID(id)
		why := w.WhyNot
		var inputs []Input
		for _, spec := range method.Inputs {
			number, known := w.means[spec.Key]
			if !known && why == "" {
				why = "no session starts in this week"
			}
			inputs = append(inputs, computedInput(spec.Key, number))
		}
		if w.Estimated && why == "" && (method.Key == "npcr" || method.Key == "time_averaged_urea_plasma") {
			why = "no blood sample tells the generation of urea"
		}
		w.value(id, why, inputs...)
		w.Values[len(w.Values)-1].Modelled = true
	}
}

// weekDoses are the methods of the model's values.
var weekDoses = []string{"stdktv-done-two-pool", "ekr-done-two-pool", "time-averaged-urea-done-two-pool", "npcr-generation"}

// value adds one value of the week, or the reason of its absence.
func (w *Week) value(id, whyNot string, inputs ...Input) {
	method, _ := calc.MethodByID(id)
	numbers := calc.Inputs{}
	for _, in := range inputs {
		if whyNot == "" {
			numbers[in.Key] = in.Number
		}
	}
	result := method.Compute(numbers)
	v := Value{Start: w.Monday, End: w.End}
	if whyNot != "" {
		result.WhyNot = whyNot
	} else {
		v.Inputs = inputs
	}
	v.Result = result
	w.Values = append(w.Values, v)
}
