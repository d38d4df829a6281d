package invariant

import (
	"bytes"
	"slices"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/structure"
)

// domainRules are those of every DomainResource.
var domainRules = []rule{
	{key: "dom-6", holds: func(c *checker, n node) bool { return c.has(c.s.Child(n, "text"), "div") }},
}

// containedRules are those of every DomainResource about what it contains.
var containedRules = []rule{
	{key: "dom-2", fault: func(c *checker, n node) doc.Node {
		return c.firstNot(n, "contained", func(r node) bool { return !c.has(r, "contained") })
	}},
	{key: "dom-3", fault: (*checker).unreferenced},
	{key: "dom-4", fault: func(c *checker, n node) doc.Node {
		return c.firstNot(n, "contained", func(r node) bool { return !c.hasAny(c.first(r, "meta"), "versionId", "lastUpdated") })
	}},
	{key: "dom-5", fault: func(c *checker, n node) doc.Node {
		return c.firstNot(n, "contained", func(r node) bool { return !c.has(c.first(r, "meta"), "security") })
	}},
}

// unreferenced is dom-3: a contained resource is referred to from somewhere in
// the resource around it, or refers to that resource itself by "#". It returns
// the first that is neither. A contained resource without id cannot be asked.
func (c *Checker) unreferenced(n doc.Node) doc.Node {
	first := c.first(n, "contained")
	if first == doc.None {
		return doc.None
	}
	c.gatherLocal(n)
	for r := first; r != doc.None; r = c.next(r) {
		id := c.text(r, "id")
		if id == nil || c.isReferenced(id) || c.refersToContainer(r) {
			continue
		}
		return r
	}
	return doc.None
}

// gatherLocal puts every local reference in n into c.sorted: the reference of
// References and whatever is a canonical, a uri or a url.
func (c *Checker) gatherLocal(n doc.Node) {
	c.sorted = c.sorted[:0]
	for m, end := n+1, c.after(n); m < end; m++ {
		if c.isLocalReference(m) {
			c.sorted = append(c.sorted, m)
		}
	}
	slices.SortFunc(c.sorted, c.compareTexts)
}

func (c *Checker) isLocalReference(m doc.Node) bool {
	text := c.d.Str(m)
	if len(text) == 0 || text[0] != '#' {
		return false
	}
	switch c.s.TypeOf(m) {
	case structure.Canonical, structure.Uri, structure.Url:
		return true
	}
	return string(c.d.Key(m)) == "reference"
}

func (c *Checker) isReferenced(id []byte) bool {
	_, found := slices.BinarySearchFunc(c.sorted, id, func(m doc.Node, id []byte) int {
		return bytes.Compare(c.d.Str(m)[1:], id)
	})
	return found
}

// contains reports whether the resource contains one of that id, of whatever
// type.
func (c *Checker) contains(resource doc.Node, id []byte) bool {
	d := c.d
	if c.container != resource {
		c.container, c.contained = resource, c.contained[:0]
		for r := c.first(resource, "contained"); r != doc.None; r = c.next(r) {
			if n := d.Get(r, "id"); d.Kind(n) == doc.String {
				c.contained = append(c.contained, n)
			}
		}
		slices.SortFunc(c.contained, c.compareTexts)
	}
	return c.hasText(c.contained, id)
}

func (c *Checker) refersToContainer(r doc.Node) bool {
	for m, end := r+1, c.after(r); m < end; m++ {
		if len(c.d.Str(m)) == 1 && c.isLocalReference(m) {
			return true
		}
	}
	return false
}

// isComputerName is the rule that conformance resources share: the name is
// usable as an identifier. The published expression does not anchor its
// pattern, so that some engines take any name with a capital letter in it;
// its words, and the standard's own validator, ask for the whole name.
func isComputerName(c *checker, n node) bool {
	name := c.text(n, "name")
	if name == nil {
		return true
	}
	if len(name) > 255 || name[0] < 'A' || name[0] > 'Z' {
		return false
	}
	for _, b := range name {
		if !isLetterOrDigit(b) && b != '_' {
			return false
		}
	}
	return true
}

func isLetterOrDigit(b byte) bool {
	return 'a' <= b && b <= 'z' || 'A' <= b && b <= 'Z' || '0' <= b && b <= '9'
}
