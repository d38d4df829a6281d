package schema

import (
	"runsheet.example/validate/doc"
)

// certifier tells quickly that a document is valid. It asks the engine about
// the parts of the document, one by one: the set of member names of each
// object, and each value that is no container. What was found valid is
// remembered, for a record repeats its codes, units and references on every
// page. As no definition says more of an object than what its member names and
// each of its members may be (see plan), the document is valid when all its
// parts are.
//
// It has no findings of its own: where it does not say yes, the engine is
// asked about the document as a whole.
type certifier struct {
	definitions *definitions
	doc         *doc.Doc

	resources map[string]*plan // by resourceType
	names     map[nameSet]struct{}
	values    memory
}

// nameSet is a set of members of a plan.
type nameSet struct {
	of      *plan
	members [maxMembers / 64]uint64
}

// maxNameSets is far more than the shapes any real data has.
const maxNameSets = 1 << 12

func newCertifier(ds *definitions) *certifier {
	return &certifier{definitions: ds, resources: map[string]*plan{}, names: map[nameSet]struct{}{}}
}

// isValid reports whether the document is certainly valid.
func (c *certifier) isValid(d *doc.Doc) bool {
	c.doc = d
	defer func() { c.doc = nil }()
	return c.resource(d.Root())
}

func (c *certifier) resource(n doc.Node) bool {
	name := c.doc.Str(c.doc.Get(n, "resourceType"))
	p, met := c.resources[string(name)]
	if !met {
		if !c.definitions.isResource(string(name)) {
			return false
		}
		p = c.definitions.plans.of(string(name))
		c.resources[string(name)] = p
	}
	return c.object(p, n)
}

func (c *certifier) object(p *plan, n doc.Node) bool {
	if p == nil || c.doc.Kind(n) != doc.Object {
		return false
	}
	set := nameSet{of: p}
	for child := c.doc.FirstChild(n); child != doc.None; child = c.doc.Next(child) {
		m := p.members[string(c.doc.Key(child))]
		if m == nil {
			return false
		}
		word, bit := m.index/64, uint64(1)<<(m.index%64)
		if set.members[word]&bit != 0 {
			return false // the name stands twice
		}
		set.members[word] |= bit
		if !c.member(m, child) {
			return false
		}
	}
	return c.nameSet(set)
}

func (c *certifier) member(m *member, n doc.Node) bool {
	if !m.isArray {
		return c.value(m, n)
	}
	if c.doc.Kind(n) != doc.Array {
		return false
	}
	for item := c.doc.FirstChild(n); item != doc.None; item = c.doc.Next(item) {
		if !c.value(m, item) {
			return false
		}
	}
	return true
}

func (c *certifier) value(m *member, n doc.Node) bool {
	switch {
	case m.leaf != nil:
		return c.leaf(m.leaf, n)
	case m.isResource:
		return c.resource(n)
	default:
		return c.object(c.definitions.plans.ofMember(m), n)
	}
}

// nameSet asks whether an object may have these members and no others.
func (c *certifier) nameSet(set nameSet) bool {
	if _, known := c.names[set]; known {
		return true
	}
	object := map[string]any{}
	for name, m := range set.of.members {
		if set.members[m.index/64]&(1<<(m.index%64)) != 0 {
			object[name] = nil
		}
	}
	if set.of.names.Validate(object) != nil {
		return false
	}
	if len(c.names) < maxNameSets {
		c.names[set] = struct{}{}
	}
	return true
}

// leaf asks about a value that is no container.
func (c *certifier) leaf(l *leaf, n doc.Node) bool {
	kind := c.doc.Kind(n)
	if kind == doc.Object || kind == doc.Array {
		return false
	}
	var text []byte
	switch kind {
	case doc.String:
		text = c.doc.Str(n)
	case doc.Bool:
		text = c.doc.Raw(n)
	}
	if c.values.has(l, kind, text) {
		return true
	}
	value, whole := valueOf(c.doc, n)
	if !whole || l.schema.Validate(value) != nil {
		return false
	}
	c.values.keep(l, kind, text)
	return true
}
