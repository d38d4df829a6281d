package profile

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/resources"
	"runsheet.example/validate/structure"
)

// item is one occurrence of an element: its value, and for a primitive its
// extension; a primitive with extensions only has them in both fields.
type item struct{ node, extension doc.Node }

// holder is the object with the children of an item, or doc.None.
func (c *Checker) holder(it item) doc.Node {
	if c.d.Kind(it.node) == doc.Object {
		return it.node
	}
	return it.extension
}

// items appends the occurrences of an element in an object.
func (c *Checker) items(out []item, holder doc.Node, name string) []item {
	d := c.d
	m := c.s.Child(holder, name)
	if m == doc.None {
		m = d.Get(holder, name) // name with type: valueQuantity
	}
	if m == doc.None {
		return out
	}
	key, extension := string(d.Key(m)), doc.None
	if key[0] == '_' {
		extension = m
	} else if k := d.Kind(m); k != doc.Object {
		extension = d.Get(holder, "_"+key)
	}
	if d.Kind(m) != doc.Array {
		return c.item(out, m, extension)
	}
	index := 0
	for i := d.FirstChild(m); i != doc.None; i = d.Next(i) {
		beside := extension
		if extension != doc.None {
			beside = d.Item(extension, index)
		}
		out = c.item(out, i, beside)
		index++
	}
	return out
}

func (c *Checker) item(out []item, n, extension doc.Node) []item {
	if c.d.Kind(extension) != doc.Object {
		extension = doc.None
	}
	if c.d.Kind(n) == doc.Null {
		if extension == doc.None {
			return out
		}
		n = extension
	}
	return append(out, item{n, extension})
}

// check checks one occurrence of an element.
func (c *Checker) check(e *element, it item) {
	if !c.spend() {
		return
	}
	if e.narrowed {
		c.types(e, it)
	}
	if e.fixed != nil {
		c.value(e, it, e.fixed, "profile-fixed")
	}
	if e.pattern != nil {
		c.value(e, it, e.pattern, "profile-pattern")
	}
	if e.valueSet != "" {
		c.binding(e, it.node)
	}
	if e.wide != "" {
		c.extensible(e, it.node)
	}
	for i := range e.limits {
		c.limit(e, &e.limits[i], it.node)
	}
	for i := range e.rules {
		c.invariant(&e.rules[i], it.node)
	}
	if e.hasProfile() {
		c.typeProfiles(e, it)
	}
	c.below(e, it)
	if e.content != nil {
		c.repeated++
		c.below(e.content, it)
		c.repeated--
	}
}

// below checks the child elements of an occurrence.
func (c *Checker) below(e *element, it item) {
	if len(e.children) == 0 {
		return
	}
	holder := c.holder(it)
	for _, child := range e.children {
		var room [8]item
		items := room[:0]
		switch {
		case child.name == "value" && it.node != it.extension && c.s.TypeOf(it.node).IsPrimitive():
			items = append(items, item{it.node, doc.None}) // a profile may refer to the value of a primitive
		case holder != doc.None:
			items = c.items(items, holder, child.name)
		}
		at := holder
		if at == doc.None {
			at = it.node
		}
		c.count(child, items, at)
		for _, i := range items {
			c.check(child, i)
		}
		if child.slicing != nil {
			c.slices(child, items, at)
		}
	}
}

// count checks the number of occurrences of an element.
func (c *Checker) count(e *element, items []item, in doc.Node) {
	if c.opts.MustSupport && e.must && len(items) == 0 && c.silent == 0 {
		c.send(c.d.Finding(in, "profile-must-support", issue.T("absent, and marked must-support: {}", c.naming(e))))
	}
	if !e.counted || e.slice != "" {
		return
	}
	switch {
	case c.endless(e):
	case len(items) == 0 && e.hasMandatorySlice():
		// the finding about the slice is more specific
	case len(items) < e.min:
		f := c.finding(in, "profile-cardinality", issue.T("too few of {}", c.naming(e)))
		if len(items) == 0 {
			f.Details = issue.T("missing: {}", c.naming(e))
		}
		f.Value, f.Expected = strconv.Itoa(len(items)), issue.T("at least {}", e.min)
		c.send(f)
	case e.max == 0 && len(items) > 0:
		c.complain(items[0].node, "profile-cardinality", issue.T("the profile does not allow {}", c.naming(e)), "", issue.T("none"))
	case e.max >= 0 && len(items) > e.max:
		c.complain(items[e.max].node, "profile-cardinality", issue.T("too many of {}", c.naming(e)), strconv.Itoa(len(items)), issue.T("at most {}", e.max))
	}
}

