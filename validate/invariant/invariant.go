// Package invariant evaluates the invariants of FHIR R4 4.0.1 (the
// constraints of its structure definitions) as Go functions on the nodes of a
// document, on every resource and datatype wherever it stands: outermost, in
// Bundle entries, in Parameters, contained.
//
// As in FHIRPath, an invariant that comes out empty is not broken, and an
// element exists when only its extensions do; one that asks for the resource
// behind a reference (ctm-1) looks in the document only, and where that does
// not hold it, comes out empty. [Table] lists every invariant of the standard.
//
// Where the published expression and the invariant's own words differ, the
// words are followed. An engine that evaluates the expressions as FHIRPath
// answers otherwise in these points:
//
//   - the names of conformance resources (adf-0 to vsd-0): the whole name must
//     match the pattern, not some part of it; likewise eld-19 and eld-20;
//   - app-4 takes the code noshow, which the expression misspells;
//   - con-3 asks for a clinical status of problem list items only; the
//     expression compares a concept with a string, and asks always;
//   - eld-3 does not take a maximum that is neither a number nor *;
//   - obs-7 compares system and code of codings, not their displays;
//   - que-12 speaks of more than one enableWhen, where the expression counts
//     more than two;
//   - que-7 takes answerBoolean; to some engines "is Boolean" is another type;
//   - tim-9 looks at every when, where the expression allows but one;
//   - bdl-3 and bdl-4 say nothing of a Bundle without type, which the
//     structure layer reports, nor sdf-16 and sdf-17 of elements without id,
//     which sdf-14 reports, nor ele-1 of empty objects (r4-empty);
//   - rng-2 compares amounts of different UCUM units after conversion, and
//     leaves those alone that cannot be converted.
package invariant

import (
	"hash/maphash"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/structure"
)

// maxFindings ends the list of findings for a document that is wrong
// everywhere.
const maxFindings = 1000

// rule is one invariant of a type. Exactly one of holds and fault is set.
type rule struct {
	// key is the invariant's key in the standard; the id of the finding's
	// rule is "inv-" and the key, or id where the standard uses a key twice.
	key string
	id  string
	// holds reports whether the invariant holds for the node.
	holds func(c *Checker, n doc.Node) bool
	// fault returns the node to blame, or doc.None when the invariant holds.
	fault func(c *Checker, n doc.Node) doc.Node
}

func (r *rule) ruleID() string {
	if r.id != "" {
		return r.id
	}
	return "inv-" + r.key
}

// Checker checks one document after the other, keeping its memory. The zero
// value is ready for use; a Checker must not be used by two goroutines at
// once.
type Checker struct {
	d      *doc.Doc
	s      *structure.Checker
	add    func(issue.Finding)
	found  int
	sorted []doc.Node // room for comparing values with each other
	// The ids of what the resource last asked about contains.
	container doc.Node
	contained []doc.Node
	targets   map[target]doc.Node // what entries of Bundles are referred to by
	seed      maphash.Seed
	urls      map[uint64]struct{} // hashes of the fullUrls of a Bundle
	byType    []ofType
}

// Check checks the document with checkers of its own.
func Check(d *doc.Doc, add func(issue.Finding)) {
	var s structure.Checker
	s.Check(d, func(issue.Finding) {})
	var c Checker
	c.Check(&s, add)
}

// Check checks the document that s has checked last.
func (c *Checker) Check(s *structure.Checker, add func(issue.Finding)) {
	c.d, c.s, c.found = s.Doc(), s, 0
	clear(c.targets)
	c.container = doc.None
	c.add = add
	for _, n := range s.Objects() {
		t := c.s.TypeOf(n)
		own := c.rulesOf(t)
		c.element(n, own)
		if t == structure.Reference && !c.s.HasLocal() {
			continue // ref-1 speaks of local references
		}
		for i := range own.rules {
			c.evaluate(&own.rules[i], n)
		}
		if own.isDomainResource {
			c.domainResource(n)
		}
	}
}

// ofType is what is asked of each object of a type.
type ofType struct {
	met, isElement, isDomainResource bool

	rules []rule
}

// rulesOf is [rulesOf], looked up once for each type.
func (c *Checker) rulesOf(t structure.Type) *ofType {
	for int(t) >= len(c.byType) {
		c.byType = append(c.byType, ofType{})
	}
	own := &c.byType[t]
	if !own.met {
		*own = ofType{true, !t.IsResource() && t != structure.Element, t.IsDomainResource(), rulesOf(t)}
	}
	return own
}

// domainResource evaluates the invariants of every DomainResource, those of
// contained resources only where there are any.
func (c *Checker) domainResource(n doc.Node) {
	for i := range domainRules {
		c.evaluate(&domainRules[i], n)
	}
	if !c.has(n, "contained") {
		return
	}
	for i := range containedRules {
		c.evaluate(&containedRules[i], n)
	}
}

func (c *Checker) evaluate(r *rule, n doc.Node) {
	at := doc.None
	switch {
	case r.holds != nil:
		if !r.holds(c, n) {
			at = n
		}
	case r.fault != nil:
		at = r.fault(c, n)
	}
	if at != doc.None {
		c.report(at, r.ruleID())
	}
}

// element is ele-1 for objects: an element has members other than id. Objects
// without any members and the twins of primitives are the structure's to
// report.
func (c *Checker) element(n doc.Node, own *ofType) {
	d := c.d
	if own.isElement && d.Count(n) == 1 && string(d.Key(d.FirstChild(n))) == "id" {
		c.report(n, "inv-ele-1")
	}
}

func (c *Checker) report(n doc.Node, id string) {
	c.found++
	if c.found > maxFindings {
		return
	}
	f := c.d.Finding(n, id)
	if r, ok := issue.Lookup(id); ok {
		f.Details = "against the rule: " + r.What
	}
	c.add(f)
	if c.found == maxFindings {
		more := c.d.Finding(doc.None, "r4-more")
		more.Details = "there may be more broken invariants; they are not listed"
		c.add(more)
	}
}
