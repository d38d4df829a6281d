package invariant

import "runsheet.example/validate/doc"

// text returns the value of a primitive element that is written as a string,
// nil when it has none. Of a repeating element it is the first.
func (c *Checker) text(n doc.Node, element string) []byte {
	return c.d.Str(c.s.First(n, element))
}

// is reports whether the element has one of the values.
func (c *Checker) is(n doc.Node, element string, values ...string) bool {
	text := c.text(n, element)
	if text == nil {
		return false
	}
	for _, v := range values {
		if string(text) == v {
			return true
		}
	}
	return false
}

// resourceOf returns the resource the node belongs to, or is.
func (c *Checker) resourceOf(n doc.Node) doc.Node {
	for n != doc.None && !c.s.TypeOf(n).IsResource() {
		n = c.d.Parent(n)
	}
	return n
}

// rootResourceOf returns the resource that is not contained in another.
func (c *Checker) rootResourceOf(n doc.Node) doc.Node {
	r := c.resourceOf(n)
	for c.isContained(r) {
		r = c.resourceOf(c.d.Parent(r))
	}
	return r
}

func (c *Checker) isContained(resource doc.Node) bool {
	array := c.d.Parent(resource)
	return c.d.Kind(array) == doc.Array && string(c.d.Key(array)) == "contained"
}

// after returns the first node after n that is not within it.
func (c *Checker) after(n doc.Node) doc.Node {
	for n != doc.None {
		if next := c.d.Next(n); next != doc.None {
			return next
		}
		n = c.d.Parent(n)
	}
	return doc.Node(c.d.Len())
}
