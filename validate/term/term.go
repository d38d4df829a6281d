// Package term checks codes as far as that is possible without a terminology
// server: the spelling of the code systems' URIs, the check digits of LOINC
// and SNOMED CT, the codes and displays of the tables that come with the
// validator, those of HL7's own code systems and of packages, and a list of
// codes that are known to be misused in dialysis records.
//
// Whether any other code exists and is active is not checked, and said so
// once.
package term

import (
	"bytes"
	"strings"

	"runsheet.example/profiles"
	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/profile"
	"runsheet.example/validate/record"
)

// Checker checks one document after the other, keeping what it learnt of codes.
// The zero value is ready for use; a Checker must not be used by two goroutines
// at once.
type Checker struct {
	rec       *record.Record
	d         *doc.Doc
	systems   *profile.Library
	add       func(issue.Finding)
	unchecked doc.Node
	// plain are codes, as written, in which nothing can be wrong whatever
	// stands around them.
	plain map[string]struct{}
}

// Check reports what is wrong with the codes of a document, which were read.
// Code systems that are in no table are looked up in the library. It returns the first code of a known code system that is in none of the tables,
// or doc.None: the caller reports once that such codes were not looked up.
func (c *Checker) Check(rec *record.Record, systems *profile.Library, add func(issue.Finding)) (unchecked doc.Node) {
	if c.plain == nil {
		c.plain = map[string]struct{}{}
	}
	c.rec, c.d, c.systems, c.add, c.unchecked = rec, rec.Doc, systems, add, doc.None
	for i := range rec.Codes {
		code := &rec.Codes[i]
		if !c.isPlain(code) {
			c.coding(code.Object, code.System, code.Code, code.At)
		}
	}
	return c.unchecked
}

// The codes of records are few and come again in every one. Longer ones, and
// more than so many, are looked up each time.
const (
	longestPlain = 512
	mostPlain    = 2048
)

// isPlain reports whether nothing can be wrong with a code whatever stands
// around it: a unit, which another layer looks at, or a code of the tables that
// is in no doubt, with its own display.
func (c *Checker) isPlain(code *record.Code) bool {
	if string(c.d.Str(code.System)) == profiles.UCUM {
		return true
	}
	raw := c.d.Raw(code.Object)
	if _, known := c.plain[string(raw)]; known {
		return true
	}
	text := c.d.Str(code.Code)
	entry, known := c.lookup(code.Object)
	if !known || len(doubtsByCode()[string(text)]) > 0 || unverifiedRange(text) {
		return false
	}
	if display := c.d.Str(c.d.Get(code.Object, "display")); len(display) > 0 && !entry.has(display) {
		return false
	}
	if len(raw) <= longestPlain && len(c.plain) < mostPlain {
		c.plain[string(raw)] = struct{}{}
	}
	return true
}

// coding checks one system and code, of a Coding or a Quantity.
func (c *Checker) coding(coding, systemNode, codeNode doc.Node, at int) {
	system, code := c.d.Str(systemNode), c.d.Str(codeNode)
	if right, wrong := rightSystem(system); wrong {
		f := c.d.Finding(systemNode, "term-system-uri")
		f.Details, f.Value, f.Expected = "the URI is another spelling of a known code system", string(system), right
		c.add(f)
		return
	}
	if string(system) == profiles.UCUM {
		return
	}
	if c.misused(coding, codeNode, system, code, at) {
		return
	}
	entry, known := c.lookup(coding)
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
func (c *Checker) published(coding, codeNode doc.Node, system, code []byte, at int) {
	display, found := c.systems.Code(string(system), string(code))
	switch found {
	case profile.InSystem:
		if written := c.d.Str(c.d.Get(coding, "display")); display != "" && !strings.EqualFold(display, string(written)) {
			c.display(coding, entry{displays: []string{display}}, at)
		}
	case profile.NotInSystem:
		f := c.d.Finding(codeNode, "term-unknown-code")
		f.Details, f.Value = "the code system "+string(system)+" has no such code", string(code)
		c.add(f)
	case profile.NotInFragment:
		f := c.d.Finding(codeNode, "term-not-in-fragment")
		f.Details, f.Value = "the part of the code system "+string(system)+" that is published with R4 has no such code", string(code)
		c.add(f)
	default:
		if c.unchecked == doc.None && checkableElsewhere(system) {
			c.unchecked = codeNode
		}
	}
}

// maxKey is longer than any system and code in the tables.
const maxKey = 128

func (c *Checker) lookup(coding doc.Node) (entry, bool) {
	var room [maxKey]byte
	e, ok := knownCodes()[string(c.rec.CodeKey(room[:0], coding))]
	return e, ok
}

func (c *Checker) digit(node doc.Node, code []byte, ok bool) {
	if !ok {
		f := c.d.Finding(node, "term-check-digit")
		f.Details, f.Value = "the code has not the form or the check digit of its system", string(code)
		c.add(f)
		return
	}
	if c.unchecked == doc.None {
		c.unchecked = node
	}
}

// unknown reports a code that our own systems do not define. A version of a
// method that is not known is not an unknown method, and said where the value
// is computed again.
func (c *Checker) unknown(node doc.Node, system, code []byte) {
	if string(system) == profiles.Algorithm && knownMethod(code) {
		return
	}
	f := c.d.Finding(node, "term-local-unknown")
	f.Details, f.Value = "the code system does not define this code", string(code)
	c.add(f)
}

// display compares the display with those the table knows. A resource in
// another language than English may use that language's words.
func (c *Checker) display(coding doc.Node, known entry, at int) {
	node := c.d.Get(coding, "display")
	text := c.d.Str(node)
	if len(text) == 0 || known.has(text) {
		return
	}
	language := c.d.Str(c.d.Get(c.rec.Resources[at].Node, "language"))
	if len(language) > 0 && !bytes.HasPrefix(language, []byte("en")) {
		return
	}
	f := c.d.Finding(node, "term-display")
	f.Details, f.Value, f.Expected = "the display is not the code system's", string(text), known.first()
	c.add(f)
}

// checkableElsewhere reports whether a terminology server would be expected
// to know the system.
func checkableElsewhere(system []byte) bool {
	switch string(system) {
	case rxnorm, atc, mdc:
		return true
	}
	return false
}
