package structure

import (
	"math"

	"runsheet.example/validate/doc"
)

// echoAt returns what is read as an echo from the node on, nil for nothing.
func (c *Checker) echoAt(at doc.Node) *doc.Echo {
	all := c.doc.Echoes()
	for c.echo < len(all) && all[c.echo].Node < at {
		c.echo++
	}
	if c.echo == len(all) || all[c.echo].Node != at {
		return nil
	}
	return &all[c.echo]
}

// echoes takes over what is known of the values of which those here are an echo
// (see doc.Echo) in a container of the same type: names, kinds and cardinalities
// are those that were right before, and only the texts that differ are looked
// at. From the first fault on every value is checked, so that each fault is told
// where it stands.
func (c *Checker) echoes(e *doc.Echo) bool {
	if c.found > 0 || !c.standsAlone(e) {
		return false
	}
	differing := c.doc.Differing(e)
	step := e.Node - e.Of
	for _, n := range differing {
		if c.rows[n-step] == 0 {
			return false // resourceType
		}
	}
	c.takeOver(e, differing)
	for _, n := range differing {
		c.primitive(n, &elementTable[c.rows[n]])
		c.concept(n, e.Node)
	}
	return true
}

// standsAlone reports whether no verdict on one of the values hangs on another
// that may not be among them: that on a twin, and on an array with null for
// which there must be a twin.
func (c *Checker) standsAlone(e *doc.Echo) bool {
	d := c.doc
	end := e.Node + doc.Node(e.Len)
	for n := e.Node; n >= 0 && n < end; n = d.Next(n) {
		if key := d.Key(n); len(key) > 0 && key[0] == '_' {
			return false
		}
		if d.Kind(n) != doc.Array || !elementTable[c.rows[n-e.Node+e.Of]].typ.IsPrimitive() {
			continue
		}
		for item := d.FirstChild(n); item >= 0; item = d.Next(item) {
			if d.Kind(item) == doc.Null {
				return false
			}
		}
	}
	return true
}

// takeOver notes of an echo what was noted of the value before.
func (c *Checker) takeOver(e *doc.Echo, differing []doc.Node) {
	d := c.doc
	from, to := int(e.Of), int(e.Node)
	copy(c.types[to:to+e.Len], c.types[from:])
	copy(c.rows[to:to+e.Len], c.rows[from:])
	copy(c.members[to:to+e.Len], c.members[from:])
	differs := math.MaxInt // where what differs next stands
	if len(differing) > 0 {
		differs = d.Offset(differing[0])
	}
	for i, t := range c.types[to : to+e.Len] {
		if t <= Xhtml { // a primitive, or none
			continue
		}
		n := e.Node + doc.Node(i)
		for differs < d.Offset(n) {
			differing = differing[1:]
			differs = math.MaxInt
			if len(differing) > 0 {
				differs = d.Offset(differing[0])
			}
		}
		kind := typeTable[t].kind
		c.list(n, t, kind != kindDatatype || differs < d.End(n))
		if kind == kindDomain || kind == kindResource {
			c.resources = append(c.resources, n)
			c.latest = t
		}
	}
}

// concept checks again whether the concept around a text that differs is in the
// value set it must be from, if it stands among the values from a node on. Only
// what stands in a Coding can change that.
func (c *Checker) concept(n, from doc.Node) {
	d := c.doc
	coding := d.Parent(n)
	if coding < 0 || c.types[coding] != Coding {
		return
	}
	if n = d.Parent(d.Parent(coding)); n >= from && c.types[n] == CodeableConcept {
		if r := &elementTable[c.rows[n]]; r.valueSet != 0 {
			c.checkConcept(n, r)
		}
	}
}
