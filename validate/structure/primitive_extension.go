package structure

import (
	"runsheet.example/validate/doc"
)

// mostMembers limits the search for a sibling. The largest type of R4 has
// about 250 names, each with its primitive extension; an object with more is
// hostile, and a search for each of its members would be quadratic.
const mostMembers = 512

// primitiveExtension checks the member _name, which holds id and extensions of
// a primitive (FHIR R4 4.0.1, JSON Representation of Resources, primitive
// elements): an object, or for a repeating element an array of objects and
// nulls aligned with the array of values.
func (c *Checker) primitiveExtension(m doc.Node, row uint16) {
	d := c.doc
	r := &elementTable[row]
	value := c.sibling(m, d.Key(m)[1:])
	if !r.isArray() {
		c.primitiveExtensionItem(m, value)
		return
	}
	if d.Kind(m) != doc.Array {
		c.reportAs(m, "r4-array", "the element may repeat, so its extensions stand in an array", d.Kind(m).String(), "array")
		return
	}
	if d.Count(m) == 0 {
		c.report(m, "r4-empty", "the array has no items")
	}
	value = d.FirstChild(value)
	for item := d.FirstChild(m); item >= 0; item = d.Next(item) {
		c.rows[item] = row
		switch {
		case d.Kind(item) != doc.Null:
			c.primitiveExtensionItem(item, value)
		case value == doc.None || d.Kind(value) == doc.Null:
			c.report(item, "r4-twin", "neither a value nor extensions stand at this place of the array")
		}
		value = d.Next(value)
	}
	if value != doc.None {
		c.report(m, "r4-twin-length", "the array of extensions is shorter than the array of values")
	}
}

// sibling returns the member with that name in the parent object of m.
func (c *Checker) sibling(m doc.Node, name []byte) doc.Node {
	d := c.doc
	for o := d.FirstChild(d.Parent(m)); o >= 0 && d.Index(o) < mostMembers; o = d.Next(o) {
		if string(d.Key(o)) == string(name) {
			return o
		}
	}
	return doc.None
}

// extensionsOf returns the array that holds the ids and extensions of the items.
func (c *Checker) extensionsOf(array doc.Node) doc.Node {
	d := c.doc
	key := d.Key(array)
	for o := d.FirstChild(d.Parent(array)); o >= 0 && d.Index(o) < mostMembers; o = d.Next(o) {
		if k := d.Key(o); len(k) == len(key)+1 && k[0] == '_' && string(k[1:]) == string(key) {
			return o
		}
	}
	return doc.None
}

// primitiveExtensionItem checks id and extensions of one primitive. Without a value it must
// have extensions: this is ele-1, checked here because only here both value
// and primitive extension are known.
func (c *Checker) primitiveExtensionItem(n, value doc.Node) {
	d := c.doc
	switch d.Kind(n) {
	case doc.Object:
		c.object(n, Element)
		hasValue := value != doc.None && d.Kind(value) != doc.Null
		if first := d.FirstChild(n); !hasValue && d.Count(n) == 1 && string(d.Key(first)) == "id" {
			c.report(n, "inv-ele-1", "the primitive has neither a value nor extensions")
		}
	case doc.Null:
		c.report(n, "r4-null", "null stands where id and extensions are expected")
	default:
		c.reportAs(n, "r4-twin", "id and extensions of a primitive stand in an object", d.Kind(n).String(), "object")
	}
}
