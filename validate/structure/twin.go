package structure

import (
	"runsheet.example/validate/doc"
)

// twin checks the member that holds id and extensions of a primitive
// (FHIR R4 4.0.1, JSON Representation of Resources, primitive elements): an
// object, or for a repeating element an array of objects and nulls in step
// with the array of values.
func (c *Checker) twin(m doc.Node, row uint16) {
	d := c.doc
	r := &elementTable[row]
	if !r.isArray() {
		c.twinValue(m)
		return
	}
	if d.Kind(m) != doc.Array {
		c.reportAs(m, "r4-array", "the element may repeat, so its extensions stand in an array", d.Kind(m).String(), "array")
		return
	}
	if d.Count(m) == 0 {
		c.report(m, "r4-empty", "the array has no items")
	}
	value := c.firstValue(m)
	for item := d.FirstChild(m); item >= 0; item = d.Next(item) {
		c.rows[item] = row
		switch {
		case d.Kind(item) != doc.Null:
			c.twinValue(item)
		case value == doc.None || d.Kind(value) == doc.Null:
			c.report(item, "r4-twin", "neither a value nor extensions stand at this place of the array")
		}
		value = d.Next(value)
	}
	if value != doc.None {
		c.report(m, "r4-twin-length", "the array of extensions is shorter than the array of values")
	}
}

// firstValue returns the first item of the array whose twin m is.
func (c *Checker) firstValue(m doc.Node) doc.Node {
	d := c.doc
	name := d.Key(m)[1:]
	for o := d.FirstChild(d.Parent(m)); o >= 0; o = d.Next(o) {
		if string(d.Key(o)) == string(name) {
			return d.FirstChild(o)
		}
	}
	return doc.None
}

func (c *Checker) twinValue(n doc.Node) {
	switch c.doc.Kind(n) {
	case doc.Object:
		c.object(n, Element)
	case doc.Null:
		c.report(n, "r4-null", "null stands where id and extensions are expected")
	default:
		c.reportAs(n, "r4-twin", "id and extensions of a primitive stand in an object", c.doc.Kind(n).String(), "object")
	}
}
