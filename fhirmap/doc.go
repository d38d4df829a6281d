// Package fhirmap writes a home haemodialysis log as FHIR R4 4.0.1.
//
// One session becomes one set of resources: a Procedure as the hub, one
// Observation for each value and time that is part of it, one
// MedicationAdministration for each medicine given, the Devices used, and a
// Provenance with its author and its source. [Map] makes the resources;
// [SessionRecord.Transaction], [Month.Collection] and [Month.Document] convert
// them to the Bundles that receivers accept.
//
// Identity. Every resource has an identifier that is a UUIDv5 of the patient,
// the log, the session, the role of the value and its ordinal, never of the
// value, so that a corrected value keeps its identity and a second export
// never doubles the chart. No resource contains the time of export: the same
// log gives the same bytes.
//
// Nothing is estimated or filled in. A recorded absence is an Observation with
// dataAbsentReason; an empty cell is left out.
package fhirmap
