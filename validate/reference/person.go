package reference

import (
	"bytes"
	"slices"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/record"
)

// onePatient compares every patient that a session's resources name with the
// subject of the session: subjects and performers of what is part of it, the
// patients of the devices it refers to, and the subjects of what one Provenance
// tells of. A Bundle of several sessions of several patients is legal.
func (c *Checker) onePatient(bundle int) {
	end := c.endOf(bundle)
	for i := bundle + 1; i < end; i++ {
		res := &c.rec.Resources[i]
		if res.Bundle != bundle {
			continue
		}
		session := i
		if res.Hub != record.Nowhere {
			session = res.Hub
			c.comparePatient(res.Subject, i, session)
		}
		if res.Subject != doc.None {
			c.agreesWithItself(res.Subject, i)
			c.eachReference(res.Performer, func(ref doc.Node) { c.comparePerformer(ref, i, session) })
			c.eachReference(res.DerivedFrom, func(ref doc.Node) { c.compareTarget(ref, i, session) })
		}
		if res.Type == "Provenance" {
			c.provenance(res, i)
		}
	}
	c.devices(bundle, end)
}

// provenance compares the subjects of the targets with that of the first.
func (c *Checker) provenance(res *record.Resource, at int) {
	first := record.Nowhere
	c.eachReference(res.Target, func(ref doc.Node) {
		target, outcome := c.rec.Resolve(ref, at)
		if outcome != record.Found || c.rec.Resources[target].Subject == doc.None || slices.Contains(c.otherPatients, c.rec.Resources[target].Subject) {
			return
		}
		if first == record.Nowhere {
			first = target
		}
		c.recorded(res, target)
		if !c.samePerson(c.patient(c.rec.Resources[target].Subject, target), c.patient(c.rec.Resources[first].Subject, first)) {
			c.report(ref, "bundle-one-patient", "the target is about another patient than the first target", c.text(ref))
		}
	})
	if first != record.Nowhere {
		c.eachReference(res.Agent, func(ref doc.Node) { c.comparePerformer(ref, at, first) })
	}
}

// recorded reports a Provenance recorded before what it tells of began, or after
// the Bundle was made.
func (c *Checker) recorded(res *record.Resource, target int) {
	node := c.d.Get(res.Node, "recorded")
	at, known := record.Seconds(c.d.Str(node))
	if !known || node == c.early {
		return
	}
	made, dated := record.Seconds(c.d.Str(c.d.Get(c.rec.Resources[res.Bundle].Node, "timestamp")))
	details := ""
	switch span := c.rec.Resources[target].Span; {
	case span.HasStart && at < span.Start:
		details = "it was recorded before what it tells of began"
	case dated && at > made:
		details = "it was recorded after the Bundle was made"
	default:
		return
	}
	c.early = node
	c.report(node, "prov-recorded-time", details, c.d.Str(node))
}

// devices compares the patient of each device in the Bundle with the subject of
// the resources that refer to it.
func (c *Checker) devices(bundle, end int) {
	around := c.rec.Around()
	for _, ref := range c.types.References() {
		from := around.Of(ref)
		res := &c.rec.Resources[from]
		if from <= bundle || from >= end || res.Bundle != bundle || res.Subject == doc.None || res.Type == "Device" {
			continue
		}
		target, outcome := c.rec.Resolve(ref, from)
		if outcome == record.Found && c.rec.Resources[target].Type == "Device" {
			session := from
			if res.Hub != record.Nowhere {
				session = res.Hub
			}
			c.comparePatient(c.rec.Resources[target].Subject, target, session)
		}
	}
}

// compareTarget compares the subject of what a value is derived from.
func (c *Checker) compareTarget(ref doc.Node, from, session int) {
	if target, outcome := c.rec.Resolve(ref, from); outcome == record.Found {
		c.comparePatient(c.rec.Resources[target].Subject, target, session)
	}
}

// comparePerformer compares a performer or agent that is a Patient.
func (c *Checker) comparePerformer(ref doc.Node, from, session int) {
	text := c.text(ref)
	named := record.TargetType(text)
	if target, outcome := c.rec.ResolveText(text, from); outcome == record.Found {
		named = []byte(c.rec.Resources[target].Type)
	}
	if string(named) == "Patient" || c.d.Is(c.d.Get(ref, "type"), "Patient") {
		c.comparePatient(ref, from, session)
	}
}

// comparePatient reports a reference to a patient who is not known to be the
// subject of the session.
func (c *Checker) comparePatient(ref doc.Node, from, session int) {
	subject := c.rec.Resources[session].Subject
	if ref == doc.None || subject == doc.None || ref == subject || bytes.Equal(c.d.Raw(ref), c.d.Raw(subject)) {
		return
	}
	if slices.Contains(c.otherPatients, ref) { // a device is referred to often
		return
	}
	if !c.samePerson(c.patient(ref, from), c.patient(subject, session)) {
		c.otherPatients = append(c.otherPatients, ref)
		c.report(ref, "bundle-one-patient", "the reference is not known to mean the subject of the session", c.text(ref))
	}
}

