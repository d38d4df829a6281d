// Package hl7v2 writes a record of package fhirmap as an HL7 version 2.5.1
// message, for a receiver without FHIR: one ORU^R01 (structure ORU_R01) for a
// session, for the weeks of a log, or for a report. It reads the FHIR resources
// of the record and nothing else, so that every value is the one in FHIR.
//
// A message is segments, each ended by a carriage return, in UTF-8. It is
// without the block characters of the Minimal Lower Layer Protocol: whoever
// transmits it adds those.
//
// # Content
//
//   - MSH-7 and OBR-22 are the time at which the record was closed, or of the
//     amendment; never that of the export.
//   - MSH-10 is the first 100 bits of a SHA-256 in base 32, 20 characters: over
//     the identity of the record, the number of the message about it, and all
//     segments from PID on except OBR-22. The same content has the same id; a
//     corrected version has another one, also if it restores an earlier
//     content. Among 10^9 messages two are equal with a probability below
//     10^-12 (n²/2^101).
//   - MSH-4 is the UUID of the log. MSH-5 and MSH-6 are the receiver's to fill.
//   - PID-3 is the patient's identifier with its assigning authority, PID-5 is
//     empty with name type U (unspecified): the record holds no name.
//   - OBR-3 is the identity of the record and the same in every message about
//     it. OBR-29 is the clinic's order; it is not OBR-2, because one order
//     holds for many sessions. OBR-25 is F, C in a correction, X for a session
//     that was not done or is withdrawn, P for a report with preliminary
//     values. The notes of a Procedure, and what it names by words only, follow
//     as NTE.
//   - OBX-3 is the first coding of the code, with the last one as alternate
//     (the receiver's, with a map of codes), or else the role of the resource in
//     the record (system L) and its text. Codes of [profiles.Local] have the
//     system 99RSH, those of [profiles.Algorithm] 99RSM.
//   - OBX-4 is the number of the reading for all its values, otherwise the
//     first 64 bits of the identity of the Observation, the same for all its
//     components; a second component with the same code has ".2" behind it.
//     OBX-3 and OBX-4 distinguish the values of a message and are
//     the same in every message about the record.
//   - OBX-5 is the decimal as written. A value with a comparator is SN, a text
//     is ST, TX if longer than ST allows, FT if it has line breaks.
//   - OBX-11 is F, P, C for a value of a later version, X without a value, D
//     for a value withdrawn. OBX-14 is the time or the start of the period; a
//     period other than the session's stands in an NTE.
//   - OBX-15 is the laboratory, OBX-17 the method, OBX-18 the device by name
//     and UUID. A new name of a device alone makes no correction.
//   - NTE are the notes, the reason of an absent value and the calculation.
//
// A message about corrections repeats the whole record, so that a receiver may
// replace all it has of OBR-3, or each OBX by OBX-3 and OBX-4.
//
// # Medicines
//
// A medicine is OBX segments with one OBX-4: what, dose, rate, route and end,
// with codes of the system L. ORU^R01 has no segment for an administration, and
// a second kind of message (RAS^O17) would part the dose from its session and
// needs a second interface.
//
// # Left out
//
// An Observation without a value of its own (a panel), references between
// Observations, the HTML form of a report, and tags and profiles of meta.
//
// Structures, fields and tables are those of HL7 version 2.5.1, chapters 2
// (escape sequences, batches, data types) and 7 (ORU, OBR, OBX; tables 0085,
// 0123); table 0396 names LN, SCT, UCUM, L and 99zzz (memory).
package hl7v2
