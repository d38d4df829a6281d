package measure

import (
	"strings"
	"time"

	"runsheet.example/calc"
	"runsheet.example/fhirmap/session"
)

// longestSilenceDays is the largest gap between two rows of the log after
// which the treatment between them counts as unknown (our choice: a week
// without a row).
//
// Decision 13. Unknown data stops the model: a session held back, a missing
// input, an unknown KoA, more than seven days without a row, a change of
// residual clearance. It starts again afterwards, and the weeks between state
// the reason. A session without a row within seven days counts as not done.
const longestSilenceDays = 7

// step is one session done, as the kinetic model needs it.
type step struct {
	session *session.Session
	at      int // index in log.Sessions
	start   time.Time
	minutes float64
	ufL     float64
	// weight before dialysis, kg.
	weight float64
	// clearance in use and from the printed figures, mL/min of body water.
	clearance, printed float64
	// volumes are the body-water formulas at the weight after, the main one
	// first; empty without weight after, sex or height.
	volumes []bodyWater
	kru     float64
	// kruKnown is false if the prescription has no residual clearance.
	kruKnown  bool
	fromClock bool
	// koa is the dialyser's stated KoA.
	koa Input
}

// bodyWater is a urea volume with its formula.
type bodyWater struct {
	method string
	litres float64
}

// stretch is a run of consecutive sessions with complete data.
type stretch struct {
	steps []step
	// lastDay is the last day up to which the log is complete.
	lastDay time.Time
	// why is the reason for the end, "" for the end of the log; until is the
	// day of the row that ended it.
	why   string
	until time.Time
	// notDone are the times of sessions planned and not done.
	notDone []time.Time
}

// split splits the log where the model must stop.
//
// Decision 12. A steady state needs a span that repeats: whole weeks up to the
// sampled session where a session opens them, else at most four weeks. The
// model runs from one span earlier through the real sessions, so that the
// first weeks of a log have values too. Volume follows the scales (1 L for 1
// kg); clearance comes from flows and KoA, times the factor fitted to the
// sample.
func (k *kinetic) split() []stretch {
	var all []stretch
	var now stretch
	var before time.Time
	finish := func(lastDay, until time.Time, why string) {
		now.lastDay, now.until, now.why = lastDay, until, why
		all = append(all, now)
		now = stretch{}
	}
	for i, s := range k.log.Sessions {
		if !s.Date.OK() {
			continue
		}
		if !before.IsZero() && daysBetween(before, s.Date.Time) > longestSilenceDays {
			finish(before, s.Date.Time, "nothing is written between "+day(before)+" and "+day(s.Date.Time))
		}
		before = s.Date.Time
		if s.Status == session.SkippedStatus && !s.Broken {
			if moment, ok := notDoneAt(k.log, i); ok {
				now.notDone = append(now.notDone, moment)
			}
			continue
		}
		if goesOn(k.log, i) {
			continue
		}
		one, why := k.treatment(i)
		if why == "" {
			why = now.follows(one)
		}
		if why != "" {
			finish(s.Date.Time.AddDate(0, 0, -1), s.Date.Time, why)
		}
		if one.session != nil {
			now.steps = append(now.steps, one)
		}
	}
	finish(before, before, "")
	return all
}

// follows returns why a step cannot continue from the previous one.
func (s *stretch) follows(next step) string {
	if len(s.steps) == 0 {
		return ""
	}
	last := s.steps[len(s.steps)-1]
	if next.start.Before(last.start.Add(minutes(last.minutes))) {
		return "the session of " + day(next.start) + " starts before the one before it has ended"
	}
	if last.kru != next.kru || last.kruKnown != next.kruKnown {
		return "the residual urea clearance of the prescription changed on or before " + day(next.start)
	}
	return ""
}

