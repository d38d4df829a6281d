// Package fhirpath evaluates the invariants of FHIR profiles: expressions of
// FHIRPath (HL7, Normative Release 1) with the additions of FHIR R4, on the
// nodes of a parsed document.
//
// Numbers are exact. It does not support the clock (now, today), terminologies
// that the caller does not have, and regular expressions beyond RE2: such an
// expression returns an error instead of a wrong result. It limits work and
// memory, since expressions come from packages of other authors.
//
// It deviates from the specification in two points that published invariants
// need: as() keeps the matching items of several, and an unnecessary backslash
// before a letter is literal.
package fhirpath
