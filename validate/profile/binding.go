package profile

import (
	"errors"
	"mime"
	"strings"

	"golang.org/x/text/language"

	"runsheet.example/profiles"
	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/structure"
)

const (
	languageSystem  = "urn:ietf:bcp:47"
	mediaTypeSystem = "urn:ietf:bcp:13"
)

// binding reports a value without a code from its required value set.
func (c *Checker) binding(e *element, n doc.Node) {
	if bare, _, _ := strings.Cut(e.valueSet, "|"); bare == c.s.RequiredValueSet(n) {
		return // bound by R4 itself and checked by the structure layer
	}
	in, sure := c.memberOf(n, e.valueSet)
	switch {
	case in:
	case sure:
		v := c.lib.valueSet(e.valueSet)
		c.complain(n, "profile-binding", issue.T("the code is not in the value set that {} must be from", c.naming(e)),
			c.code(n), issue.T("{}{}", e.valueSet, v.some()))
	default:
		c.reportValueSet(n, e.valueSet)
	}
}

func (c *Checker) reportValueSet(n doc.Node, canonical string) {
	c.reportOnce("profile-value-set", n, canonical, "codes bound to a value set of which not all codes are known here: {}", canonical)
}

// extensible reports a value without a code from its extensible value set.
// Another code is right if the value set lacks the concept (FHIR R4 4.0.1,
// Terminologies, extensible), and text alone is always right, so it reports
// only certain faults.
func (c *Checker) extensible(e *element, n doc.Node) {
	d := c.d
	switch c.s.TypeOf(n) {
	case structure.CodeableConcept:
		if d.Get(n, "coding") == doc.None {
			return
		}
	case structure.Coding, structure.Quantity, structure.SimpleQuantity:
		if d.Get(n, "code") == doc.None {
			return
		}
	}
	if in, sure := c.memberOf(n, e.wide); in || !sure {
		return
	}
	c.complain(n, "profile-extensible", issue.T("no code is from the value set that {} should be from", c.naming(e)),
		c.code(n), issue.T("{}{}", e.wide, c.lib.valueSet(e.wide).some()))
}

// memberOf reports whether a code, Coding, CodeableConcept or Quantity has a
// code in a value set, and whether the answer is certain.
func (c *Checker) memberOf(n doc.Node, canonical string) (in, sure bool) {
	v := c.lib.valueSet(canonical)
	if v == nil {
		return false, false
	}
	d := c.d
	switch c.s.TypeOf(n) {
	case structure.CodeableConcept:
		codings := d.Get(n, "coding")
		if codings == doc.None && d.Get(n, "text") == doc.None {
			return true, true // only extensions, which may give the reason
		}
		sure = true
		for i := d.FirstChild(codings); i != doc.None; i = d.Next(i) {
			one, certain := c.codingIn(i, v)
			if one {
				return true, true
			}
			sure = sure && certain
		}
		return false, sure
	case structure.Coding, structure.Quantity, structure.Age, structure.Duration, structure.Count, structure.Distance,
		structure.SimpleQuantity:
		if d.Get(n, "code") == doc.None && d.Get(n, "extension") != doc.None {
			return true, true
		}
		return c.codingIn(n, v)
	}
	if d.Kind(n) != doc.String {
		return true, true // only extensions, or wrong in R4 itself
	}
	in, sure = v.hasCode(string(d.Str(n)))
	if !in && v.open[languageSystem] {
		return isLanguage(string(d.Str(n)))
	}
	if !in && v.open[mediaTypeSystem] {
		_, _, err := mime.ParseMediaType(string(d.Str(n)))
		return err == nil && strings.Contains(string(d.Str(n)), "/"), true
	}
	return in, sure
}

func (c *Checker) codingIn(n doc.Node, v *valueSet) (in, sure bool) {
	system, code := string(c.d.Str(c.d.Get(n, "system"))), string(c.d.Str(c.d.Get(n, "code")))
	in, sure = v.has(system, code)
	if !in && !sure && system == profiles.UCUM && v.open[system] {
		return true, true // all of UCUM, which the unit layer checks
	}
	if !in && !sure && system == languageSystem && v.open[languageSystem] {
		return isLanguage(code)
	}
	return in, sure
}

// isLanguage reports a language tag (RFC 5646). A well-formed tag with
// unregistered parts may be newer than our registry.
func isLanguage(code string) (in, sure bool) {
	_, err := language.Parse(code)
	var unregistered language.ValueError
	return err == nil, !errors.As(err, &unregistered)
}

// code returns the code of a value for a finding.
func (c *Checker) code(n doc.Node) string {
	d := c.d
	if d.Kind(n) == doc.Object {
		if codings := d.Get(n, "coding"); codings != doc.None {
			n = d.FirstChild(codings)
		}
		if d.Kind(n) == doc.Object {
			n = d.Get(n, "code")
		}
	}
	return c.d.Excerpt(n)
}
