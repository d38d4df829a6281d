package clinical

import (
	"slices"
	"strings"

	"runsheet.example/calc"
	"runsheet.example/profiles"
	"runsheet.example/validate/doc"
	"runsheet.example/validate/plausible"
	"runsheet.example/validate/resources"
)

// session is one Procedure with its parts.
type session struct {
	plausible.Session
	hub       *resources.Resource
	span      resources.Span
	dialysis  bool
	withdrawn bool
	// quantities are the first values of each field, as written.
	quantities map[string]resources.Quantity
}

// gather collects the values of a session.
func (c *Checker) gather(at int) *session {
	hub := &c.rec.Resources[at]
	s := &session{
		hub: hub, span: hub.Span, dialysis: c.rec.HasCoding(hub.Code, profiles.Haemodialysis),
		withdrawn:  c.d.Is(hub.Status, "not-done") || c.d.Is(hub.Status, "entered-in-error"),
		quantities: map[string]resources.Quantity{},
	}
	s.Values, s.Readings = map[string]float64{}, map[string][]float64{}
	s.CutShort = c.d.Is(hub.Status, "stopped")
	if s.span.HasStart && s.span.HasEnd {
		s.ElapsedMin = float64(s.span.End-s.span.Start) / 60
	}
	for i := c.first[at]; i != resources.Nowhere; i = c.next[i] {
		c.take(s, &c.rec.Resources[i])
	}
	for _, field := range [...]string{"weight_before", "weight_after", "dry_weight"} {
		if kg, known := s.Values[field]; known && s.WeightKg == 0 {
			s.WeightKg = kg
		}
	}
	s.Minutes, _ = s.MinutesOf()
	return s
}

// stated are the inputs of computed values that describe the session further.
var stated = [...]string{"age", "dialyser_koa", "residual_urea_clearance", "sessions_per_week", "preceding_interval"}

// take stores a value of the session.
func (c *Checker) take(s *session, res *resources.Resource) {
	name, q, ok := c.part(res)
	if !ok {
		return
	}
	if coding, computed := c.rec.IsComputed(res); computed {
		c.inputs(s, res)
		// The formulas for adults do not need the age.
		if !s.AgeKnown && strings.HasPrefix(string(c.d.Str(c.d.Get(coding, "code"))), "watson-") {
			s.AgeYears, s.AgeKnown = calc.AdultYears, true
		}
	}
	if _, known := s.quantities[name]; !known {
		s.quantities[name] = q
	}
	number, ok := inLimitUnit(name, q)
	field := strings.Replace(name, "bun_", "urea_", 1)
	_, twice := s.Values[field]
	switch {
	case !ok, name == "treated_time" && c.d.Is(res.Status, "preliminary"): // computed from the clock
	case isReading(name) && res.Span.HasStart && res.Span.Start == res.Span.End:
		s.Readings[name] = append(s.Readings[name], number)
	case !twice:
		s.Values[field] = number
	}
}

func isReading(field string) bool {
	return field == "blood_flow" || field == "dialysate_flow" || field == "uf_rate"
}

// inLimitUnit returns a number in the unit of its limits; urea and urea
// nitrogen in mmol/L of urea.
func inLimitUnit(field string, q resources.Quantity) (float64, bool) {
	switch field {
	case "urea_before", "urea_after":
		if string(q.Unit) == "mg/dL" {
			return calc.UreaFromMgPerDL(q.Number), true
		}
		return q.In("mmol/L")
	case "bun_before", "bun_after":
		if string(q.Unit) == "mmol/L" {
			return q.Number, true
		}
		number, ok := q.In("mg/dL")
		return calc.UreaFromBUN(number), ok
	case "total_body_water":
		return q.In("L")
	}
	return q.In(profiles.LimitUnit(field))
}

