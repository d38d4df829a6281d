package structure

import (
	"math"

	"runsheet.example/validate/doc"
)

// echoes takes over what is known of the value of which the one here is an echo
// (see doc.Echo), if that was the same element: names, kinds and cardinalities are those
// that were right before, and only the texts that differ are looked at. Of
// primitives the verdict is not taken over: an array of them depends on its
// twin. From the first fault on every value is checked, so that each fault is
// told where it stands.
func (c *Checker) echoes(at doc.Node, row uint16) bool {
	all := c.doc.Echoes()
	for c.echo < len(all) && all[c.echo].Node < at {
		c.echo++
	}
	if c.echo == len(all) || all[c.echo].Node != at {
		return false
	}
	e := &all[c.echo]
	if c.found > 0 || c.rows[e.Of] != row || elementTable[row].typ.IsPrimitive() {
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
		c.concepts(n, at)
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

// concepts checks again whether a concept around a text that differs is in the
// value set it must be from.
func (c *Checker) concepts(n, outermost doc.Node) {
	for n != outermost {
		n = c.doc.Parent(n)
		if r := &elementTable[c.rows[n]]; r.valueSet != 0 && c.types[n] == CodeableConcept {
			c.checkConcept(n, r)
		}
	}
}
