// Package structure checks a document against the structure of FHIR R4 4.0.1:
// the elements of all resource types and datatypes, their cardinality and
// types, choices, the twins of primitives (_status), nulls and empty values,
// the format of every primitive, value sets of required bindings, and the
// XHTML of narratives. Resources in Bundle entries, Parameters and contained
// are checked as the types they are.
//
// The tables (table_*.go) are generated from the definitions of the standard;
// they are constant data and cost nothing until a type is met.
//
// While it checks, a [Checker] notes the type of every node; packages that
// look further ([Checker.TypeOf], [Checker.Child]) need no tables of their
// own. Not done here: invariants, the resolution of references, units, codes
// outside required bindings, profiles.
package structure

import (
	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
)

// maxFindings ends the list of findings for a document that is wrong
// everywhere.
const maxFindings = 1000

// Checker checks one document after the other, keeping its memory. The zero
// value is ready for use; a Checker must not be used by two goroutines at
// once.
type Checker struct {
	doc   *doc.Doc
	add   func(issue.Finding)
	found int

	types     []Type   // per node
	rows      []uint16 // per node, the element it is
	members   []uint64 // per object, the filter bits of its elements
	objects   []doc.Node
	resources []doc.Node
	// Those of the objects that are References, and those that have a code and
	// its system.
	references, coded []doc.Node
	local             bool // some text begins with #
	known             map[idOf]bool
	// What was met last, to be tried first: the type of resource, and after
	// each row the row of the next member.
	latest  Type
	follows [len(elementTable)]uint16
	tags    []tag // open tags of the narrative being read
	attrs   []tag // names of the attributes of the tag being read
}

// Check checks the document and forgets the one before. It says nothing of a
// document that doc.Parse could not read to its end, where what is missing
// may not be missing at all.
func (c *Checker) Check(d *doc.Doc, add func(issue.Finding)) {
	c.doc, c.add, c.found = d, add, 0
	c.types = sized(c.types, d.Len())
	c.rows = sized(c.rows, d.Len())
	c.members = sized(c.members, d.Len())
	c.resources, c.objects = c.resources[:0], c.objects[:0]
	c.references, c.coded, c.local = c.references[:0], c.coded[:0], false
	if d.Broken() || d.Root() == doc.None {
		return
	}
	c.resource(d.Root())
	c.ids()
}

// sized returns a slice of n zeros, in the same memory where there is room.
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

// Resources returns every resource in the document, in order: the outermost,
// those in entries and parameters, and contained ones. The slice is the
// Checker's.
func (c *Checker) Resources() []doc.Node { return c.resources }

// Objects returns every object whose type is known, in order: resources,
// datatypes and elements with elements of their own. The slice is the
// Checker's.
func (c *Checker) Objects() []doc.Node { return c.objects }

// References returns every Reference in the document, in order. The slice is
// the Checker's.
func (c *Checker) References() []doc.Node { return c.references }

// Coded returns every object of a type with code and system in it, whether or
// not they are present: Codings, Quantities, what an expanded value set
// contains. They are in order; the slice is the Checker's.
func (c *Checker) Coded() []doc.Node { return c.coded }

// HasLocal reports whether some text begins with "#", as a reference to what a
// resource contains does.
func (c *Checker) HasLocal() bool { return c.local }

// list notes an object of a known type.
func (c *Checker) list(n doc.Node, t Type) {
	c.objects = append(c.objects, n)
	switch t {
	case Reference:
		c.references = append(c.references, n)
	case Coding, Quantity, SimpleQuantity, Age, Count, Distance, Duration, ValueSetExpansionContains:
		c.coded = append(c.coded, n)
	}
}

// TypeOf returns the type of an object or a primitive value: of
// Observation.valueQuantity Quantity, of Observation.component[0]
// ObservationComponent, of what stands in _status Element. It returns 0 for
// arrays, for values the standard does not know and for [doc.None].
func (c *Checker) TypeOf(n doc.Node) Type {
	if n < 0 || int(n) >= len(c.types) {
		return 0
	}
	return c.types[n]
}

// ElementName returns the name of the element a member or an item of an array
// belongs to, without the type of a choice and without the underscore of a
// twin: value for valueQuantity and for _valueString. It returns "" for
// resources and for what the standard does not know.
func (c *Checker) ElementName(n doc.Node) string {
	if n < 0 || int(n) >= len(c.rows) {
		return ""
	}
	return elementTable[c.rows[n]].element()
}

// Element returns a number for the element a member or an item of an array is
// of: below [Elements], the same for the same element of the same type, another
// for each type of a choice; 0 for what the standard does not know and for
// resourceType. The twin of a primitive has that of the primitive.
func (c *Checker) Element(n doc.Node) int {
	if n < 0 || int(n) >= len(c.rows) {
		return 0
	}
	return int(c.rows[n])
}

// Child returns the member that holds the element, whatever the type of a
// choice, or the twin when only that is present. An empty array and null are
// no element. It returns doc.None when there is none.
func (c *Checker) Child(n doc.Node, element string) doc.Node {
	place := filterPlace(element)
	if n < 0 || c.members[n]>>place&1 == 0 {
		return doc.None
	}
	d := c.doc
	twin := doc.None
	for m := d.FirstChild(n); m >= 0; m = d.Next(m) {
		r := &elementTable[c.rows[m]]
		if r.filter != place || r.element() != element || isNothing(d, m) {
			continue
		}
		if d.Key(m)[0] != '_' {
			return m
		}
		twin = m
	}
	return twin
}

// filterPlace is the place of one of 64 bits for the name of an element. An
// object whose bits are known to lack it need not be searched.
func filterPlace(element string) uint8 {
	n := len(element)
	return uint8(uint(n)*7+uint(element[0])*3+uint(element[n-1])*5+uint(element[n/2])) & 63
}

func isNothing(d *doc.Doc, n doc.Node) bool {
	k := d.Kind(n)
	return k == doc.Null || k == doc.Array && d.Count(n) == 0
}

// AllowedTargets returns the resource types that a Reference at the node may
// point to, nil when any will do or the node is no Reference. The slice
// belongs to the tables.
func (c *Checker) AllowedTargets(n doc.Node) []Type {
	if c.TypeOf(n) != Reference {
		return nil
	}
	return targetSets[elementTable[c.rows[n]].targets]
}

// report adds a finding about the value, unless there are too many already.
func (c *Checker) report(n doc.Node, rule, details string) {
	c.reportAs(n, rule, details, "", "")
}

// reportAs adds a finding with what was seen and what was expected.
func (c *Checker) reportAs(n doc.Node, rule, details, value, expected string) {
	c.send(func() issue.Finding {
		f := c.doc.Finding(n, rule)
		f.Details, f.Value, f.Expected = details, value, expected
		return f
	})
}

// send adds a finding; beyond maxFindings it is not even made.
func (c *Checker) send(finding func() issue.Finding) {
	c.found++
	if c.found > maxFindings {
		return
	}
	c.add(finding())
	if c.found == maxFindings {
		more := c.doc.Finding(doc.None, "r4-more")
		more.Details = "there may be more faults of structure; they are not listed"
		c.add(more)
	}
}
