package invariant

import (
	"runsheet.example/validate/doc"
	"runsheet.example/validate/structure"
)

// unreferenced is dom-3: the containing resource refers to each contained one, or
// the contained one refers to it by "#". It returns the first contained resource
// with an id of which neither is true.
func (c *Checker) unreferenced(n doc.Node) doc.Node {
	first := c.s.First(n, "contained")
	if first == doc.None {
		return doc.None
	}
	c.gatherLocal(n)
	for r := first; r != doc.None; r = c.d.NextItem(r) {
		id := c.text(r, "id")
		if id == nil || c.local[string(id)] || c.refersToContainer(r) {
			continue
		}
		return r
	}
	return doc.None
}

// gatherLocal puts the ids of all local references in n into c.local: the
// reference of References and whatever is a canonical, a uri or a url.
func (c *Checker) gatherLocal(n doc.Node) {
	clear(c.local)
	for m, end := n+1, c.after(n); m < end; m++ {
		if c.isLocalReference(m) {
			c.local[string(c.d.Str(m)[1:])] = true
		}
	}
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

// contains reports whether the resource contains one of that id, of whatever
// type.
func (c *Checker) contains(resource doc.Node, id []byte) bool {
	if c.container != resource {
		c.container = resource
		clear(c.contained)
		for r := c.s.First(resource, "contained"); r != doc.None; r = c.d.NextItem(r) {
			if n := c.d.Get(r, "id"); c.d.Kind(n) == doc.String {
				c.contained[string(c.d.Str(n))] = true
			}
		}
	}
	return c.contained[string(id)]
}

func (c *Checker) refersToContainer(r doc.Node) bool {
	for m, end := r+1, c.after(r); m < end; m++ {
		if len(c.d.Str(m)) == 1 && c.isLocalReference(m) {
			return true
		}
	}
	return false
}

// isContainedHere is ref-1: a local reference has its resource in what the
// outermost resource around it contains. "#" alone is that resource itself.
func (c *Checker) isContainedHere(n doc.Node) bool {
	reference := c.text(n, "reference")
	return len(reference) < 2 || reference[0] != '#' || c.contains(c.rootResourceOf(n), reference[1:])
}