// inputs reads the inputs among the components of a computed value.
func (c *Checker) inputs(s *session, res *resources.Resource) {
	for n := c.d.FirstChild(res.Component); n != doc.None; n = c.d.Next(n) {
		in, ok := c.rec.InputOf(c.d.Get(n, "code"))
		if !ok || !slices.Contains(stated[:], in.Key) {
			continue
		}
		q, ok := c.rec.Quantity(c.d.Get(n, "valueQuantity"))
		number, comparable := q.In(in.Unit)
		switch {
		case !ok || !comparable:
		case in.Key == "preceding_interval":
			s.Days = number
		case in.Key != "age":
			s.Values[in.Key] = number
		case string(q.Unit) == in.Unit:
			s.AgeYears, s.AgeKnown = number, true
		}
	}
}

// session checks one Procedure with its parts.
func (c *Checker) session(at int, s *session) {
	if s.withdrawn || !s.dialysis {
		return
	}
	c.duration(s.hub, s.span)
	for i := c.first[at]; i != resources.Nowhere; i = c.next[i] {
		c.outside(&c.rec.Resources[i], s)
	}
	c.weights(s)
	c.fluid(s)
	c.lengths(s)
	c.disagreements(s)
	c.ureaUnits(s)
}

// duration checks the period of the session.
func (c *Checker) duration(hub *resources.Resource, span resources.Span) {
	limit, known := profiles.LimitOf("session_duration")
	if !known || !span.HasStart || !span.HasEnd || hub.Effective == doc.None || c.d.Kind(hub.Effective) != doc.Object {
		return
	}
	minutes := float64(span.End-span.Start) / 60
	if limit.Impossible(minutes) {
		c.report(hub.Effective, "clin-record-duration", "the session cannot last so long", amount(minutes, limit.Unit), between(limit.HardLow, limit.HardHigh, limit.Unit))
	}
}

// room is how far from its session a resource may lie.
func (c *Checker) room(res *resources.Resource) plausible.Around {
	phase, kind := res.Phase, ""
	if res.Row != nil {
		kind = res.Row.Field
	}
	event, isEvent := strings.CutPrefix(kind, "event_")
	switch {
	case isEvent:
		return plausible.EventTimes(event)
	case phase == profiles.PhasePre, phase == profiles.PhasePost:
		return plausible.WeighingTimes
	case res.Type == "MedicationAdministration":
		return plausible.MedicineTimes
	case res.Row == nil && !res.IsPressure:
		return plausible.CheckTimes
	default:
		return plausible.ReadingTimes
	}
}

// outside reports a reading outside its session. Questionnaires are answered
// later, laboratory samples may be drawn the day before, a dry weight has its
// own date, and water is tested hours before.
func (c *Checker) outside(res *resources.Resource, s *session) {
	span := s.span
	if !span.HasStart || !span.HasEnd || res.Effective == doc.None {
		return
	}
	if c.rec.IsLaboratory(res) || res.Row != nil && (res.Row.Category == profiles.Survey || res.Row.Field == "dry_weight" || res.Row.Profile == profiles.ProfileCheck) {
		return
	}
	if _, computed := c.rec.IsComputed(res); computed {
		return // the values of a week begin before the session
	}
	t, far := res.Span, c.room(res)
	first, last := span.Start-int64(far.Early.Seconds()), span.End+int64(far.Late.Seconds())
	early := t.HasStart && t.Start < first || t.HasEnd && t.End < first
	late := t.HasEnd && t.End > last || t.HasStart && t.Start > last
	if early || late {
		c.report(res.Effective, "clin-record-outside-session", "the time is too far from the session", c.timeText(res.Effective), c.timeText(s.hub.Effective))
	}
}

// timeText formats a time as written in the document.
func (c *Checker) timeText(n doc.Node) string {
	if c.d.Kind(n) == doc.Object {
		return string(c.d.Str(c.d.Get(n, "start"))) + " to " + string(c.d.Str(c.d.Get(n, "end")))
	}
	return string(c.d.Str(n))
}
