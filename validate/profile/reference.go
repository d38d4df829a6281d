package profile

import (
	"bytes"
	"slices"
	"strings"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/resources"
	"runsheet.example/validate/structure"
)

// target checks the target of a reference against its allowed profiles, one of
// which it must match: the resource itself if it is in the document, otherwise
// the type in the reference.
func (c *Checker) target(e *element, n doc.Node, urls []string) {
	reference := c.d.Get(n, "reference")
	text := c.d.Str(reference)
	if len(text) == 0 {
		return
	}
	to, outcome := c.rec.ResolveText(text, c.at)
	typ := string(resources.TargetType(text))
	if outcome == resources.Found {
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
		if outcome != resources.Found || p.isBase {
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
		return // the reference layer reports the same
	}
	f := c.finding(reference, "profile-reference", issue.T("the reference leads to a type of resource that {} does not take", c.naming(e)))
	if fits {
		f.Details = issue.T("the resource referred to does not conform to what {} asks for{}", c.naming(e), because(first))
	}
	f.Value, f.Expected = typ, issue.Or(urls)
	c.send(f)
}

// isAllowedInR4 reports a reference whose allowed targets are exactly those of
// R4.
func (c *Checker) isAllowedInR4(n doc.Node, urls []string) bool {
	allowed := c.s.AllowedTargets(n)
	if len(allowed) != len(urls) {
		return false
	}
	for _, t := range allowed {
		in := false
		for _, url := range urls {
			bare, _, _ := strings.Cut(url, "|")
			in = in || bare == coreBase+t.String()
		}
		if !in {
			return false
		}
	}
	return true
}

// place checks the aggregation of a reference and whether it has a version
// (FHIR R4 4.0.1, ElementDefinition.type.aggregation and .versioning). It
// skips a reference without literal text.
func (c *Checker) place(e *element, t *typeRef, n doc.Node) {
	reference := c.d.Get(n, "reference")
	text := c.d.Str(reference)
	if c.d.Kind(n) == doc.String { // canonical
		reference, text = n, c.d.Str(n)
	}
	if len(text) == 0 {
		return
	}
	f := c.finding(reference, "profile-reference", issue.Text{})
	f.Value = string(text)
	how := c.aggregation(text, n == reference)
	isAllowed := func(code string) bool { return slices.Contains(t.aggregation, code) }
	if len(t.aggregation) > 0 && !slices.ContainsFunc(how, isAllowed) {
		f.Details = issue.T("the resource that {} leads to is {}", c.naming(e), how[len(how)-1])
		f.Expected = issue.Or(t.aggregation)
		c.send(f)
	}
	isSpecific := bytes.Contains(text, []byte("/_history/")) || n == reference && bytes.IndexByte(text, '|') >= 0
	switch {
	case t.versioning == "specific" && !isSpecific:
		f.Details, f.Expected = issue.T("the reference names no version, as {} asks for", c.naming(e)), issue.T("a version")
		c.send(f)
	case t.versioning == "independent" && isSpecific:
		f.Details, f.Expected = issue.T("the reference names a version, which {} does not take", c.naming(e)), issue.T("no version")
		c.send(f)
	}
}

// aggregation are the aggregation codes of a reference. A bundled target is
// also outside the resource; outside a Bundle, any target may be in the Bundle
// that the resource came with.
func (c *Checker) aggregation(text []byte, isCanonical bool) []string {
	if text[0] == '#' {
		return []string{"contained"}
	}
	_, outcome := c.rec.ResolveText(text, c.at)
	if !isCanonical && outcome != resources.Found && c.rec.Resources[c.at].Bundle != resources.Nowhere {
		return []string{"referenced"}
	}
	return []string{"bundled", "referenced"}
}
