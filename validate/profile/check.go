package profile

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/record"
	"runsheet.example/validate/structure"
)

// item is one occurrence of an element: its value, and for a primitive what
// stands beside it; a primitive with nothing but extensions has that in both.
type item struct{ node, twin doc.Node }

// holder is the object that holds what is below an item, or doc.None.
func (c *Checker) holder(it item) doc.Node {
	if c.d.Kind(it.node) == doc.Object {
		return it.node
	}
	return it.twin
}

// items appends the occurrences of an element in an object.
func (c *Checker) items(out []item, holder doc.Node, name string) []item {
	d := c.d
	m := c.s.Child(holder, name)
	if m == doc.None {
		m = d.Get(holder, name) // named with its type: valueQuantity
	}
	if m == doc.None {
		return out
	}
	key, twin := string(d.Key(m)), doc.None
	if key[0] == '_' {
		twin = m
	} else if k := d.Kind(m); k != doc.Object {
		twin = d.Get(holder, "_"+key)
	}
	if d.Kind(m) != doc.Array {
		return c.item(out, m, twin)
	}
	index := 0
	for i := d.FirstChild(m); i != doc.None; i = d.Next(i) {
		beside := twin
		if twin != doc.None {
			beside = d.Item(twin, index)
		}
		out = c.item(out, i, beside)
		index++
	}
	return out
}

func (c *Checker) item(out []item, n, twin doc.Node) []item {
	if c.d.Kind(twin) != doc.Object {
		twin = doc.None
	}
	if c.d.Kind(n) == doc.Null {
		if twin == doc.None {
			return out
		}
		n = twin
	}
	return append(out, item{n, twin})
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
	for i := range e.rules {
		c.invariant(&e.rules[i], it.node)
	}
	if e.hasProfile() {
		c.typeProfiles(e, it)
	}
	c.below(e, it)
	if e.content != nil {
		c.below(e.content, it)
	}
}

