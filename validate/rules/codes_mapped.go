package rules

import (
	"fmt"
	"slices"

	"runsheet.example/profiles"
	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
)

// mapped compares the codes of measurements with the map of the receiver's
// codes.
func (c *codeChecker) mapped() {
	for i := range c.rec.Resources {
		res := &c.rec.Resources[i]
		if res.Type != "Observation" && res.Type != "DiagnosticReport" {
			continue
		}
		c.beside(res.Code)
		if res.Type != "Observation" {
			continue
		}
		for part := c.d.FirstChild(res.Component); part != doc.None; part = c.d.Next(part) {
			c.beside(c.d.Get(part, "code"))
		}
	}
}

// beside checks that each code of ours with a target has it beside it, and
// that each code of the receiver stands for a code of ours beside it or, where
// it replaces a local one, for one that may stand there.
func (c *codeChecker) beside(concept doc.Node) {
	var present []profiles.Coding
	list := c.d.Get(concept, "coding")
	for n := c.d.FirstChild(list); n != doc.None; n = c.d.Next(n) {
		present = append(present, c.codingOf(n))
	}
	for n, i := c.d.FirstChild(list), 0; n != doc.None; n, i = c.d.Next(n), i+1 {
		coding := present[i]
		if target, ok := c.theirs.Target(coding); ok && !slices.Contains(present, profiles.Coding{System: target.System, Code: target.Code}) {
			c.complain(n, "term-map-missing", issue.T("the code that the map gives for this one does not stand beside it"),
				coding.String(), issue.Literal(target.String()))
		}
		if sources := c.theirs.Sources(coding); len(sources) > 0 && !slices.ContainsFunc(sources, func(s profiles.Coding) bool { return standsFor(present, s) }) {
			c.complain(n, "term-map-other", issue.T("the map gives this code for another code than stands beside it"),
				coding.String(), issue.Literal(fmt.Sprint(sources)))
		}
	}
}

func (c *codeChecker) codingOf(n doc.Node) profiles.Coding {
	return profiles.Coding{System: string(c.d.Str(c.d.Get(n, "system"))), Code: string(c.d.Str(c.d.Get(n, "code")))}
}

// standsFor reports whether a source code is among the codes, or is a local
// one that may have been replaced: then no other local code is there, and
// every LOINC code of the tables is of one row with it.
func standsFor(present []profiles.Coding, source profiles.Coding) bool {
	if slices.Contains(present, source) {
		return true
	}
	if source.System != profiles.Local {
		return false
	}
	for _, p := range present {
		rows := profiles.ByCode(p.System, p.Code)
		together := slices.ContainsFunc(rows, func(m profiles.Measurement) bool {
			return slices.ContainsFunc(m.Codings, func(c profiles.Coding) bool { return c.System == source.System && c.Code == source.Code })
		})
		if p.System == profiles.Local || len(rows) > 0 && !together {
			return false
		}
	}
	return true
}

// theirDisplay is the entry of a code of the map.
func (c *codeChecker) theirDisplay(coding doc.Node) (e entry, known bool) {
	if c.theirs == nil {
		return entry{}, false
	}
	code := c.codingOf(coding)
	e.allow(c.theirs.Display(code))
	return e, len(c.theirs.Sources(code)) > 0
}
