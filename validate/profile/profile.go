// Package profile checks resources against profiles of FHIR R4: any
// StructureDefinition that constrains another. It checks the rules that a
// profile adds to R4: cardinality, types, fixed values and patterns, minimum
// and maximum values, lengths, slices (discriminated by value, pattern,
// existence, type or profile; open, closed, openAtEnd, ordered), required and
// extensible bindings as far as value sets can be expanded without a
// terminology server, profiles on types and on the targets of references,
// aggregation and versioning of references, invariants as FHIRPath, and, on
// request, absent must-support elements.
//
// Profiles come from packages given to a [Library], from our own package, and
// from R4. The Checker applies a profile to a resource that claims it in
// meta.profile, or on request ([Options]). It reports an unknown claimed
// profile once, as information: this is not a fault of the resource. It checks
// every extension with a known definition against that definition and its
// contexts.
//
// For a definition with only a differential it generates a snapshot from the
// base; [Library.Check] returns why it cannot.
//
// Preferred and example bindings have no effect. A rule that cannot be
// evaluated yields a finding of its own and an entry of [Checker.Notes]. An
// extensible binding to an unknown value set yields nothing, since any other
// code may be right too. The extensions allowedUnits, maxSize and mimeType are
// not checked.
package profile

import (
	"errors"
	"io/fs"
	"slices"
	"strings"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/resources"
	"runsheet.example/validate/structure"
	"runsheet.example/validate/vitals"
)

// Limits of the work on one document. A session of the demo month takes some
// ten thousand steps.
const (
	maxFindings = 1000
	maxSteps    = 4 << 20
	maxWithin   = 48 // profiles within profiles
)

// Options selects checks beyond the profiles that resources claim.
type Options struct {
	// Profiles are canonical URLs, with or without "|version". Each applies to
	// the outermost resource and to the entries of a Bundle that have its
	// type; see also [Library.Check].
	Profiles []string
	// MustSupport also reports absent must-support elements.
	MustSupport bool
}

// Checker checks documents one after another and reuses its memory. A Checker
// is not safe for concurrent use.
type Checker struct {
	lib  *Library
	opts Options

	s   *structure.Checker
	d   *doc.Doc
	rec *resources.Index
	add func(issue.Finding)

	found, steps int
	budget       int // remaining steps for invariants
	// silent is above 0 during a test of conformance that reports nothing.
	// faults counts errors, reported or not; first is the first unreported
	// one.
	silent, faults int
	first          *issue.Finding
	at             int // index of the resource under check
	repeated       int // content references on the current path
	profile        *profile
	within         []frame
	conformity     map[frame]verdict
	reported       map[string]bool
	extended       map[frame]bool // extensions already checked by a profile of their element
	notes          []string
}

// frame is a profile applied to a node.
type frame struct {
	profile *profile
	node    doc.Node
}

type verdict struct {
	conforms bool
	fault    *issue.Finding
}

// New returns a Checker that finds profiles in the library.
func New(lib *Library, opts Options) *Checker {
	return &Checker{
		lib: lib, opts: opts,
		conformity: map[frame]verdict{}, reported: map[string]bool{}, extended: map[frame]bool{},
	}
}

// Check checks the document that s and rec read last.
func (c *Checker) Check(s *structure.Checker, rec *resources.Index, add func(issue.Finding)) {
	c.s, c.d, c.rec, c.add = s, s.Doc(), rec, add
	c.found, c.steps, c.faults, c.silent, c.first = 0, 0, 0, 0, nil
	c.budget = maxSteps
	clear(c.conformity)
	clear(c.reported)
	clear(c.extended)
	c.notes = c.notes[:0]
	for i := range rec.Resources {
		c.resource(i)
	}
	c.extensions()
	if c.steps > maxSteps {
		c.reportOnce("profile-not-evaluated", doc.None, "", "documents that take too long to check against profiles, to their end")
	}
}

// Notes returns, in plain words and in order, which rules for the latest
// document could not be evaluated. Each note is the Details of a finding for
// which [IsNote] is true. The slice belongs to the Checker.
func (c *Checker) Notes() []string { return c.notes }

// IsNote reports a finding about a rule that was not evaluated. Each document
// raises it once; for many documents, one report is enough.
func IsNote(f issue.Finding) bool {
	switch f.Rule {
	case "profile-unknown", "profile-not-evaluated", "profile-value-set":
		return true
	default:
		return false
	}
}

// IsClaimed reports whether any resource claims a profile that this package
// checks.
func IsClaimed(rec *resources.Index) bool {
	for i := range rec.Resources {
		claims := rec.Doc.Get(rec.Resources[i].Meta, "profile")
		for n := rec.Doc.FirstChild(claims); n != doc.None; n = rec.Doc.Next(n) {
			if url := rec.Doc.Str(n); len(url) > 0 && !isVitalSign(url) {
				return true
			}
		}
	}
	return false
}

