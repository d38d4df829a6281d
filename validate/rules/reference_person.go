package rules

import (
	"bytes"
	"iter"
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
	for ref := range c.within(bundle, end) {
		session := c.about[ref.From]
		switch {
		case session == resources.Nowhere:
		case c.isPatient(ref):
			c.comparePatient(ref, session)
		case ref.Target != resources.Nowhere && c.about[ref.Target] != resources.Nowhere && !c.isFocus(ref):
			other := c.about[ref.Target]
			subject, own := c.rec.Resources[other].Subject, c.rec.Resources[session].Subject
			if !c.isEqual(subject, own) && !slices.Contains(c.otherPatients, c.rec.Resources[ref.Target].Subject) &&
				!c.isOwn(c.rec.Reference(subject, other), session) {
				c.report(ref.Node, "bundle-one-patient", "the resource referred to is about another patient", ref.Text)
			}
		}
	}
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
	for ref := range c.within(bundle, end) {
		if ref.Target == resources.Nowhere {
			continue
		}
		from, target := &c.about[ref.From], &c.about[ref.Target]
		if *from == resources.Nowhere && c.rec.Resources[ref.From].Type == "Provenance" {
			*from = *target
		}
		if *target == resources.Nowhere && ref.Type == "Device" {
			*target = *from
		}
	}
	for i := bundle + 1; i < end; i++ {
		if res := &c.rec.Resources[i]; res.Type == "Provenance" && c.about[i] != resources.Nowhere {
			c.recorded(res, c.about[i])
		}
	}
}

// within yields the References in the Bundle's resources.
func (c *referenceChecker) within(bundle, end int) iter.Seq[*resources.Reference] {
	return func(yield func(*resources.Reference) bool) {
		for i := range c.rec.References {
			ref := &c.rec.References[i]
			if ref.From > bundle && ref.From < end && c.rec.Resources[ref.From].Bundle == bundle && !yield(ref) {
				return
			}
		}
	}
}

// isPatient reports a reference to a Patient.
func (c *referenceChecker) isPatient(ref *resources.Reference) bool {
	return ref.Type == "Patient" ||
		ref.Target == resources.Nowhere && (c.d.Is(ref.Stated, "Patient") || c.types.ElementName(ref.Node) == "subject")
}

// isFocus reports a reference to a focus: somebody else whom the value is
// about.
func (c *referenceChecker) isFocus(ref *resources.Reference) bool {
	return c.types.ElementName(ref.Node) == "focus"
}

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
func (c *referenceChecker) comparePatient(ref *resources.Reference, session int) {
	subject := c.rec.Resources[session].Subject
	if ref.Node != subject && c.isEqual(ref.Node, subject) {
		return
	}
	isOwn, details := c.isOwn(*ref, session), ""
	switch {
	case c.person.contradicts:
		details = "reference and identifier name different patients"
	case ref.Node != subject && !isOwn:
		details = "the reference is not known to mean the subject of the session"
	default:
		return
	}
	c.otherPatients = append(c.otherPatients, ref.Node)
	c.report(ref.Node, "bundle-one-patient", details, ref.Text)
}

// isEqual reports that two references are the same bytes.
func (c *referenceChecker) isEqual(a, b doc.Node) bool { return bytes.Equal(c.d.Raw(a), c.d.Raw(b)) }

// isOwn reports whether a reference, which it reads into c.person, identifies
// the subject of the session.
func (c *referenceChecker) isOwn(ref resources.Reference, session int) bool {
	if c.ownOf != session {
		c.ownOf = session
		c.read(&c.own, c.rec.Reference(c.rec.Resources[session].Subject, session))
	}
	c.read(&c.person, ref)
	return c.person.isSame(&c.own)
}

// person is the identity of a patient in a reference: a resource of the
// document, a literal reference, identifiers as system|value.
type person struct {
	target   int
	literal  []byte
	searched bool
	ids      [][]byte
	texts    []byte // of ids, as far as the document does not hold them joined
	// contradicts reports that the identifier of the reference is none of the
	// identifiers of its target.
	contradicts bool
}

// read reads a person from a reference and reuses the memory.
func (c *referenceChecker) read(p *person, ref resources.Reference) {
	d := c.d
	*p = person{target: ref.Target, ids: p.ids[:0], texts: p.texts[:0]}
	if value := d.Str(d.Get(ref.Identifier, "value")); len(value) > 0 {
		p.add(d.Str(d.Get(ref.Identifier, "system")), value)
	}
	own := len(p.ids)
	switch ref.Outcome {
	case resources.Found:
		res := &c.rec.Resources[ref.Target]
		if value, ok := identifierCondition(d.Str(res.IfNoneExist)); ok {
			p.ids = append(p.ids, value)
		}
		c.identifiers(res, func(system, value []byte) bool {
			p.add(system, value)
			return true
		})
	case resources.Conditional:
		p.searched = true
		_, query, _ := bytes.Cut(ref.Text, []byte("?"))
		if value, ok := identifierCondition(query); ok {
			p.ids = append(p.ids, value)
		} else {
			p.literal = ref.Text
		}
	case resources.Elsewhere:
		p.literal = ref.Text
	}
	p.contradicts = own > 0 && differ(p.ids[:own], p.ids[own:])
}

// add adds an identifier.
func (p *person) add(system, value []byte) {
	from := len(p.texts)
	p.texts = append(append(append(p.texts, system...), '|'), value...)
	p.ids = append(p.ids, p.texts[from:])
}

// isSame reports whether two references are known to identify one patient, or
// one of them identifies nobody.
func (a *person) isSame(b *person) bool {
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
func (p *person) isLed() bool { return p.searched || p.target != resources.Nowhere }

func (p *person) named() bool {
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