// agreesWithItself reports a reference whose identifier is another than that of
// the patient it leads to.
func (c *Checker) agreesWithItself(ref doc.Node, from int) {
	identifier := c.d.Get(ref, "identifier")
	if identifier == doc.None || c.d.Get(ref, "reference") == doc.None {
		return
	}
	own := person{target: record.Nowhere, ids: c.identifierOf(nil, identifier)}
	led := c.patient(ref, from)
	led.ids = led.ids[len(own.ids):]
	if len(led.ids) > 0 && len(own.ids) > 0 && differ(own.ids, led.ids) {
		c.report(ref, "bundle-one-patient", "reference and identifier of the subject name different patients", c.text(ref))
	}
}

func (c *Checker) text(ref doc.Node) []byte { return c.d.Str(c.d.Get(ref, "reference")) }

// eachReference yields the References in the items of an array or an object:
// the items themselves, or their actor or who.
func (c *Checker) eachReference(n doc.Node, yield func(ref doc.Node)) {
	d := c.d
	first := n
	if d.Kind(n) == doc.Array {
		first = d.FirstChild(n)
	}
	for item := first; item != doc.None; item = d.Next(item) {
		ref := item
		for _, name := range []string{"actor", "who"} {
			if inner := d.Get(item, name); inner != doc.None {
				ref = inner
			}
		}
		yield(ref)
		if item == n {
			return
		}
	}
}

// person is what a reference says of the patient it means: a resource of the
// document, a literal reference, identifiers as system|value.
type person struct {
	target  int
	literal []byte
	ids     [][]byte
}

// patient reads a reference in the resource with index from. Its own identifier
// comes first among the ids.
func (c *Checker) patient(ref doc.Node, from int) person {
	d := c.d
	p := person{target: record.Nowhere, ids: c.identifierOf(nil, d.Get(ref, "identifier"))}
	text := c.text(ref)
	target, outcome := c.rec.ResolveText(text, from)
	switch outcome {
	case record.Found:
		p.target = target
		res := &c.rec.Resources[target]
		if value, ok := identifierCondition(d.Str(res.IfNoneExist)); ok {
			p.ids = append(p.ids, value)
		}
		c.identifiers(res, func(system, value []byte) bool {
			p.ids = append(p.ids, joined(system, value))
			return true
		})
	case record.Conditional:
		_, query, _ := bytes.Cut(text, []byte("?"))
		if value, ok := identifierCondition(query); ok {
			p.ids = append(p.ids, value)
		} else {
			p.literal = text
		}
	case record.Elsewhere:
		p.literal = text
	}
	return p
}

func (c *Checker) identifierOf(ids [][]byte, identifier doc.Node) [][]byte {
	value := c.d.Str(c.d.Get(identifier, "value"))
	if len(value) == 0 {
		return ids
	}
	return append(ids, joined(c.d.Str(c.d.Get(identifier, "system")), value))
}

func joined(system, value []byte) []byte {
	return append(append(append(make([]byte, 0, len(system)+1+len(value)), system...), '|'), value...)
}

// samePerson reports whether two references are known to mean one patient, or
// one of them says nothing of whom it means.
func (c *Checker) samePerson(a, b person) bool {
	switch {
	case !a.named() || !b.named():
		return true
	case differ(a.ids, b.ids):
		return false
	case share(a.ids, b.ids), a.target != record.Nowhere && a.target == b.target:
		return true
	case len(a.literal) > 0 && len(b.literal) > 0:
		return bytes.Equal(literalID(a.literal), literalID(b.literal))
	}
	return false
}

func (p person) named() bool {
	return p.target != record.Nowhere || len(p.literal) > 0 || len(p.ids) > 0
}

// literalID leaves Type/id of a literal reference if it has these at its end.
func literalID(text []byte) []byte {
	if at := bytes.Index(text, []byte("/_history/")); at >= 0 {
		text = text[:at]
	}
	if bytes.IndexByte(text, '?') >= 0 {
		return text
	}
	last := bytes.LastIndexByte(text, '/')
	before := bytes.LastIndexByte(text[:max(last, 0)], '/')
	return text[before+1:]
}

func share(a, b [][]byte) bool {
	return slices.ContainsFunc(a, func(x []byte) bool {
		return slices.ContainsFunc(b, func(y []byte) bool { return bytes.Equal(x, y) })
	})
}

// differ reports whether the two have different values in one system and the
// same value in none.
func differ(a, b [][]byte) bool {
	return !share(a, b) && slices.ContainsFunc(a, func(x []byte) bool {
		return slices.ContainsFunc(b, func(y []byte) bool { return bytes.Equal(system(x), system(y)) })
	})
}

func system(id []byte) []byte { return id[:bytes.LastIndexByte(id, '|')] }
