package rules

import (
	"bytes"
	"slices"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/resources"
)

// onePatient compares every patient that the resources of a session refer to,
// in any element, with the subject of the session, and compares the subjects
// of resources that refer to each other. A Provenance or a Device belongs to
// the session of its first target, or of the first resource that refers to it.
// A Bundle with several sessions of several patients is legal.
func (c *referenceChecker) onePatient(bundle int) {
	end := c.endOf(bundle)
	c.sessions(bundle, end)
	c.eachReference(bundle, end, func(ref doc.Node, from, target int) {
		session := c.about[from]
		switch {
		case session == resources.Nowhere:
		case c.isPatient(ref, target):
			c.comparePatient(ref, from, session)
		case target != resources.Nowhere && c.about[target] != resources.Nowhere && !c.isFocus(ref):
			other := c.about[target]
			subject, own := c.rec.Resources[other].Subject, c.rec.Resources[session].Subject
			if !c.isEqual(subject, own) && !slices.Contains(c.otherPatients, c.rec.Resources[target].Subject) &&
				!c.samePerson(c.patient(subject, other), c.patient(own, session)) {
				c.report(ref, "bundle-one-patient", "the resource referred to is about another patient", c.text(ref))
			}
		}
	})
}

// sessions maps each resource of the Bundle to the one whose subject it
// shares: the Procedure it is part of, itself, or a resource linked with it.
func (c *referenceChecker) sessions(bundle, end int) {
	c.about = append(c.about[:0], make([]int, len(c.rec.Resources))...)
	for i := range c.about {
		c.about[i] = resources.Nowhere
		res := &c.rec.Resources[i]
		switch {
		case i <= bundle || i >= end || res.Bundle != bundle || res.Type == "Device":
		case res.Hub != resources.Nowhere && c.rec.Resources[res.Hub].Subject != doc.None:
			c.about[i] = res.Hub
		case res.Subject != doc.None:
			c.about[i] = i
		}
	}
	c.eachReference(bundle, end, func(_ doc.Node, from, target int) {
		if target == resources.Nowhere {
			return
		}
		if c.about[from] == resources.Nowhere && c.rec.Resources[from].Type == "Provenance" {
			c.about[from] = c.about[target]
		}
		if c.about[target] == resources.Nowhere && c.rec.Resources[target].Type == "Device" {
			c.about[target] = c.about[from]
		}
	})
	for i := bundle + 1; i < end; i++ {
		if res := &c.rec.Resources[i]; res.Type == "Provenance" && c.about[i] != resources.Nowhere {
			c.recorded(res, c.about[i])
		}
	}
}

// eachReference yields the References of the Bundle's resources, with the
// index of the resource that contains each and the index of its target.
func (c *referenceChecker) eachReference(bundle, end int, yield func(ref doc.Node, from, target int)) {
	around := c.rec.Around()
	for _, ref := range c.types.References() {
		from := around.Of(ref)
		if from > bundle && from < end && c.rec.Resources[from].Bundle == bundle {
			target, outcome := c.rec.Resolve(ref, from)
			if outcome != resources.Found {
				target = resources.Nowhere
			}
			yield(ref, from, target)
		}
	}
}

// isPatient reports a reference to a Patient.
func (c *referenceChecker) isPatient(ref doc.Node, target int) bool {
	if target != resources.Nowhere {
		return c.rec.Resources[target].Type == "Patient"
	}
	return string(resources.TargetType(c.text(ref))) == "Patient" || c.d.Is(c.d.Get(ref, "type"), "Patient") ||
		c.types.ElementName(ref) == "subject"
}

// isFocus reports a reference to a focus: somebody else whom the value is
// about.
func (c *referenceChecker) isFocus(ref doc.Node) bool { return c.types.ElementName(ref) == "focus" }

// recorded reports a Provenance recorded before its targets began or after the
// Bundle was made.
func (c *referenceChecker) recorded(res *resources.Resource, target int) {
	node := c.d.Get(res.Node, "recorded")
	at, known := resources.Seconds(c.d.Str(node))
	if !known {
		return
	}
	made, dated := resources.Seconds(c.d.Str(c.d.Get(c.rec.Resources[res.Bundle].Node, "timestamp")))
	details := ""
	switch span := c.rec.Resources[target].Span; {
	case span.HasStart && at < span.Start:
		details = "it was recorded before what it tells of began"
	case dated && at > made:
		details = "it was recorded after the Bundle was made"
	default:
		return
	}
	c.report(node, "prov-recorded-time", details, c.d.Str(node))
}

