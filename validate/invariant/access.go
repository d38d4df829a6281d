package invariant

import (
	"bytes"
	"slices"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/structure"
)

// has reports whether the element exists.
func (c *Checker) has(n doc.Node, element string) bool {
	return c.s.Child(n, element) != doc.None
}

func (c *Checker) hasAny(n doc.Node, elements ...string) bool {
	for _, e := range elements {
		if c.has(n, e) {
			return true
		}
	}
	return false
}

// implies reports that b exists wherever a does.
func (c *Checker) implies(n doc.Node, a, b string) bool { return !c.has(n, a) || c.has(n, b) }

// notBoth reports that not both exist.
func (c *Checker) notBoth(n doc.Node, a, b string) bool { return !c.has(n, a) || !c.has(n, b) }

// oneOf reports that exactly one of the two exists.
func (c *Checker) oneOf(n doc.Node, a, b string) bool { return c.has(n, a) != c.has(n, b) }

// text returns the value of a primitive element that is written as a string,
// nil when it has none. Of a repeating element it is the first.
func (c *Checker) text(n doc.Node, element string) []byte {
	return c.d.Str(c.first(n, element))
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

// isOrEmpty reports whether the element has one of the values or none at all,
// where FHIRPath would answer with nothing.
func (c *Checker) isOrEmpty(n doc.Node, element string, values ...string) bool {
	return c.text(n, element) == nil || c.is(n, element, values...)
}

func (c *Checker) isTrue(n doc.Node, element string) bool {
	v := c.s.Child(n, element)
	return c.d.Kind(v) == doc.Bool && string(c.d.Raw(v)) == "true"
}

// first returns the element, of a repeating one the first item.
func (c *Checker) first(n doc.Node, element string) doc.Node {
	v := c.s.Child(n, element)
	if c.d.Kind(v) == doc.Array {
		return c.d.FirstChild(v)
	}
	return v
}

// next returns the item after v, doc.None when v does not repeat.
func (c *Checker) next(v doc.Node) doc.Node {
	if c.d.Kind(c.d.Parent(v)) != doc.Array {
		return doc.None
	}
	return c.d.Next(v)
}

// count is the number of items of an element.
func (c *Checker) count(n doc.Node, element string) int {
	v := c.s.Child(n, element)
	switch c.d.Kind(v) {
	case doc.Absent:
		return 0
	case doc.Array:
		return c.d.Count(v)
	default:
		return 1
	}
}

// all reports whether every item of the element passes; without items it does.
func (c *Checker) all(n doc.Node, element string, pass func(doc.Node) bool) bool {
	return c.firstNot(n, element, pass) == doc.None
}

// firstNot returns the first item of the element that does not pass.
func (c *Checker) firstNot(n doc.Node, element string, pass func(doc.Node) bool) doc.Node {
	for v := c.first(n, element); v != doc.None; v = c.next(v) {
		if !pass(v) {
			return v
		}
	}
	return doc.None
}

// hasCoding reports whether one of the concepts of the element has the coding.
func (c *Checker) hasCoding(n doc.Node, element, system string, codes ...string) bool {
	for concept := c.first(n, element); concept != doc.None; concept = c.next(concept) {
		for k := c.first(concept, "coding"); k != doc.None; k = c.next(k) {
			if c.is(k, "system", system) && c.is(k, "code", codes...) {
				return true
			}
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

// after returns the first node that does not stand in n.
func (c *Checker) after(n doc.Node) doc.Node {
	for n != doc.None {
		if next := c.d.Next(n); next != doc.None {
			return next
		}
		n = c.d.Parent(n)
	}
	return doc.Node(c.d.Len())
}

// duplicate returns a node of c.sorted whose text another one before it has,
// or doc.None. It reorders c.sorted.
func (c *Checker) duplicate() doc.Node {
	d := c.d
	slices.SortFunc(c.sorted, func(a, b doc.Node) int {
		if order := bytes.Compare(d.Str(a), d.Str(b)); order != 0 {
			return order
		}
		return int(a - b)
	})
	worst := doc.None
	for i := 1; i < len(c.sorted); i++ {
		if bytes.Equal(d.Str(c.sorted[i-1]), d.Str(c.sorted[i])) && (worst == doc.None || c.sorted[i] < worst) {
			worst = c.sorted[i]
		}
	}
	return worst
}

func (c *Checker) compareTexts(a, b doc.Node) int { return bytes.Compare(c.d.Str(a), c.d.Str(b)) }

// hasText reports whether one of the sorted nodes has the text.
func (c *Checker) hasText(sorted []doc.Node, text []byte) bool {
	_, found := slices.BinarySearchFunc(sorted, text, func(m doc.Node, text []byte) int {
		return bytes.Compare(c.d.Str(m), text)
	})
	return found
}

// sortTexts puts the texts that get returns for each item of the element into
// c.sorted.
func (c *Checker) sortTexts(n doc.Node, element string, get func(doc.Node) doc.Node) {
	c.sorted = c.sorted[:0]
	for v := c.first(n, element); v != doc.None; v = c.next(v) {
		if m := get(v); c.d.Kind(m) == doc.String {
			c.sorted = append(c.sorted, m)
		}
	}
	slices.SortFunc(c.sorted, c.compareTexts)
}

// duplicateOf returns an item of the list whose element has the value of an
// item before.
func (c *Checker) duplicateOf(n doc.Node, list, element string) doc.Node {
	c.sorted = c.sorted[:0]
	for v := c.first(n, list); v != doc.None; v = c.next(v) {
		if e := c.first(v, element); c.d.Kind(e) == doc.String {
			c.sorted = append(c.sorted, e)
		}
	}
	return c.duplicate()
}

// gather puts every value of the element anywhere in n into c.sorted.
func (c *Checker) gather(n doc.Node, t structure.Type, element string) {
	c.sorted = c.sorted[:0]
	for m, end := n+1, c.after(n); m < end; m++ {
		if c.s.TypeOf(m) != t {
			continue
		}
		if e := c.s.Child(m, element); c.d.Kind(e) == doc.String {
			c.sorted = append(c.sorted, e)
		}
	}
}
