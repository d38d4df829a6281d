package check

import (
	"math"
	"slices"

	"runsheet.example/calc"
	"runsheet.example/fhirmap/session"
	"runsheet.example/profiles"
	"runsheet.example/validate/plausible"
)

// around are the circumstances of a session, which may be nil for what holds
// for the log as a whole.
func (c *checker) around(s *session.Session) profiles.Circumstances {
	var day session.Moment
	var known profiles.Circumstances
	if s != nil {
		day = s.Date
		known.Minutes, _ = c.minutes(s)
		known.WeightKg = c.weightOf(s)
	} else if len(c.log.Sessions) > 0 {
		day = c.log.Sessions[0].Date
	}
	years, ok := c.log.About.AgeOn(day)
	known.AgeYears, known.AgeKnown = float64(years), ok
	return known
}

// weightOf is a weight of the session, else the dry weight, 0 when none is
// known.
func (c *checker) weightOf(s *session.Session) float64 {
	for _, field := range weightFields {
		if kg, ok := c.good(s.Value(field)); ok {
			return kg
		}
	}
	kg, _ := c.dryWeightOf(s)
	return kg
}

// ofSession are the numbers of a session that are compared with each other.
var ofSession = []session.Field{
	"weight_before", "weight_after", "uf_removed", "drinks", "saline", "rinseback", "urine",
	"dialysate_volume", "blood_processed", "treated_time", "blood_flow", "dialysate_flow", "dialysate_potassium",
	"temperature_before", "temperature_after",
}

// readOff are those that are read off during the session.
var readOff = []session.Field{"blood_flow", "dialysate_flow", "uf_rate"}

// known is the data of a session for the comparisons, without values in doubt.
// The session may be nil.
func (c *checker) known(s *session.Session) *plausible.Session {
	if last := &c.last; last.known == nil || last.session != s || last.suspects != len(c.suspect) {
		*last = knowledge{s, len(c.suspect), c.gather(s)}
	}
	return c.last.known
}

// knowledge is what was known of a session while so many cells were in doubt.
type knowledge struct {
	session  *session.Session
	suspects int
	known    *plausible.Session
}

func (c *checker) gather(s *session.Session) *plausible.Session {
	k := &plausible.Session{Circumstances: c.around(s), Values: map[string]float64{}, Readings: map[string][]float64{}}
	if s == nil {
		return k
	}
	k.CutShort = s.Status == session.CutShort
	k.ElapsedMin, _ = c.elapsed(s)
	for _, field := range ofSession {
		if number, ok := c.inLimitUnit(field, s.Value(field)); ok {
			k.Values[string(field)] = number
		}
	}
	for _, r := range s.Readings {
		for _, field := range readOff {
			if number, ok := c.inLimitUnit(field, r.Value(field)); ok {
				k.Readings[string(field)] = append(k.Readings[string(field)], number)
			}
		}
	}
	for _, l := range s.Labs {
		if urea, ok := c.ureaOf(l); ok {
			k.Values["urea_"+l.When.Text] = urea
		}
		field := session.Field(l.Test.Text)
		key := string(field.At(l.When.Text))
		if number, ok := c.inLimitUnit(field, l.Value); ok && k.Values[key] == 0 && l.Test.OK() {
			k.Values[key] = number
		}
	}
	k.Days = c.daysBefore(s)
	c.prescribedFor(s, k)
	c.bodyWater(k)
	return k
}

func (c *checker) inLimitUnit(field session.Field, v session.Value) (float64, bool) {
	number, ok := c.good(v)
	limit, _ := profiles.LimitOf(string(field))
	scale, fits := factor(field, v.Unit, limit)
	return number * scale, ok && fits
}

// daysBefore are the days since the session held before, 0 when not known.
func (c *checker) daysBefore(s *session.Session) float64 {
	for i := slices.Index(c.log.Sessions, s) - 1; i >= 0 && s.Date.OK(); i-- {
		if before := c.log.Sessions[i]; held(before) && before.Date.OK() {
			return math.Round(daysBetween(before.Date.Time, s.Date.Time))
		}
	}
	return 0
}

// prescribedFor adds the values of the prescription.
func (c *checker) prescribedFor(s *session.Session, k *plausible.Session) {
	p, ok := c.log.About.PrescriptionOn(s.Date.Time)
	if !ok || !s.Date.OK() {
		return
	}
	for field, v := range map[string]session.Value{
		"dialyser_koa": p.Values["dialyser_koa"], "residual_urea_clearance": p.ResidualUreaClearance, "sessions_per_week": p.SessionsPerWeek,
	} {
		if number, good := c.good(v); good {
			k.Values[field] = number
		}
	}
	if n := len(p.Weekdays); n > 0 {
		k.Values["sessions_per_week"] = float64(n)
	}
}

// bodyWater adds the body water of the formula for the person, which the
// comparisons estimate from the weight where there is none.
func (c *checker) bodyWater(k *plausible.Session) {
	in := calc.Inputs{"height": c.log.About.HeightCm.Decimal.Float64(), "age": k.AgeYears}
	weight, weighed := k.Values["weight_after"]
	if _, ok := c.good(c.log.About.HeightCm); !ok || !weighed || !c.log.About.Sex.OK() {
		return
	}
	in["weight_after"] = weight
	sex := calc.SexFemale
	if c.log.About.Sex.Text == "male" {
		sex = calc.SexMale
	}
	methods := calc.BodyWaterMethods(sex, calc.Maybe{Value: k.AgeYears, Known: k.AgeKnown}, in["height"])
	if m, ok := calc.MethodByID(slices.Concat(methods, []string{""})[0]); ok {
		if r := m.Compute(in); r.OK() {
			k.Values["total_body_water"] = r.Value
		}
	}
}
