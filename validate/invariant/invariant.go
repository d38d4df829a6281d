// Package invariant evaluates the invariants of FHIR R4 4.0.1 (the
// constraints of its structure definitions) on every resource and datatype:
// outermost, in Bundle entries, in Parameters, contained. Package fhirpath
// evaluates HL7's own expressions; for the types of our records, faster Go
// functions come first.
//
// As in FHIRPath, an invariant with an empty result is not broken, and an
// element with only extensions exists. An invariant that resolves a reference
// (ctm-1) searches the document only; without a target its result is empty. An
// invariant defined on an element without a type of its own is evaluated with
// all(), for which empty is broken. [Table] lists every invariant of the
// standard.
//
// Where the published expression and the invariant's text differ, the text
// counts: see the table of other expressions (instead). Also, bdl-3 and bdl-4
// report nothing for a Bundle without type, which the structure layer reports,
// and ele-1 nothing for empty objects (r4-empty).
package invariant

import (
	"bytes"
	"errors"
	"hash/maphash"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/profile/fhirpath"
	"runsheet.example/validate/resources"
	"runsheet.example/validate/structure"
)

// maxFindings ends the list of findings for a document that is wrong
// everywhere.
const maxFindings = 1000

// The steps that an expression may take grow with the size of the object it is
// evaluated on. Those of the official examples need at most 5 for a node
// together.
const (
	leastSteps   = 1 << 16
	stepsPerNode = 64
)

// rule is one invariant of a type.
type rule struct {
	id string
	// holds reports whether the invariant holds; what it does not find to hold,
	// the expression decides, unless the function decides alone.
	holds   check
	decides bool
	// fault, in place of both, returns the node to blame, or doc.None when the
	// invariant holds.
	fault      func(c *Checker, n doc.Node) doc.Node
	expression func() (*fhirpath.Expression, error)
}

// Checker checks one document after the other, keeping its memory. The zero
// value is ready for use; a Checker must not be used by two goroutines at
// once.
type Checker struct {
	d     *doc.Doc
	s     *structure.Checker
	add   func(issue.Finding)
	found int
	// local are the ids that references to what a resource contains name.
	local map[string]bool
	// contained are the ids of what container contains.
	container doc.Node
	contained map[string]bool
	seed      maphash.Seed
	urls      map[uint64]struct{} // hashes of the fullUrls of a Bundle
	byType    []ofType
	env       fhirpath.Environment
	budget    int              // steps left for the expression being evaluated
	isCut     bool             // one took too many
	rec       *resources.Index // of the document, made at its first use
	isRead    bool
	around    resources.Around
}

// Check checks the document that s has checked last.
func (c *Checker) Check(s *structure.Checker, add func(issue.Finding)) {
	c.d, c.s, c.found, c.add = s.Doc(), s, 0, add
	c.container, c.isRead, c.isCut = doc.None, false, false
	if c.urls == nil {
		c.seed, c.urls = maphash.MakeSeed(), map[uint64]struct{}{}
		c.local, c.contained = map[string]bool{}, map[string]bool{}
		c.env.Resolve, c.env.Budget = c.resolve, &c.budget
	}
	c.env.Types = s
	for _, n := range s.Objects() {
		t := c.s.TypeOf(n)
		own := c.rulesOf(t)
		c.element(n, own)
		if t == structure.Reference && !c.s.HasLocal() {
			continue // ref-1 is about local references
		}
		for i := range own.rules {
			c.evaluate(&own.rules[i], n)
		}
		for i := range own.domain {
			c.evaluate(&own.domain[i], n)
		}
	}
	if c.isCut {
		c.more("invariants that take too long to evaluate; they are not listed")
	}
}

// ofType holds the invariants of each object of a type.
type ofType struct {
	met, isElement bool

	rules, domain []rule // its own, and those of every DomainResource
}

// rulesOf is [rulesOf], looked up once for each type.
func (c *Checker) rulesOf(t structure.Type) *ofType {
	for int(t) >= len(c.byType) {
		c.byType = append(c.byType, ofType{})
	}
	own := &c.byType[t]
	if !own.met {
		*own = ofType{met: true, isElement: !t.IsResource() && t != structure.Element, rules: rulesOf(t)}
		if t.IsDomainResource() {
			own.domain = rulesOf(structure.DomainResource)
		}
	}
	return own
}

func (c *Checker) evaluate(r *rule, n doc.Node) {
	at := n
	switch {
	case r.fault != nil:
		at = r.fault(c, n)
	case r.holds != nil && r.holds(c, n):
		return
	case !r.decides:
		at = c.broken(r, n)
	}
	if at != doc.None {
		c.report(at, r.id)
	}
}

// broken evaluates the expression and returns the node that breaks the
// invariant, or doc.None. What cannot be evaluated has a structure that is
// not R4's, which is reported as such.
func (c *Checker) broken(r *rule, n doc.Node) doc.Node {
	x, err := r.expression()
	if err != nil {
		return doc.None
	}
	c.env.Resource, c.env.Root = c.resourceOf(n), c.rootResourceOf(n)
	c.budget = leastSteps + stepsPerNode*int(c.after(n)-n)
	holds, known, err := x.Truth(&c.env, n)
	c.isCut = c.isCut || errors.Is(err, fhirpath.ErrTooMuch)
	if holds || !known || err != nil {
		return doc.None
	}
	if at := x.Blame(&c.env, n); at != doc.None {
		return at
	}
	return n
}

// resolve follows the text of a reference within the document.
func (c *Checker) resolve(reference []byte) doc.Node {
	if c.rec == nil {
		c.rec = new(resources.Index)
	}
	if !c.isRead {
		c.rec.Read(c.d)
		c.around, c.isRead = c.rec.Around(), true
	}
	to, outcome := c.rec.ResolveText(reference, c.around.Of(c.env.Resource))
	if outcome != resources.Found {
		return doc.None
	}
	target := &c.rec.Resources[to]
	if bytes.HasPrefix(target.FullURL, []byte("urn:")) && !bytes.Equal(target.FullURL, reference) {
		return doc.None // it has no other name
	}
	return target.Node
}

// element is ele-1 for objects: an element has members other than id. The
// structure layer reports empty objects and primitive extensions.
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
	f := c.d.Finding(n, id, issue.Text{})
	if r, ok := issue.Lookup(id); ok {
		f.Details = issue.T("against the rule: {}", r.What)
	}
	c.add(f)
	if c.found == maxFindings {
		c.more("broken invariants; they are not listed")
	}
}

// more says that not all is listed.
func (c *Checker) more(what string) {
	c.add(c.d.Finding(doc.None, "r4-more", issue.T("there may be more {}", what)))
}
