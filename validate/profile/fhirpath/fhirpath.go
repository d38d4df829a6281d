// Package fhirpath evaluates the invariants of FHIR profiles: expressions of
// FHIRPath (HL7, Normative Release 1) with the additions of FHIR R4, on the
// nodes of a parsed document.
//
// Numbers are exact. What would read a clock (now, today), a terminology the
// caller does not have, or a regular expression beyond RE2 is not supported:
// the expression then has no result, and says so, rather than a wrong one.
// Amounts of work and memory are bounded, since expressions come from
// packages that somebody else wrote.
//
// It departs from the letter in two points, as published invariants need it:
// as() keeps the items of a type where there are several, and a backslash
// before a letter that needs none stands for itself.
package fhirpath
