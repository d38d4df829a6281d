// Package fhirmap writes a home haemodialysis log as FHIR R4 4.0.1.
//
// One session becomes one set of resources: a Procedure as the hub, one
// Observation for each value and time that is part of it, one
// MedicationAdministration for each medicine given, the Devices used, and a
// Provenance that says who wrote it down and what it was made from. [Map]
// makes the resources; [Month.Transaction], [Month.Collection] and
// [Month.NDJSON] put them into the forms a receiver takes.
//
// Identity. Every resource has an identifier that is a UUIDv5 of the patient,
// the log, the session, the role of the value and its ordinal, never of the
// value, so that a corrected value keeps its identity and a second export
// never doubles the chart. There is no export clock in any resource: the same
// log gives the same bytes.
//
// Nothing is estimated or filled in. A value that was asked for and not
// obtained is an Observation with dataAbsentReason; a value that was never
// written is left out.
package fhirmap