// comparePatient reports a reference to a patient who is not known to be the
// subject of the session, or a reference that contradicts itself.
func (c *referenceChecker) comparePatient(ref doc.Node, from, session int) {
	subject := c.rec.Resources[session].Subject
	if ref != subject && c.isEqual(ref, subject) {
		return
	}
	details := ""
	switch p := c.patient(ref, from); {
	case p.contradicts:
		details = "reference and identifier name different patients"
	case ref != subject && !c.samePerson(p, c.patient(subject, session)):
		details = "the reference is not known to mean the subject of the session"
	default:
		return
	}
	c.otherPatients = append(c.otherPatients, ref)
	c.report(ref, "bundle-one-patient", details, c.text(ref))
}

// isEqual reports that two references are the same bytes.
func (c *referenceChecker) isEqual(a, b doc.Node) bool { return bytes.Equal(c.d.Raw(a), c.d.Raw(b)) }

func (c *referenceChecker) text(ref doc.Node) []byte { return c.d.Str(c.d.Get(ref, "reference")) }

// person is the identity of a patient in a reference: a resource of the
// document, a literal reference, identifiers as system|value.
type person struct {
	target   int
	literal  []byte
	searched bool
	ids      [][]byte
	// contradicts reports that the identifier of the reference is none of the
	// identifiers of its target.
	contradicts bool
}

// patient reads a reference in the resource with index from.
func (c *referenceChecker) patient(ref doc.Node, from int) person {
	d := c.d
	p := person{target: resources.Nowhere, ids: c.identifierOf(nil, d.Get(ref, "identifier"))}
	own := p.ids
	text := c.text(ref)
	target, outcome := c.rec.ResolveText(text, from)
	switch outcome {
	case resources.Found:
		p.target = target
		res := &c.rec.Resources[target]
		if value, ok := identifierCondition(d.Str(res.IfNoneExist)); ok {
			p.ids = append(p.ids, value)
		}
		c.identifiers(res, func(system, value []byte) bool {
			p.ids = append(p.ids, joined(system, value))
			return true
		})
	case resources.Conditional:
		p.searched = true
		_, query, _ := bytes.Cut(text, []byte("?"))
		if value, ok := identifierCondition(query); ok {
			p.ids = append(p.ids, value)
		} else {
			p.literal = text
		}
	case resources.Elsewhere:
		p.literal = text
	}
	p.contradicts = len(own) > 0 && differ(own, p.ids[len(own):])
	return p
}

func (c *referenceChecker) identifierOf(ids [][]byte, identifier doc.Node) [][]byte {
	value := c.d.Str(c.d.Get(identifier, "value"))
	if len(value) == 0 {
		return ids
	}
	return append(ids, joined(c.d.Str(c.d.Get(identifier, "system")), value))
}

func joined(system, value []byte) []byte {
	return append(append(append(make([]byte, 0, len(system)+1+len(value)), system...), '|'), value...)
}

// samePerson reports whether two references are known to identify one patient,
// or one of them identifies nobody.
func (c *referenceChecker) samePerson(a, b person) bool {
	switch {
	case !a.named() || !b.named():
		return true
	case differ(a.ids, b.ids), len(a.literal) > 0 && b.isLed(), len(b.literal) > 0 && a.isLed():
		return false
	case share(a.ids, b.ids), a.target != resources.Nowhere && a.target == b.target:
		return true
	case len(a.literal) > 0 && len(b.literal) > 0:
		return bytes.Equal(literalID(a.literal), literalID(b.literal))
	}
	return false
}

// isLed reports a reference that resolves by a search or within the document.
// A literal reference to another place may resolve to another patient, and a
// server does not check.
func (p person) isLed() bool { return p.searched || p.target != resources.Nowhere }

func (p person) named() bool {
	return p.target != resources.Nowhere || len(p.literal) > 0 || len(p.ids) > 0
}

// literalID returns the Type/id at the end of a literal reference, if present.
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

// differ reports whether the two have different values in one system and no
// equal value in any.
func differ(a, b [][]byte) bool {
	return !share(a, b) && slices.ContainsFunc(a, func(x []byte) bool {
		return slices.ContainsFunc(b, func(y []byte) bool { return bytes.Equal(system(x), system(y)) })
	})
}

func system(id []byte) []byte { return id[:bytes.LastIndexByte(id, '|')] }
