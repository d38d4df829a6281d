package clinical

import (
	"runsheet.example/profiles"
	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/record"
)

// value is one measurement of a session.
type value struct {
	number float64 // in the unit the field is compared in
	q      record.Quantity
	known  bool
}

// field is a measurement that is compared with others of the session.
type field uint8

const (
	weightBefore field = iota
	weightAfter
	ufRemoved
	drinks
	saline
	rinseback
	dialysateVolume
	dialysateFlow
	bloodFlow
	bloodProcessed
	treatedTime
	ufRate
	ureaBefore
	ureaAfter
	bunBefore
	bunAfter
	fields
)

// compared finds the fields by the names in the code table, with the unit they
// are compared in, where it is one.
var compared = map[string]struct {
	field field
	unit  string
}{
	"weight_before": {weightBefore, "kg"}, "weight_after": {weightAfter, "kg"},
	"uf_removed": {ufRemoved, "L"}, "drinks": {drinks, "L"}, "saline": {saline, "L"}, "rinseback": {rinseback, "L"},
	"dialysate_volume": {dialysateVolume, "L"}, "dialysate_flow": {dialysateFlow, "mL/min"},
	"blood_flow": {bloodFlow, "mL/min"}, "blood_processed": {bloodProcessed, "L"},
	"treated_time": {treatedTime, "min"}, "uf_rate": {ufRate, "mL/h"},
	"urea_before": {ureaBefore, ""}, "urea_after": {ureaAfter, ""}, "bun_before": {bunBefore, ""}, "bun_after": {bunAfter, ""},
}

// session holds the values of one session by field; a field that stands more
// than once keeps the first, and readings all of them.
type session struct {
	hub      *record.Resource
	span     record.Span
	values   [fields]value
	readings [fields][]value
}

var haemodialysis = profiles.Coding{System: profiles.SNOMED, Code: "302497006"}

// session judges one Procedure with what is part of it.
func (c *Checker) session(at int, hub *record.Resource) {
	if c.d.Is(hub.Status, "not-done") || c.d.Is(hub.Status, "entered-in-error") {
		return
	}
	span := hub.Span
	dialysis := c.rec.HasCoding(hub.Code, haemodialysis)
	if dialysis {
		c.duration(hub, span)
	}
	s := &c.room
	s.hub, s.span = hub, span
	clear(s.values[:])
	for i, readings := range s.readings {
		s.readings[i] = readings[:0]
	}
	found := false
	for i := c.first[at]; i != record.Nowhere; i = c.next[i] {
		res := &c.rec.Resources[i]
		found = true
		if dialysis {
			c.outside(res, span)
		}
		c.take(s, res)
	}
	if !found || !dialysis {
		return
	}
	c.weights(s)
	c.fluid(s)
	c.volumes(s)
	c.urea(s)
}

// take notes a value of the session.
func (c *Checker) take(s *session, res *record.Resource) {
	name, q, ok := c.part(res)
	if !ok {
		return
	}
	as, isCompared := compared[name]
	if !isCompared {
		return
	}
	v := value{number: q.Number, q: q, known: true}
	if as.unit != "" {
		if v.number, ok = q.In(as.unit); !ok {
			return
		}
	}
	if first := &s.values[as.field]; !first.known {
		*first = v
	}
	switch as.field {
	case ufRate, bloodFlow, dialysateFlow:
		s.readings[as.field] = append(s.readings[as.field], v)
	}
}

// duration judges the period of the session.
func (c *Checker) duration(hub *record.Resource, span record.Span) {
	limit, known := issue.LimitOf("session_duration")
	if !known || !span.HasStart || !span.HasEnd || hub.Effective == doc.None || c.d.Kind(hub.Effective) != doc.Object {
		return
	}
	minutes := float64(span.End-span.Start) / 60
	text := amount(minutes, limit.Unit)
	switch {
	case minutes <= 0 || limit.Impossible(minutes):
		c.report(hub.Effective, "clin-record-duration", "the session cannot last so long", text, between(limit.HardLow, limit.HardHigh, limit.Unit))
	case limit.Unusual(minutes):
		c.report(hub.Effective, "clin-record-unusual", "the session lasts unusually long or short", text, between(limit.SoftLow, limit.SoftHigh, limit.Unit))
	}
}

// margin is how far from its session a reading may lie: weights and pressures
// are taken before the start and after the end.
const margin = 60 * 60

// outside judges whether a reading lies in its session. Questionnaires are
// answered later, laboratory samples may be drawn for the session the day
// before, a dry weight has a date of its own, and water is tested hours before.
func (c *Checker) outside(res *record.Resource, span record.Span) {
	if !span.HasStart || !span.HasEnd || res.Effective == doc.None {
		return
	}
	if res.Row != nil && (res.Row.Category == profiles.Survey || res.Row.Category == profiles.Laboratory || res.Row.Field == "dry_weight" || profiles.Entered(*res.Row) == profiles.ProfileCheck) {
		return
	}
	if _, computed := c.rec.IsComputed(res); computed {
		return // the week's values begin before the session
	}
	t := res.Span
	early := t.HasStart && t.Start < span.Start-margin || t.HasEnd && t.End < span.Start-margin
	late := t.HasEnd && t.End > span.End+margin || t.HasStart && t.Start > span.End+margin
	if early || late {
		c.report(res.Effective, "clin-record-outside-session", "the time is more than an hour outside the session", c.timeText(res.Effective), c.timeText(c.room.hub.Effective))
	}
}

// timeText writes a time as it stands in the document.
func (c *Checker) timeText(n doc.Node) string {
	if c.d.Kind(n) == doc.Object {
		return string(c.d.Str(c.d.Get(n, "start"))) + " to " + string(c.d.Str(c.d.Get(n, "end")))
	}
	return string(c.d.Str(n))
}
