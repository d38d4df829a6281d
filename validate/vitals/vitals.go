// Package vitals checks Observations against the vital-signs profiles of FHIR
// R4 4.0.1 (vitalsigns, bp, bmi, bodyheight, bodytemp, bodyweight, headcircum,
// heartrate, oxygensat, resprate, vitalspanel). R4 applies them by LOINC code,
// whether or not an Observation claims one in meta.profile; it also checks
// claimed profiles.
//
// It does not check whether the targets of hasMember and derivedFrom are vital
// signs, nor codes that are synonyms of a profile's code.
package vitals

import (
	"bytes"

	"runsheet.example/profiles"
	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/structure"
)

const (
	profileBase = "http://hl7.org/fhir/StructureDefinition/"
)

// Check checks the document that s checked last.
func Check(s *structure.Checker, add func(issue.Finding)) {
	c := &checker{d: s.Doc(), s: s, add: add}
	for _, n := range s.Resources() {
		if s.TypeOf(n) != structure.Observation {
			continue
		}
		p := c.byCode(s.Child(n, "code"))
		if p == nil {
			p = c.byClaim(n)
		}
		if p != nil {
			c.base(n, p)
			c.profile(n, p)
		}
	}
}

type checker struct {
	d   *doc.Doc
	s   *structure.Checker
	add func(issue.Finding)
}

func (c *checker) report(n doc.Node, rule, details, value, expected string, args ...any) {
	c.add(c.d.Finding(n, rule, issue.T(details, args...)).Seen(value, issue.Literal(expected)))
}

func (c *checker) is(n doc.Node, element, text string) bool {
	return c.d.Is(c.s.Child(n, element), text)
}

// text returns a string element for a finding.
func (c *checker) text(n doc.Node, element string) string {
	return string(c.d.Str(c.s.Child(n, element)))
}

// coding returns system and code of a Coding.
func (c *checker) coding(k doc.Node) (system, code []byte) {
	for m := c.d.FirstChild(k); m != doc.None; m = c.d.Next(m) {
		switch string(c.d.Key(m)) {
		case "system":
			system = c.d.Str(m)
		case "code":
			code = c.d.Str(m)
		}
	}
	return system, code
}

// byCode returns the profile of a code, nil for none.
func (c *checker) byCode(code doc.Node) *profile {
	for k := c.s.First(code, "coding"); k != doc.None; k = c.d.NextItem(k) {
		system, text := c.coding(k)
		if string(system) != profiles.LOINC {
			continue
		}
		if p := byCode(text); p != nil {
			return p
		}
	}
	return nil
}

// byClaim returns the first vital-signs profile that an Observation claims.
func (c *checker) byClaim(n doc.Node) *profile {
	meta := c.s.Child(n, "meta")
	for claim := c.s.First(meta, "profile"); claim != doc.None; claim = c.d.NextItem(claim) {
		url, _, _ := bytes.Cut(c.d.Str(claim), []byte("|"))
		if name, ok := bytes.CutPrefix(url, []byte(profileBase)); ok {
			if p := byName(name); p != nil {
				return p
			}
		}
	}
	return nil
}

// base checks the rules common to all vital signs.
func (c *checker) base(n doc.Node, p *profile) {
	c.category(n)
	c.subject(n)
	c.effective(n)
	if !c.s.Has(n, "component") && !c.s.Has(n, "hasMember") && !c.s.Has(n, "value") && !c.s.Has(n, "dataAbsentReason") {
		c.report(n, "inv-vs-2", "a vital sign without components and members has neither a value nor a reason for its absence", "", "value[x] or dataAbsentReason")
	}
	for k := c.s.First(n, "component"); k != doc.None; k = c.d.NextItem(k) {
		if !c.s.Has(k, "value") && !c.s.Has(k, "dataAbsentReason") {
			c.report(k, "inv-vs-3", "a component of a vital sign has neither a value nor a reason for its absence", "", "value[x] or dataAbsentReason")
		}
		if !p.isPressure || !c.isPressure(k) {
			c.commonUnit(k)
		}
	}
}

func (c *checker) category(n doc.Node) {
	found := 0
	for concept := c.s.First(n, "category"); concept != doc.None; concept = c.d.NextItem(concept) {
		for k := c.s.First(concept, "coding"); k != doc.None; k = c.d.NextItem(k) {
			if system, text := c.coding(k); string(text) == "vital-signs" && string(system) == profiles.ObservationCategory {
				found++
				break
			}
		}
	}
	switch {
	case found == 0:
		c.report(n, "inv-vs-category", "a vital sign is not in the category of vital signs", "", profiles.ObservationCategory+"#vital-signs")
	case found > 1:
		c.report(c.s.Child(n, "category"), "inv-vs-category", "the category of vital signs stands more than once", "", profiles.ObservationCategory+"#vital-signs once")
	}
}

// subject must be present and be a Patient, as far as the reference itself
// shows.
func (c *checker) subject(n doc.Node) {
	subject := c.s.Child(n, "subject")
	if subject == doc.None {
		c.report(n, "inv-vs-subject", "a vital sign has no subject", "", "subject")
		return
	}
	name := c.d.Str(c.s.Child(subject, "type"))
	if name == nil {
		name = typeInReference(c.d.Str(c.s.Child(subject, "reference")))
	}
	if t, ok := structure.ResourceType(name); ok && t != structure.Patient {
		c.report(subject, "inv-vs-subject", "the subject of a vital sign is not a patient", string(name), "Patient")
	}
}

// typeInReference returns the type in a reference such as Patient/1 or
// http://example.org/fhir/Patient/1/_history/2.
func typeInReference(reference []byte) []byte {
	if i := bytes.Index(reference, []byte("/_history/")); i >= 0 {
		reference = reference[:i]
	}
	i := bytes.LastIndexByte(reference, '/')
	if i < 0 {
		return nil
	}
	reference = reference[:i]
	return reference[bytes.LastIndexByte(reference, '/')+1:]
}

func (c *checker) effective(n doc.Node) {
	effective := c.s.Child(n, "effective")
	switch t := c.s.TypeOf(effective); {
	case effective == doc.None:
		c.report(n, "inv-vs-effective", "a vital sign has no time", "", "effectiveDateTime or effectivePeriod")
	case t == structure.Timing || t == structure.Instant:
		c.report(effective, "inv-vs-effective", "the time of a vital sign is neither a dateTime nor a Period", "", "effectiveDateTime or effectivePeriod")
	case t == structure.DateTime && len(c.d.Str(effective)) < 8:
		c.report(effective, "inv-vs-1", "the time of a vital sign is not precise to the day", string(c.d.Str(effective)), "at least YYYY-MM-DD")
	}
}

// commonUnit checks the unit of a component that is a Quantity against the
// units R4 requires for vital signs.
func (c *checker) commonUnit(component doc.Node) {
	value := c.s.Child(component, "value")
	if c.s.TypeOf(value) != structure.Quantity || !c.s.Has(value, "value") {
		return
	}
	if !c.is(value, "system", profiles.UCUM) || !oneOf(c.d.Str(c.s.Child(value, "code")), commonUnits[:]) {
		c.report(value, "inv-vs-unit", "the unit of the component is none that vital signs may have", c.text(value, "code"), list(commonUnits[:]))
	}
}

func oneOf(text []byte, units []string) bool {
	for _, u := range units {
		if u == string(text) {
			return true
		}
	}
	return false
}

func list(units []string) string {
	text := ""
	for i, u := range units {
		if i > 0 {
			text += ", "
		}
		text += u
	}
	return text
}
