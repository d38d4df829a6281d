// Package profiles holds what Runsheet and the receivers of its records must
// agree on, as data: code systems, the code of every measurement, the units
// each may be written in, and how computed values name their inputs.
//
// Both the mapper and the validator read these tables, so that a code exists
// in one place. Every standard code names where code and meaning were seen
// together; codes that could not be verified so are not here. Where no
// standard code exists, the table has one of [Local], always with
// display and text.
//
// This material contains content from LOINC (http://loinc.org). LOINC is
// copyright © Regenstrief Institute, Inc. and the Logical Observation
// Identifiers Names and Codes (LOINC) Committee and is available at no cost
// under the license at http://loinc.org/license. LOINC® is a registered United
// States trademark of Regenstrief Institute, Inc. The SNOMED CT concepts used
// by default are members of the Global Patient Set (CC BY 4.0).
package profiles

// Code systems and identifier systems that reach output.
const (
	LOINC  = "http://loinc.org"
	SNOMED = "http://snomed.info/sct"
	UCUM   = "http://unitsofmeasure.org"

	ObservationCategory = "http://terminology.hl7.org/CodeSystem/observation-category"
	DataAbsentReason    = "http://terminology.hl7.org/CodeSystem/data-absent-reason"
	AbsentExtension     = "http://hl7.org/fhir/StructureDefinition/data-absent-reason"
	ActCodePatientRole  = "http://terminology.hl7.org/CodeSystem/v3-RoleCode"
	ObservationValue    = "http://terminology.hl7.org/CodeSystem/v3-ObservationValue"
	DataOperation       = "http://terminology.hl7.org/CodeSystem/v3-DataOperation"
	ParticipantType     = "http://terminology.hl7.org/CodeSystem/provenance-participant-type"
	RouteOfAdmin        = "http://terminology.hl7.org/CodeSystem/v3-RouteOfAdministration"
	AdministrativeSex   = "http://hl7.org/fhir/administrative-gender"
	Statistics          = "http://terminology.hl7.org/CodeSystem/observation-statistics"
	DiagnosticService   = "http://terminology.hl7.org/CodeSystem/v2-0074"

	// BodyPosition is the HL7 core extension for the position of the body.
	BodyPosition = "http://hl7.org/fhir/StructureDefinition/observation-bodyPosition"

	// RecordIdentifier is the system of every record identifier we make;
	// the value is a "urn:uuid:" URI (FHIR R4, Identifier).
	RecordIdentifier = "urn:ietf:rfc:3986"

	// Local is our own code system, used only where no standard code exists.
	// The OID is made from a UUID (ITU-T X.667), so it needs no registration
	// and no domain.
	Local = "urn:oid:2.25.335990940244883323309943966314996822642"
	// LocalVersion is the version of the local code system.
	LocalVersion = "1"
	// Algorithm is the code system of computing methods; a code is the
	// method's id, a hyphen and its version.
	Algorithm = "urn:oid:2.25.126534698663615512692703441983600176732"
)
