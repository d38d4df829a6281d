package rules

import (
	"bytes"
	"strings"

	"runsheet.example/profiles"
	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/profile"
	"runsheet.example/validate/resources"
)

// codeChecker checks codes, and caches those that are right anywhere.
type codeChecker struct {
	checked
	systems *profile.Library
	theirs  *profiles.CodeMap
	// unchecked is the first code of a known code system that no table contains,
	// or doc.None.
	unchecked doc.Node
	// plain are codes, as written, that are right in any context.
	plain map[string]struct{}
}

// begin resets the checker. Code systems outside the tables are looked up in
// the library.
func (c *codeChecker) begin(rec *resources.Index, systems *profile.Library, add func(issue.Finding)) {
	if c.plain == nil {
		c.plain = map[string]struct{}{}
	}
	c.checked, c.systems, c.unchecked = checked{rec, rec.Doc, add}, systems, doc.None
}

// Records use few codes and repeat them. The cache holds this many; longer
// codes and any beyond the limit are looked up each time.
const (
	longestPlain = 512
	mostPlain    = 2048
)

// isPlain reports whether a code is right in any context: a code of the tables
// that is not in doubts, with a known display.
func (c *codeChecker) isPlain(k *code) bool {
	raw := c.d.Raw(k.object)
	if _, known := c.plain[string(raw)]; known {
		return true
	}
	text := c.d.Str(k.code)
	entry, known := c.lookup(k.object)
	if !known || len(doubtsByCode()[string(text)]) > 0 || unverifiedRange(text) {
		return false
	}
	if display := c.d.Str(c.d.Get(k.object, "display")); len(display) > 0 && !entry.has(display) {
		return false
	}
	if len(raw) <= longestPlain && len(c.plain) < mostPlain {
		c.plain[string(raw)] = struct{}{}
	}
	return true
}

// coding checks one system and code of a Coding or a Quantity.
func (c *codeChecker) coding(k *code) {
	coding, codeNode, at := k.object, k.code, k.at
	system, code := c.d.Str(k.system), c.d.Str(k.code)
	if right, wrong := rightSystem(system); wrong {
		c.complain(k.system, "term-system-uri", issue.T("the URI is another spelling of a known code system"), string(system), issue.Literal(right))
		return
	}
	if c.misused(coding, codeNode, system, code, at) {
		return
	}
	entry, known := c.lookup(coding)
	if !known {
		entry, known = c.theirDisplay(coding)
	}
	switch {
	case known:
		c.display(coding, entry, at)
	case string(system) == profiles.Local || string(system) == profiles.Algorithm:
		c.unknown(codeNode, system, code)
	case string(system) == profiles.LOINC:
		c.digit(codeNode, code, loincOK(code))
	case string(system) == profiles.SNOMED:
		c.digit(codeNode, code, snomedOK(code))
	default:
		c.published(coding, codeNode, system, code, at)
	}
}

// published looks the code up in the code systems of R4 and of packages.
func (c *codeChecker) published(coding, codeNode doc.Node, system, code []byte, at int) {
	display, found := c.systems.Code(string(system), string(code))
	switch found {
	case profile.InSystem:
		if written := c.d.Str(c.d.Get(coding, "display")); display != "" && !strings.EqualFold(display, string(written)) {
			c.display(coding, entry{displays: []string{display}}, at)
		}
	case profile.NotInSystem:
		c.complain(codeNode, "term-unknown-code", issue.T("the code system {} has no such code", string(system)), string(code), issue.Text{})
	case profile.NotInFragment:
		c.complain(codeNode, "term-not-in-fragment", issue.T("the part of the code system {} that is published with R4 has no such code", string(system)),
			string(code), issue.Text{})
	default:
		if c.unchecked == doc.None && checkableElsewhere(system) {
			c.unchecked = codeNode
		}
	}
}

// maxKey is longer than any system and code in the tables.
const maxKey = 128

func (c *codeChecker) lookup(coding doc.Node) (entry, bool) {
	var room [maxKey]byte
	e, ok := knownCodes()[string(c.rec.CodeKey(room[:0], coding))]
	return e, ok
}

func (c *codeChecker) digit(node doc.Node, code []byte, ok bool) {
	if !ok {
		c.complain(node, "term-check-digit", issue.T("the code has not the form or the check digit of its system"), string(code), issue.Text{})
		return
	}
	if c.unchecked == doc.None {
		c.unchecked = node
	}
}

// unknown reports a code that our own systems do not define. It skips an
// unknown version of a known method: the recomputation reports it.
func (c *codeChecker) unknown(node doc.Node, system, code []byte) {
	if string(system) == profiles.Algorithm && knownMethod(code) {
		return
	}
	c.complain(node, "term-local-unknown", issue.T("the code system does not define this code"), string(code), issue.Text{})
}

// display compares the display with the known ones. A resource in a language
// other than English may use displays of that language.
func (c *codeChecker) display(coding doc.Node, known entry, at int) {
	node := c.d.Get(coding, "display")
	text := c.d.Str(node)
	if len(text) == 0 || known.has(text) {
		return
	}
	language := c.d.Str(c.d.Get(c.rec.Resources[at].Node, "language"))
	if len(language) > 0 && !bytes.HasPrefix(language, []byte("en")) {
		return
	}
	c.complain(node, "term-display", issue.T("the display is not the code system's"), string(text), issue.Literal(known.first()))
}

// checkableElsewhere reports whether a terminology server is expected to know
// the system.
func checkableElsewhere(system []byte) bool {
	switch string(system) {
	case rxnorm, atc, mdc:
		return true
	}
	return false
}
