// Package clinical checks the values of a record: whether each is possible and
// usual (profiles.Limit), and whether the values of one session agree with each
// other.
//
// An error is an impossible value, a warning is an implausible one; neither
// says anything about treatment. The check of the log uses the same limits.
package clinical

import (
	"slices"

	"runsheet.example/profiles"
	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/plausible"
	"runsheet.example/validate/resources"
)

// Checker checks documents one after another and reuses its memory. The zero
// value is ready for use. A Checker is not safe for concurrent use.
type Checker struct {
	rec *resources.Index
	d   *doc.Doc
	add func(issue.Finding)
	// sessions are the data of each Procedure, by index, in document order.
	sessions map[int]*session
	// first and next link the resources that are part of each Procedure, in
	// document order, by index; resources.Nowhere ends a list.
	first, next []int32
}

// Check reports impossible or implausible values and sessions.
func (c *Checker) Check(rec *resources.Index, add func(issue.Finding)) {
	c.rec, c.d, c.add = rec, rec.Doc, add
	c.members()
	c.sessions = map[int]*session{}
	for i := range rec.Resources {
		if rec.Resources[i].Type == "Procedure" {
			c.sessions[i] = c.gather(i)
		}
	}
	for i := range rec.Resources {
		res := &rec.Resources[i]
		switch res.Type {
		case "Observation":
			c.observation(res)
		case "Procedure":
			c.session(i, c.sessions[i])
		case "MedicationAdministration":
			c.heparin(res)
		}
	}
}

// members links the resources of each Procedure, so that a document with many
// sessions needs one pass, not one per session.
func (c *Checker) members() {
	all := c.rec.Resources
	c.first, c.next = c.first[:0], slices.Grow(c.next[:0], len(all))[:len(all)]
	for range all {
		c.first = append(c.first, resources.Nowhere)
	}
	for i := range slices.Backward(all) {
		c.next[i] = resources.Nowhere
		if hub := all[i].Hub; hub != resources.Nowhere {
			c.next[i], c.first[hub] = c.first[hub], int32(i)
		}
	}
}

func (c *Checker) report(n doc.Node, rule, details, value, expected string) {
	c.add(c.d.Finding(n, rule, issue.T(details)).Seen(value, issue.Literal(expected)))
}

// observation checks a single Observation. It skips one entered in error.
func (c *Checker) observation(res *resources.Resource) {
	if c.d.Is(res.Status, "entered-in-error") || c.d.Is(res.Status, "cancelled") {
		return
	}
	if p, ok := c.rec.Pressure(res); ok {
		c.pressure(res, p)
		return
	}
	if res.Row == nil {
		return
	}
	q, ok := res.Quantity, res.HasQuantity
	if !ok {
		return
	}
	known := c.around(res)
	number, comparable := q.In(profiles.LimitUnit(res.Row.Field))
	if !comparable {
		return // another dimension, reported by the units layer
	}
	limit, verdict := known.Judge(res.Row.Field, number)
	if res.Row.Sign < 0 && number > 0 && !limit.Impossible(number) {
		c.report(q.Node, "clin-record-pressure-sign", "the pressure is positive", written(q), "a negative pressure")
		return
	}
	if _, computed := c.rec.IsComputed(res); !computed || limit.Impossible(number) {
		c.judged(q, limit, verdict)
	}
}

// around returns the data of the session of a resource.
func (c *Checker) around(res *resources.Resource) *plausible.Session {
	if s := c.sessions[res.Hub]; s != nil {
		return &s.Session
	}
	return &plausible.Session{}
}

// judged reports a quantity that is not usual.
func (c *Checker) judged(q resources.Quantity, l profiles.Limit, verdict plausible.Verdict) {
	if verdict == plausible.Usual {
		return
	}
	rule, details, low, high := "clin-record-unusual", issue.T("the value is outside what is usual"), l.SoftLow, l.SoftHigh
	if verdict == plausible.Impossible {
		rule, details, low, high = "clin-record-impossible", issue.T("the value is outside what is possible"), l.HardLow, l.HardHigh
	}
	f := c.d.Finding(q.Node, rule, details)
	f.Value, f.Expected = written(q), issue.Literal(between(low, high, l.Unit))
	if verdict == plausible.NearlyUsual {
		f.Severity = issue.Information
	}
	c.add(f)
}

// pressure checks a blood pressure: each half against its limits, and their
// order.
func (c *Checker) pressure(res *resources.Resource, p resources.Pressure) {
	known := c.around(res)
	half := func(q resources.Quantity, field string) (float64, bool) {
		if q.Text == nil {
			return 0, false
		}
		number, ok := q.In(profiles.LimitUnit(field))
		if ok {
			limit, verdict := known.Judge(field, number)
			c.judged(q, limit, verdict)
		}
		return number, ok
	}
	systolic, haveSystolic := half(p.Systolic, "bp_systolic")
	diastolic, haveDiastolic := half(p.Diastolic, "bp_diastolic")
	if haveSystolic && haveDiastolic && diastolic >= systolic {
		c.report(res.Node, "clin-record-pressure-order", "diastolic pressure is not below systolic",
			string(p.Systolic.Text)+"/"+string(p.Diastolic.Text), "")
	}
}

// heparin checks a dose of heparin in international units.
func (c *Checker) heparin(res *resources.Resource) {
	d := c.d
	dose, ok := c.rec.Quantity(d.Get(d.Get(res.Node, "dosage"), "dose"))
	name := d.Get(d.Get(res.Node, "medicationCodeableConcept"), "text")
	if ok && string(dose.Unit) == "[iU]" && !d.Is(res.Status, "entered-in-error") && plausible.IsHeparin(string(d.Str(name))) {
		limit, verdict := c.around(res).Judge("heparin_total", dose.Number)
		c.judged(dose, limit, verdict)
	}
}

// part returns the row's field of an Observation in a session, "" if the field
// is not exact or the Observation has no value.
func (c *Checker) part(res *resources.Resource) (field string, q resources.Quantity, ok bool) {
	if res.Type != "Observation" || res.Row == nil || !res.Exact || c.d.Is(res.Status, "entered-in-error") {
		return "", resources.Quantity{}, false
	}
	q, ok = res.Quantity, res.HasQuantity
	return res.Row.Field, q, ok
}
