package structure

import (
	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
)

// resource checks a value that must be a resource, by its own resourceType.
func (c *Checker) resource(n doc.Node) {
	d := c.doc
	if d.Kind(n) != doc.Object {
		c.reportAs(n, "r4-type", "a resource is expected here", d.Kind(n).String(), "object")
		return
	}
	name := d.Get(n, "resourceType")
	if name == doc.None {
		c.report(n, "r4-resource-type", "resourceType is missing, so that nothing else can be checked")
		return
	}
	if text := d.Str(name); c.latest == 0 || c.latest.String() != string(text) {
		t, ok := ResourceType(text)
		if !ok {
			c.reportAs(name, "r4-resource-type", "no resource type of R4 has this name", c.doc.Excerpt(name), "")
			return
		}
		c.latest = t
	}
	c.resources = append(c.resources, n)
	c.object(n, c.latest)
}

// object checks the members of an object of a known type.
func (c *Checker) object(n doc.Node, t Type) {
	d := c.doc
	c.types[n] = t
	c.list(n, t)
	m := d.FirstChild(n)
	if m == doc.None {
		c.report(n, "r4-empty", "the object has no members")
		return
	}
	var seen, members uint64
	after := typeTable[t].rows - 1 // the row before the first row of the type means none
	for ; m >= 0; m = d.Next(m) {
		key := d.Key(m)
		if string(key) == "id" {
			c.identified = append(c.identified, m)
		}
		row := c.find(t, after, key, m)
		if row != 0 {
			after = row
			c.rows[m] = row
			c.member(m, row)
		} else if row = c.unlisted(m, key, t); row == 0 {
			continue
		}
		r := &elementTable[row]
		members |= 1 << r.filter
		if r.bit == noBit {
			continue
		}
		if seen&(1<<r.bit) != 0 && r.isChoice() {
			c.checkRivals(m, row)
		}
		seen |= 1 << r.bit
	}
	c.members[n] = members
	if missing := typeTable[t].requiredBits &^ seen; missing != 0 {
		c.reportMissing(n, t, missing)
	}
	c.whole(n, t)
}

// find returns the row of a member name in the type. Most objects of a type
// have the same members in the same order, so it first tries the row that
// followed last time.
func (c *Checker) find(t Type, after uint16, key []byte, m doc.Node) uint16 {
	guess := c.follows[after]
	if tr := &typeTable[t]; guess >= tr.rows && guess < tr.rowsEnd && elementTable[guess].isNamed(key) {
		return guess
	}
	row := t.find(key, c.doc.KeyHash(m))
	if row != 0 {
		c.follows[after] = row
	}
	return row
}

// unlisted checks a member that is not an element: a primitive extension,
// resourceType, or an undefined member. It returns the row of a primitive
// extension.
func (c *Checker) unlisted(m doc.Node, key []byte, t Type) uint16 {
	if len(key) > 1 && key[0] == '_' {
		name := key[1:]
		if row := t.find(name, doc.Hash(name)); row != 0 && elementTable[row].mayHaveExtension() {
			c.rows[m] = row
			c.primitiveExtension(m, row)
			return row
		}
	}
	if t.IsResource() && string(key) == "resourceType" {
		return 0
	}
	c.reportUnknown(m, t)
	return 0
}

// mayHaveExtension reports whether the element is a primitive with id and extensions
// beside it. XHTML takes no extensions, and its id is an attribute in it
// (FHIR R4 4.0.1, StructureDefinition xhtml).
func (r *elementRow) mayHaveExtension() bool {
	return r.typ.IsPrimitive() && r.typ != Xhtml && r.flags&flagPlain == 0
}

// nameOf is the member name in a finding.
func (c *Checker) nameOf(m doc.Node) string {
	const enough = 80
	key := c.doc.Key(m)
	return string(key[:min(len(key), enough)])
}

func (c *Checker) reportUnknown(m doc.Node, t Type) {
	c.send(func() issue.Finding {
		f := c.doc.Finding(m, "r4-unknown-element", issue.Text{})
		f.Expression = c.doc.MemberPath(m)
		f.Details, f.Value = issue.T("the element is none of {}", t.String()), c.nameOf(m)
		return f
	})
}