// treatment is the step of the treatment that ends with the record at. A
// restarted treatment is one step from its first start, with its times and
// fluid summed and the clearance of the whole time: the pause counts as after
// it.
func (k *kinetic) treatment(at int) (step, string) {
	var whole step
	for i, record := range parts(k.log, at) {
		one, why := k.step(record, i > 0)
		if why != "" {
			return step{}, why
		}
		if i > 0 {
			one.start, one.weight, one.fromClock = whole.start, whole.weight, one.fromClock || whole.fromClock
			share := one.minutes / (one.minutes + whole.minutes)
			one.clearance = share*one.clearance + (1-share)*whole.clearance
			one.printed = share*one.printed + (1-share)*whole.printed
			one.minutes += whole.minutes
			one.ufL += whole.ufL
		}
		whole = one
	}
	return whole, ""
}

// step reads the model's inputs from one record, or returns what is missing. A
// record that continues a treatment needs no weight before.
func (k *kinetic) step(at int, again bool) (step, string) {
	s := k.log.Sessions[at]
	if s.Broken {
		return step{}, "the session of " + day(s.Date.Time) + " is held back because of mistakes"
	}
	c := newCollector(k.log, at)
	c.gather()
	one := step{session: s, at: at, start: s.Start.Time, ufL: c.inputs["uf_removed"].Number, weight: c.inputs["weight_before"].Number}
	one.minutes = c.inputs["treated_time"].Number
	_, one.fromClock = treatedTime(s)
	var missing []string
	if !s.Start.OK() || s.Start.DateOnly {
		missing = append(missing, "the time it started")
	}
	without := isolated(s)
	for _, key := range []string{"treated_time", "weight_before", "uf_removed", "blood_flow", "dialysate_flow", "dialyser_koa"} {
		if _, ok := c.inputs[key]; !ok && !(again && key == "weight_before") && !(without && key == "dialysate_flow") {
			missing = append(missing, calc.Spec(key).Name)
		}
	}
	if len(missing) > 0 {
		return step{}, "not known of the session of " + day(s.Date.Time) + ": " + strings.Join(missing, ", ")
	}
	var why string
	if without {
		one.clearance, _ = calc.ClearanceOfUF(one.ufL, one.minutes)
		one.printed = one.clearance
	} else if one.clearance, why = c.number("clearance-michaels-in-use"); why == "" {
		one.printed, why = c.number("clearance-michaels")
	}
	if why != "" {
		return step{}, "the clearance of the session of " + day(s.Date.Time) + " cannot be computed: " + why
	}
	for _, id := range c.volumeMethods() {
		if litres, why := c.number(id); why == "" {
			one.volumes = append(one.volumes, bodyWater{id, litres})
		}
	}
	kru, known := c.inputs["residual_urea_clearance"]
	one.kru, one.kruKnown, one.koa = kru.Number, known, c.inputs["dialyser_koa"]
	return one, ""
}

// isolated reports ultrafiltration without dialysate: fluid was removed, the
// volume of dialysate is 0, and the flow is absent or 0.
func isolated(s *session.Session) bool {
	number := func(f session.Field) (float64, bool) { v := s.Value(f); return v.Decimal.Float64(), v.OK() }
	volume, known := number("dialysate_volume")
	flow, flowed := number("dialysate_flow")
	removed, ok := number("uf_removed")
	return known && volume == 0 && !(flowed && flow != 0) && ok && removed > 0
}

// number computes one method from the inputs, or returns why it cannot.
func (c *collector) number(id string) (value float64, whyNot string) {
	method, _ := calc.MethodByID(id)
	r := method.Compute(c.numbers())
	return r.Value, r.WhyNot
}

// volumeMethods are the body-water formulas for the person, the one in use
// first; none without sex.
func (c *collector) volumeMethods() []string {
	sex, ok := c.inputs["sex"]
	if !ok {
		return nil
	}
	age, known := c.inputs["age"]
	return calc.BodyWaterMethods(sex.Number, calc.Maybe{Value: age.Number, Known: known}, c.inputs["height"].Number)
}

func minutes(n float64) time.Duration { return time.Duration(n * float64(time.Minute)) }

func day(t time.Time) string { return t.Format(time.DateOnly) }