// endless reports an element reached through its own content reference. A
// mandatory child would be required again at every level, without end.
func (c *Checker) endless(e *element) bool { return c.repeated > 0 && e.content != nil }

// value compares an occurrence with a fixed value or pattern.
func (c *Checker) value(e *element, it item, w *wanted, rule string) {
	x := c.compare(it.node, w, rule == "profile-fixed")
	if x.none() {
		return
	}
	f := c.finding(x.at, rule, issue.T("the value is not the one asked for by {}", c.naming(e)))
	if x.path != "" {
		f.Details = f.Details.And(issue.T("it differs in {}", x.path))
	}
	f.Expected = issue.Literal(x.want)
	if x.seen {
		f.Value = c.code(x.at)
	}
	c.send(f)
}

// typeProfiles checks the profiles on the type of an occurrence, and those on
// the target of a reference.
func (c *Checker) typeProfiles(e *element, it item) {
	name := c.typeName(e, it)
	for i := range e.types {
		t := &e.types[i]
		if t.code != name && len(e.types) > 1 {
			continue
		}
		if len(t.profiles) > 0 {
			c.typeProfile(e, it, t.profiles)
		}
		if len(t.targets) > 0 && name == "Reference" {
			c.target(e, it.node, t.targets)
		}
		if t.isHeld() {
			c.place(e, t, it.node)
		}
	}
}

// typeProfile checks that an occurrence conforms to one of several profiles.
func (c *Checker) typeProfile(e *element, it item, urls []string) {
	var candidates []*profile
	for _, url := range urls {
		p := c.known(url, it.node)
		if p == nil || p.root == nil {
			return // not certain that none matches
		}
		candidates = append(candidates, p)
	}
	if len(candidates) == 1 {
		c.nested(candidates[0], it)
		return
	}
	var first verdict
	for i, p := range candidates {
		v := c.quietly(func() { c.nested(p, it) })
		if v.conforms {
			return
		}
		if i == 0 {
			first = v
		}
	}
	c.complain(it.node, "profile-reference", issue.T("the value conforms to none of the profiles of {}{}", c.naming(e), because(first)), "", issue.Or(urls))
}

// nested checks an occurrence against the profile of its type.
func (c *Checker) nested(p *profile, it item) {
	if len(c.within) >= maxWithin {
		return
	}
	before, at := c.profile, c.at
	c.profile = p
	if c.silent == 0 && c.s.TypeOf(it.node) == structure.Extension {
		c.extended[frame{p, it.node}] = true
	}
	c.within = append(c.within, frame{p, it.node})
	if c.s.TypeOf(it.node).IsResource() {
		c.at = c.indexOf(it.node)
	}
	c.check(p.root, it)
	c.within = c.within[:len(c.within)-1]
	c.profile, c.at = before, at
}

// indexOf finds the index of a resource by its node.
func (c *Checker) indexOf(n doc.Node) int {
	// Resources and their nodes are in document order.
	at, found := slices.BinarySearchFunc(c.rec.Resources, n, func(r resources.Resource, n doc.Node) int { return cmp.Compare(r.Node, n) })
	if !found {
		return c.at
	}
	return at
}

// because returns the fault that prevents a profile from matching.
func because(v verdict) string {
	if v.fault == nil {
		return ""
	}
	return fmt.Sprintf(" (first: %s, at %s)", v.fault.Details, v.fault.Expression)
}

// mild sets the severity of a finding to that of its constraint.
func mild(f *issue.Finding, isWarning bool) {
	if isWarning {
		f.Severity = issue.Warning
	}
}
