// Package structure checks a document against the structure of FHIR R4 4.0.1:
// the elements of all resource types and datatypes, their cardinality and
// types, choices, primitive extensions (_status), nulls and empty values, the
// format of every primitive, value sets of required bindings, and the XHTML of
// narratives. Resources in Bundle entries, Parameters and contained are
// checked by their own types.
//
// The tables (table_*.go) are generated from the definitions of the standard;
// they are constant data without a cost at start.
//
// A [Checker] records the type of every node, so that later packages need no
// tables of their own ([Checker.TypeOf], [Checker.Child]). The package does
// not check invariants, the resolution of references, units, codes outside
// required bindings, profiles.
package structure

import (
	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
)

// maxFindings limits the number of findings for a document full of faults.
const maxFindings = 1000

// Checker checks documents one after another and reuses its memory. The zero
// value is ready for use. A Checker is not safe for concurrent use.
type Checker struct {
	doc   *doc.Doc
	add   func(issue.Finding)
	found int

	types     []Type   // per node
	rows      []uint16 // per node, its element
	members   []uint64 // per object, the filter bits of its elements
	objects   []doc.Node
	resources []doc.Node
	// The objects that are References, and those that have a code and a
	// system.
	references, coded []doc.Node
	identified        []doc.Node // the members id
	local             bool       // some text begins with #
	known             map[idOf]bool
	// The type and rows of the previous object, tried first: after each row,
	// the row of the member that followed.
	latest  Type
	follows [len(elementTable)]uint16
	tags    []tag // open tags of the narrative being read
	attrs   []tag // names of the attributes of the tag being read
}

// Check checks the document and replaces the results of the one before. It
// reports nothing for a document that doc.Parse did not read to its end,
// because a missing element may be in the unread part.
func (c *Checker) Check(d *doc.Doc, add func(issue.Finding)) {
	c.doc, c.add, c.found = d, add, 0
	c.types = sized(c.types, d.Len())
	c.rows = sized(c.rows, d.Len())
	c.members = sized(c.members, d.Len())
	c.resources, c.objects = c.resources[:0], c.objects[:0]
	c.references, c.coded, c.local = c.references[:0], c.coded[:0], false
	c.identified = c.identified[:0]
	if d.Broken() || d.Root() == doc.None {
		return
	}
	c.resource(d.Root())
	c.ids()
}

// sized returns a slice of n zeros and reuses the memory if it is large
// enough.
func sized[T any](s []T, n int) []T {
	if cap(s) < n {
		return make([]T, n, n+n/4)
	}
	s = s[:n]
	clear(s)
	return s
}

// Doc returns the document that was checked.
func (c *Checker) Doc() *doc.Doc { return c.doc }

// Resources returns every resource in document order: the outermost, those in
// entries and parameters, and contained ones. The slice belongs to the
// Checker.
func (c *Checker) Resources() []doc.Node { return c.resources }

// Objects returns every object with a known type in document order: resources,
// datatypes and backbone elements. The slice belongs to the Checker.
func (c *Checker) Objects() []doc.Node { return c.objects }

// References returns every Reference in document order. The slice belongs to
// the Checker.
func (c *Checker) References() []doc.Node { return c.references }

// Coded returns, in document order, every object whose type has code and
// system, present or not: Codings, Quantities, entries of a value set
// expansion. The slice belongs to the Checker.
func (c *Checker) Coded() []doc.Node { return c.coded }

// HasLocal reports whether some text begins with "#", as a reference to a
// contained resource does.
func (c *Checker) HasLocal() bool { return c.local }

// list records an object of a known type.
func (c *Checker) list(n doc.Node, t Type) {
	c.objects = append(c.objects, n)
	switch t {
	case Reference:
		c.references = append(c.references, n)
	case Coding, Quantity, SimpleQuantity, Age, Count, Distance, Duration, ValueSetExpansionContains:
		c.coded = append(c.coded, n)
	}
}

// TypeOf returns the type of an object or a primitive value: Quantity for
// Observation.valueQuantity, ObservationComponent for
// Observation.component[0], Element for the content of _status. It returns 0
// for arrays, for values the standard does not define and for [doc.None].
func (c *Checker) TypeOf(n doc.Node) Type {
	if n < 0 || int(n) >= len(c.types) {
		return 0
	}
	return c.types[n]
}

// ElementName returns the element name of a member or an array item, without
// the type of a choice and without the underscore of a primitive extension:
// value for valueQuantity and for _valueString. It returns "" for resources
// and for members the standard does not define.
func (c *Checker) ElementName(n doc.Node) string {
	if n < 0 || int(n) >= len(c.rows) {
		return ""
	}
	return elementTable[c.rows[n]].element()
}

// Child returns the member that holds the element, of any type of a choice, or
// the primitive extension if only that is present. It ignores an empty array
// and null. It returns doc.None if there is none.
func (c *Checker) Child(n doc.Node, element string) doc.Node {
	place := filterPlace(element)
	if n < 0 || c.members[n]>>place&1 == 0 {
		return doc.None
	}
	d := c.doc
	extension := doc.None
	for m := d.FirstChild(n); m >= 0; m = d.Next(m) {
		r := &elementTable[c.rows[m]]
		if r.filter != place || r.element() != element || isNothing(d, m) {
			continue
		}
		if d.Key(m)[0] != '_' {
			return m
		}
		extension = m
	}
	return extension
}

// Has reports whether an object has the element, as Child finds it.
func (c *Checker) Has(n doc.Node, element string) bool { return c.Child(n, element) != doc.None }

// First is Child, or the first item of an element that repeats; doc.NextItem
// leads to the others.
func (c *Checker) First(n doc.Node, element string) doc.Node {
	v := c.Child(n, element)
	if c.doc.Kind(v) == doc.Array {
		return c.doc.FirstChild(v)
	}
	return v
}

// filterPlace maps an element name to one of 64 bits. An object whose bits
// lack it need not be searched.
func filterPlace(element string) uint8 {
	n := len(element)
	return uint8(uint(n)*7+uint(element[0])*3+uint(element[n-1])*5+uint(element[n/2])) & 63
}

func isNothing(d *doc.Doc, n doc.Node) bool {
	k := d.Kind(n)
	return k == doc.Null || k == doc.Array && d.Count(n) == 0
}

// AllowedTargets returns the resource types that a Reference at the node may
// point to, nil if any type may be the target or the node is not a Reference.
// The slice belongs to the tables.
func (c *Checker) AllowedTargets(n doc.Node) []Type {
	if c.TypeOf(n) != Reference {
		return nil
	}
	return targetSets[elementTable[c.rows[n]].targets]
}

// report adds a finding about the value, up to maxFindings.
func (c *Checker) report(n doc.Node, rule, details string) {
	c.reportAs(n, rule, details, "", "")
}

// reportAs adds a finding with the value seen and the value expected.
func (c *Checker) reportAs(n doc.Node, rule, details, value, expected string, args ...any) {
	c.send(func() issue.Finding {
		return c.doc.Finding(n, rule, issue.T(details, args...)).Seen(value, issue.Literal(expected))
	})
}

// send adds a finding; beyond maxFindings it does not build one.
func (c *Checker) send(finding func() issue.Finding) {
	c.found++
	if c.found > maxFindings {
		return
	}
	c.add(finding())
	if c.found == maxFindings {
		c.add(c.doc.Finding(doc.None, "r4-more", issue.T("there may be more faults of structure; they are not listed")))
	}
}
