// Package clinical judges the values of a record: whether each lies within
// what is possible and what is usual (issue.Limits), and whether the values
// of one session agree with each other.
//
// An error is impossible, a warning worth a second look; neither says anything
// about treatment. The limits are those the log is checked against.
package clinical

import (
	"slices"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/record"
)

// Checker checks one document after the other, keeping its memory. The zero
// value is ready for use; a Checker must not be used by two goroutines at once.
type Checker struct {
	rec *record.Record
	d   *doc.Doc
	add func(issue.Finding)
	// room is reused from session to session.
	room session
	// first and next chain the resources that are part of each Procedure, in
	// document order, by index; record.Nowhere ends a chain.
	first, next []int32
}

// Check reports values and sessions that are impossible or implausible.
func (c *Checker) Check(rec *record.Record, add func(issue.Finding)) {
	c.rec, c.d, c.add = rec, rec.Doc, add
	c.members()
	for i := range rec.Resources {
		res := &rec.Resources[i]
		switch res.Type {
		case "Observation":
			c.observation(res)
		case "Procedure":
			c.session(i, res)
		}
	}
}

// members chains the resources of each Procedure, so that a document of many
// sessions is gone through once and not once for each.
func (c *Checker) members() {
	resources := c.rec.Resources
	c.first, c.next = c.first[:0], slices.Grow(c.next[:0], len(resources))[:len(resources)]
	for range resources {
		c.first = append(c.first, record.Nowhere)
	}
	for i := len(resources) - 1; i >= 0; i-- {
		c.next[i] = record.Nowhere
		if hub := resources[i].Hub; hub != record.Nowhere {
			c.next[i], c.first[hub] = c.first[hub], int32(i)
		}
	}
}

func (c *Checker) report(n doc.Node, rule, details, value, expected string) {
	f := c.d.Finding(n, rule)
	f.Details, f.Value, f.Expected = details, value, expected
	c.add(f)
}

// observation judges one Observation on its own. What was entered in error is
// no longer a claim.
func (c *Checker) observation(res *record.Resource) {
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
	limit, known := issue.LimitOf(res.Row.Field)
	if !known {
		return
	}
	number, ok := q.In(limit.Unit)
	if !ok {
		return // another dimension, said by the units
	}
	if res.Row.Sign < 0 && number > 0 && !limit.Impossible(number) {
		c.report(q.Node, "clin-record-pressure-sign", "the pressure is positive", written(q), "a negative pressure")
		return
	}
	c.limit(q, number, limit)
}

// limit judges one number.
func (c *Checker) limit(q record.Quantity, number float64, l issue.Limit) {
	switch {
	case l.Impossible(number):
		c.report(q.Node, "clin-record-impossible", "the value is outside what is possible", written(q), between(l.HardLow, l.HardHigh, l.Unit))
	case l.Unusual(number):
		c.report(q.Node, "clin-record-unusual", "the value is outside what is usual", written(q), between(l.SoftLow, l.SoftHigh, l.Unit))
	}
}

// pressure judges a blood pressure: each half by its limits, and their order.
func (c *Checker) pressure(res *record.Resource, p record.Pressure) {
	half := func(q record.Quantity, field string) (float64, bool) {
		limit, known := issue.LimitOf(field)
		if q.Text == nil || !known {
			return 0, false
		}
		number, ok := q.In(limit.Unit)
		if ok {
			c.limit(q, number, limit)
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

// part finds the row's field of an Observation in a session, "" when it is
// not known exactly or has no value.
func (c *Checker) part(res *record.Resource) (field string, q record.Quantity, ok bool) {
	if res.Type != "Observation" || res.Row == nil || !res.Exact || c.d.Is(res.Status, "entered-in-error") {
		return "", record.Quantity{}, false
	}
	q, ok = res.Quantity, res.HasQuantity
	return res.Row.Field, q, ok
}