// checkRivals reports a choice that already has a value of another type.
func (c *Checker) checkRivals(m doc.Node, row uint16) {
	d := c.doc
	r := &elementTable[row]
	for o := d.FirstChild(d.Parent(m)); o != m && d.Index(o) < mostMembers; o = d.Next(o) {
		if other := c.rows[o]; other != 0 && other != row && elementTable[other].bit == r.bit {
			c.reportAs(m, "r4-choice", "{}[x] is present with more than one type", c.nameOf(m), "only one of the two", r.element())
			return
		}
	}
}

func (c *Checker) reportMissing(n doc.Node, t Type, missing uint64) {
	tr := &typeTable[t]
	for i := tr.rows; i < tr.rowsEnd; i++ {
		r := &elementTable[i]
		if r.bit == noBit || missing&(1<<r.bit) == 0 {
			continue
		}
		missing &^= 1 << r.bit // one report for all types of a choice
		name := r.element()
		if r.isChoice() {
			name += "[x]"
		}
		c.reportAs(n, "r4-required", "the required element {} is missing", "", name, name)
	}
}

// member checks the value of a member against its element.
func (c *Checker) member(m doc.Node, row uint16) {
	r := &elementTable[row]
	isArray := c.doc.Kind(m) == doc.Array
	switch {
	case isArray && r.isArray():
		c.items(m, row)
	case isArray:
		c.reportAs(m, "r4-array", "the element stands once, not in an array", "array", typeTable[r.typ].name)
	case r.isArray():
		c.reportAs(m, "r4-array", "the element may repeat, so it stands in an array", c.doc.Kind(m).String(), "array")
		c.value(m, r)
	default:
		c.value(m, r)
	}
}

// items checks the items of an array. A null is legal only where the primitive
// extension array holds extensions for an item without value.
func (c *Checker) items(array doc.Node, row uint16) {
	d := c.doc
	r := &elementTable[row]
	item := d.FirstChild(array)
	if item == doc.None {
		c.report(array, "r4-empty", "the array has no items")
	}
	if c.isAnotherList(array, r) {
		return
	}
	mayBeNull := false
	for ; item >= 0; item = d.Next(item) {
		c.rows[item] = row
		if d.Kind(item) != doc.Null || d.Malformed(item) {
			c.value(item, r)
			continue
		}
		if !mayBeNull && (!r.typ.IsPrimitive() || c.extensionsOf(array) == doc.None) {
			c.report(item, "r4-null", "null stands where a value is expected")
			return
		}
		mayBeNull = true
	}
}

// isAnotherList reports, once and at the array, that all items have one kind
// and that the element requires another: then the list is wrong, not each
// item.
func (c *Checker) isAnotherList(array doc.Node, r *elementRow) bool {
	d := c.doc
	want := doc.Object
	if r.typ.IsPrimitive() {
		want = kindOf(r.typ)
	}
	first := d.FirstChild(array)
	if d.Count(array) < 2 || d.Kind(first) == want || d.Kind(first) == doc.Null {
		return false
	}
	for item := first; item >= 0; item = d.Next(item) {
		if d.Kind(item) != d.Kind(first) || d.Malformed(item) {
			return false
		}
	}
	c.reportAs(array, "r4-type", "in this array each item is expected to be {}", "array of "+d.Kind(first).String(), typeTable[r.typ].name, article(want))
	return true
}

// article returns a kind with its article.
func article(k doc.Kind) string {
	if k == doc.Object {
		return "an object"
	}
	return "a " + k.String()
}

// value checks one value that is not an array.
func (c *Checker) value(n doc.Node, r *elementRow) {
	k := c.doc.Kind(n)
	switch {
	case c.doc.Malformed(n):
	case k == doc.Null:
		c.report(n, "r4-null", "null stands where a value is expected")
	case r.typ.IsPrimitive():
		c.primitive(n, r)
	case r.typ == Resource:
		c.resource(n)
	case k == doc.Object:
		c.object(n, r.typ)
		if r.valueSet != 0 {
			c.checkConcept(n, r)
		}
	default:
		c.reportAs(n, "r4-type", "an object is expected here", k.String(), typeTable[r.typ].name)
	}
}
