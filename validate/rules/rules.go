// Package rules holds what a record must satisfy beyond the structure and
// invariants of R4, as far as one document shows it.
//
//   - Units: a code declared as UCUM is valid UCUM (Schadow and McDonald,
//     version 2.1), the display unit does not contradict the coded unit, and a
//     measurement in the code table has a unit of the right dimension. Any such
//     unit can be converted, so an unexpected one is a warning; a unit of
//     another dimension is an error. Mass and substance concentrations have
//     different dimensions in UCUM, as they have different codes in LOINC.
//   - Codes, without a terminology server: the spelling of code system URIs,
//     the check digits of LOINC and SNOMED CT, codes and displays of the
//     validator's tables, of HL7's own code systems and of packages, and a list
//     of codes known to be misused in dialysis records.
//   - References and the identity of Bundle entries (FHIR R4 4.0.1 Reference,
//     Bundle, RESTful API transactions): every reference resolves to a target of
//     an allowed type, entries are identified so that sending them twice is
//     harmless, and the resources of one session have one patient. The FHIRPath
//     invariants of R4 (bdl-*, dom-*, ref-1) are not repeated.
//   - Origin of documents with patient-entered values: a Provenance for every
//     clinical resource, the patient as its author, the security label PATAST,
//     and the patient as performer of readings at home. A hospital's own Bundle
//     needs none of this.
package rules

import (
	"runsheet.example/profiles"
	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/profile"
	"runsheet.example/validate/resources"
	"runsheet.example/validate/structure"
)

// Checker checks documents one after another and reuses its memory. The zero
// value is ready for use. A Checker is not safe for concurrent use.
type Checker struct {
	// Codes are the codes of a receiver that may stand beside ours, nil for
	// none.
	Codes *profiles.CodeMap

	references referenceChecker
	codes      codeChecker
	provenance provenanceChecker
}

// checked is the document that the checkers of this package look at, and where
// they report.
type checked struct {
	rec *resources.Index
	d   *doc.Doc
	add func(issue.Finding)
}

// complain adds a finding about a value.
func (c *checked) complain(n doc.Node, rule string, details issue.Text, value string, expected issue.Text) {
	c.add(c.d.Finding(n, rule, details).Seen(value, expected))
}

// Check reports faults in rec, which types must have checked. Code systems outside the tables are looked up in the library. line
// reports that the document is one line of an NDJSON file.
//
// It returns the first code of a known code system that no table contains, or
// doc.None: the caller reports once that such codes were not looked up.
func (c *Checker) Check(rec *resources.Index, types *structure.Checker, systems *profile.Library, line bool, add func(issue.Finding)) (unchecked doc.Node) {
	c.references.check(rec, types, line, add)
	unchecked = c.coded(rec, types, systems, add)
	c.provenance.check(rec, add)
	return unchecked
}

// code is a code with its system, both as written.
type code struct {
	// object is the parent of code and system, a Coding or a Quantity.
	object, system, code doc.Node
	// at is the index of the innermost resource that contains it.
	at int
}

// coded checks units and other codes.
func (c *Checker) coded(rec *resources.Index, types *structure.Checker, systems *profile.Library, add func(issue.Finding)) (unchecked doc.Node) {
	if rec.Root() == nil {
		return doc.None
	}
	d := rec.Doc
	units := unitChecker{checked: checked{rec, d, add}}
	c.codes.begin(rec, systems, add)
	c.codes.theirs = c.Codes
	around := rec.Around()
	for _, object := range types.Coded() {
		k := code{object, doc.None, doc.None, around.Of(object)}
		for m := d.FirstChild(object); m != doc.None; m = d.Next(m) {
			switch string(d.Key(m)) {
			case "system":
				k.system = m
			case "code":
				k.code = m
			}
		}
		switch {
		case d.Kind(k.system) != doc.String || d.Kind(k.code) != doc.String:
		case string(d.Str(k.system)) == profiles.UCUM:
			units.check(&k)
		case !c.codes.isPlain(&k):
			c.codes.coding(&k)
		}
	}
	units.observations()
	if c.Codes != nil {
		c.codes.mapped()
	}
	return c.codes.unchecked
}