// resource applies the claimed and the requested profiles to a resource.
func (c *Checker) resource(at int) {
	res := &c.rec.Resources[at]
	if res.Type == "" || c.s.TypeOf(res.Node) == 0 {
		return
	}
	claims := c.d.Get(res.Meta, "profile")
	var applied []*profile
	for n := c.d.FirstChild(claims); n != doc.None; n = c.d.Next(n) {
		url := string(c.d.Str(n))
		if url == "" || isVitalSign(url) {
			continue // package vitals checks these, claimed or not
		}
		if p := c.known(url, n); p != nil && !slices.Contains(applied, p) {
			if p.typ != res.Type {
				f := c.d.Finding(n, "profile-type", issue.T("the profile claimed is for another type of resource"))
				f.Value, f.Expected = res.Type, issue.Literal(p.typ)
				c.send(f)
				continue
			}
			applied = append(applied, p)
		}
	}
	if res.Owner == resources.Nowhere {
		for _, url := range c.opts.Profiles {
			p := c.known(url, res.Node)
			if p != nil && p.isBase {
				c.reportOnce("profile-not-evaluated", res.Node, url, "a definition asked for that constrains no other, so that R4 itself says all of it: {}", url)
				continue
			}
			if p != nil && p.typ == res.Type && !slices.Contains(applied, p) {
				applied = append(applied, p)
			}
		}
	}
	for _, p := range applied {
		c.apply(p, at)
	}
}

// isVitalSign reports a vital-signs profile of R4.
func isVitalSign[T string | []byte](url T) bool {
	if len(url) < len(coreBase) || string(url[:len(coreBase)]) != coreBase {
		return false
	}
	return vitals.Checks(string(url[len(coreBase):]))
}

// known returns a profile, or nil for an unknown one, which it reports.
func (c *Checker) known(url string, n doc.Node) *profile {
	p, err := c.lib.profile(url)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		c.reportOnce("profile-unknown", n, url, "profiles that are not known, claimed or asked for: {}", url)
		return nil
	case err != nil:
		c.reportOnce("profile-not-evaluated", n, url, "a profile that cannot be used: {}", err.Error())
		return nil
	}
	if len(p.unevaluated) > 0 {
		c.reportOnce("profile-not-evaluated", n, p.url, "invariants or limits of the profile {}: {}", p.name, strings.Join(p.unevaluated, ", "))
	}
	return p
}

// reportOnce reports once that a rule was not evaluated.
func (c *Checker) reportOnce(rule string, n doc.Node, subject, details string, args ...any) {
	if c.reported[rule+" "+subject] {
		return
	}
	c.reported[rule+" "+subject] = true
	if len(c.reported) > maxFindings {
		return
	}
	f := c.d.Finding(n, rule, issue.T(details, args...))
	c.notes = append(c.notes, f.Details.String())
	c.add(f)
}

// apply checks a resource against a profile.
func (c *Checker) apply(p *profile, at int) {
	if p.root == nil || len(c.within) >= maxWithin {
		return
	}
	n := c.rec.Resources[at].Node
	before, beforeAt := c.profile, c.at
	c.profile, c.at = p, at
	c.within = append(c.within, frame{p, n})
	c.check(p.root, item{n, doc.None})
	c.within = c.within[:len(c.within)-1]
	c.profile, c.at = before, beforeAt
}

// conformsTo reports whether a resource conforms to a profile and, if not, the
// first fault. A resource already under check counts as conforming.
func (c *Checker) conformsTo(p *profile, at int) verdict {
	n := c.rec.Resources[at].Node
	key := frame{p, n}
	if slices.Contains(c.within, key) {
		return verdict{conforms: true}
	}
	if v, done := c.conformity[key]; done {
		return v
	}
	if p.typ != c.rec.Resources[at].Type {
		return verdict{}
	}
	v := c.quietly(func() { c.apply(p, at) })
	c.conformity[key] = v
	return v
}

// quietly reports whether a check finds no error, without reporting findings.
func (c *Checker) quietly(check func()) verdict {
	faults, first := c.faults, c.first
	c.first = nil
	c.silent++
	check()
	c.silent--
	v := verdict{c.faults == faults, c.first}
	c.faults, c.first = faults, first
	return v
}

// finding returns a finding of the rule about a value.
func (c *Checker) finding(n doc.Node, rule string, details issue.Text) issue.Finding {
	if c.silent > 0 && c.first != nil {
		return issue.At(rule) // not reported
	}
	return c.d.Finding(n, rule, details)
}

// complain sends a finding about a value.
func (c *Checker) complain(n doc.Node, rule string, details issue.Text, value string, expected issue.Text) {
	c.send(c.finding(n, rule, details).Seen(value, expected))
}

// send reports a finding, or counts it while silent.
func (c *Checker) send(f issue.Finding) {
	if f.Severity == issue.Error {
		c.faults++
	}
	if c.silent > 0 {
		if c.first == nil && f.Severity == issue.Error {
			c.first = &f
		}
		return
	}
	c.found++
	switch {
	case c.found < maxFindings:
		c.add(f)
	case c.found == maxFindings:
		c.add(c.d.Finding(doc.None, "r4-more", issue.T("there may be more departures from profiles; they are not listed")))
	}
}

func (c *Checker) spend() bool {
	c.steps++
	return c.steps <= maxSteps
}

// naming is the name of an element of the profile in words.
func (c *Checker) naming(e *element) string {
	if e.path == "" {
		return c.profile.typ + " in " + c.profile.name
	}
	return e.path + " in " + c.profile.name
}