// below checks the elements in an occurrence of an element.
func (c *Checker) below(e *element, it item) {
	if len(e.children) == 0 {
		return
	}
	holder := c.holder(it)
	for _, child := range e.children {
		var room [8]item
		items := room[:0]
		if holder != doc.None {
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

// count checks how often an element occurs.
func (c *Checker) count(e *element, items []item, in doc.Node) {
	if c.opts.MustSupport && e.must && len(items) == 0 && c.silent == 0 {
		f := c.d.Finding(in, "profile-must-support")
		f.Details = "absent, and marked must-support: " + c.naming(e)
		c.send(f)
	}
	if !e.counted || e.slice != "" {
		return
	}
	switch {
	case len(items) == 0 && e.hasMandatorySlice():
		// the slice is told, which says more
	case len(items) < e.min:
		f := c.finding(in, "profile-cardinality")
		f.Details = "too few of " + c.naming(e)
		if len(items) == 0 {
			f.Details = "missing: " + c.naming(e)
		}
		f.Value, f.Expected = strconv.Itoa(len(items)), "at least "+strconv.Itoa(e.min)
		c.send(f)
	case e.max == 0 && len(items) > 0:
		f := c.finding(items[0].node, "profile-cardinality")
		f.Details, f.Expected = "the profile does not allow "+c.naming(e), "none"
		c.send(f)
	case e.max >= 0 && len(items) > e.max:
		f := c.finding(items[e.max].node, "profile-cardinality")
		f.Details = "too many of " + c.naming(e)
		f.Value, f.Expected = strconv.Itoa(len(items)), "at most "+strconv.Itoa(e.max)
		c.send(f)
	}
}

// typeName is the FHIR type of an occurrence. A choice with nothing but
// extensions has it in the member's name only.
func (c *Checker) typeName(e *element, it item) string {
	if it.node != it.twin {
		return c.typeOf(it.node)
	}
	key := strings.TrimPrefix(string(c.d.Key(it.node)), "_")
	suffix, ok := strings.CutPrefix(key, e.name)
	if !ok || suffix == "" {
		return ""
	}
	return strings.ToLower(suffix[:1]) + suffix[1:]
}

// typeOf is the FHIR type of a value. A profile of a type that R4 names where it
// uses it is that type (FHIR R4 4.0.1, SimpleQuantity).
func (c *Checker) typeOf(n doc.Node) string {
	switch t := c.s.TypeOf(n); t {
	case structure.SimpleQuantity:
		return structure.Quantity.String()
	default:
		return t.String()
	}
}

// types checks the type of a choice or of a resource.
func (c *Checker) types(e *element, it item) {
	name := c.typeName(e, it)
	if name == "" || e.takes(name, c.s.TypeOf(it.node)) {
		return
	}
	f := c.finding(it.node, "profile-type")
	f.Details, f.Value = "the type is none that "+c.naming(e)+" takes", name
	var names []string
	for _, t := range e.types {
		names = append(names, t.code)
	}
	f.Expected = strings.Join(names, " or ")
	c.send(f)
}

// takes reports whether the element may be of a type.
func (e *element) takes(name string, t structure.Type) bool {
	for i := range e.types {
		switch code := e.types[i].code; {
		case code == name, code == "Resource", code == "*", strings.HasPrefix(code, "http://hl7.org/fhirpath/"):
			return true
		case code == "DomainResource" && t.IsDomainResource():
			return true
		case code == "Element" || code == "BackboneElement":
			return true
		}
	}
	return len(e.types) == 0
}

// value compares an occurrence with a fixed value or pattern.
func (c *Checker) value(e *element, it item, w *wanted, rule string) {
	x := c.compare(it.node, w, rule == "profile-fixed")
	if x.none() {
		return
	}
	f := c.finding(x.at, rule)
	f.Details = "the value is not the one asked for by " + c.naming(e)
	if x.path != "" {
		f.Details += "; it differs in " + x.path
	}
	f.Expected = x.want
	if x.seen {
		f.Value = c.code(x.at)
	}
	c.send(f)
}

// typeProfiles checks the profiles on the type of an occurrence, and on what
// a reference leads to.
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
	}
}

// typeProfile checks that an occurrence conforms to one of some profiles.
func (c *Checker) typeProfile(e *element, it item, urls []string) {
	var candidates []*profile
	for _, url := range urls {
		p := c.known(url, it.node)
		if p == nil || p.root == nil {
			return // it cannot be said that none fits
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
	f := c.finding(it.node, "profile-reference")
	f.Details = "the value conforms to none of the profiles of " + c.naming(e) + because(first)
	f.Expected = strings.Join(urls, " or ")
	c.send(f)
}

// nested checks an occurrence against the profile of its type.
func (c *Checker) nested(p *profile, it item) {
	if len(c.within) >= maxWithin {
		return
	}
	before, at := c.profile, c.at
	c.profile = p
	c.within = append(c.within, frame{p, it.node})
	if c.s.TypeOf(it.node).IsResource() {
		c.at = c.indexOf(it.node)
	}
	c.check(p.root, it)
	c.within = c.within[:len(c.within)-1]
	c.profile, c.at = before, at
}

// indexOf finds a resource by its node.
func (c *Checker) indexOf(n doc.Node) int {
	// Resources are in document order, and so are their nodes.
	at, found := slices.BinarySearchFunc(c.rec.Resources, n, func(r record.Resource, n doc.Node) int { return cmp.Compare(r.Node, n) })
	if !found {
		return c.at
	}
	return at
}

// because names the fault that kept a profile from fitting.
func because(v verdict) string {
	if v.fault == nil {
		return ""
	}
	return fmt.Sprintf(" (first: %s, at %s)", v.fault.Details, v.fault.Expression)
}

// target checks what a reference leads to against the profiles it must
// conform to one of: in the document the resource itself, elsewhere its type
// as far as the reference names it.
func (c *Checker) target(e *element, n doc.Node, urls []string) {
	reference := c.d.Get(n, "reference")
	text := c.d.Str(reference)
	if len(text) == 0 {
		return
	}
	to, outcome := c.rec.ResolveText(text, c.at)
	typ := string(record.TargetType(text))
	if outcome == record.Found {
		typ = c.rec.Resources[to].Type
	}
	if _, isType := structure.ResourceType([]byte(typ)); !isType {
		return
	}
	var first verdict
	fits, judged := false, false
	for _, url := range urls {
		p := c.known(url, n)
		if p == nil || p.isBase && (p.typ == "Resource" || p.typ == "DomainResource") {
			return
		}
		if p.typ != typ {
			continue
		}
		fits = true
		if outcome != record.Found || p.isBase {
			return
		}
		v := c.conformsTo(p, to)
		if v.conforms {
			return
		}
		if !judged {
			first, judged = v, true
		}
	}
	if c.isAllowedInR4(n, urls) {
		return // the reference layer tells the same
	}
	f := c.finding(reference, "profile-reference")
	f.Details = "the reference leads to a type of resource that " + c.naming(e) + " does not take"
	if fits {
		f.Details = "the resource referred to does not conform to what " + c.naming(e) + " asks for" + because(first)
	}
	f.Value, f.Expected = typ, strings.Join(urls, " or ")
	c.send(f)
}

// isAllowedInR4 reports a reference whose targets are exactly those of R4.
func (c *Checker) isAllowedInR4(n doc.Node, urls []string) bool {
	allowed := c.s.AllowedTargets(n)
	if len(allowed) != len(urls) {
		return false
	}
	for _, t := range allowed {
		in := false
		for _, url := range urls {
			in = in || url == coreBase+t.String()
		}
		if !in {
			return false
		}
	}
	return true
}

// mild gives a finding of a constraint its severity.
func mild(f *issue.Finding, isWarning bool) {
	if isWarning {
		f.Severity = issue.Warning
	}
}
