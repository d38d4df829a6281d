package rules

import (
	"bytes"

	"runsheet.example/profiles"
)

// Code systems that are known by name only.
const (
	rxnorm = "http://www.nlm.nih.gov/research/umls/rxnorm"
	atc    = "http://www.whocc.no/atc"
	mdc    = "urn:iso:std:iso:11073:10101"
	icd10  = "http://hl7.org/fhir/sid/icd-10"
)

// byOID maps the OIDs of HL7 v3 to the URIs of FHIR (HL7 OID registry; FHIR R4
// 4.0.1 external code systems).
var byOID = map[string]string{
	"urn:oid:2.16.840.1.113883.6.1":            profiles.LOINC,
	"urn:oid:2.16.840.1.113883.6.96":           profiles.SNOMED,
	"urn:oid:2.16.840.1.113883.6.8":            profiles.UCUM,
	"urn:oid:2.16.840.1.113883.6.88":           rxnorm,
	"urn:oid:2.16.840.1.113883.6.73":           atc,
	"urn:oid:2.16.840.1.113883.6.24":           mdc,
	"urn:oid:2.16.840.1.113883.6.3":            icd10,
	"http://hl7.org/fhir/data-absent-reason":   profiles.DataAbsentReason,
	"http://hl7.org/fhir/observation-category": profiles.ObservationCategory,
}

// byHost maps the host and path of a URI, without scheme, "www." and final
// slash, to its system.
var byHost = map[string]string{
	"loinc.org":                        profiles.LOINC,
	"snomed.info/sct":                  profiles.SNOMED,
	"snomed.info":                      profiles.SNOMED,
	"snomed.org/sct":                   profiles.SNOMED,
	"unitsofmeasure.org":               profiles.UCUM,
	"ucum.org":                         profiles.UCUM,
	"whocc.no/atc":                     atc,
	"nlm.nih.gov/research/umls/rxnorm": rxnorm,
	"loinc":                            profiles.LOINC,
	"snomed":                           profiles.SNOMED,
	"snomed-ct":                        profiles.SNOMED,
	"ucum":                             profiles.UCUM,
	"terminology.hl7.org/codesystem/observation-category":        profiles.ObservationCategory,
	"terminology.hl7.org/codesystem/data-absent-reason":          profiles.DataAbsentReason,
	"terminology.hl7.org/codesystem/v3-observationvalue":         profiles.ObservationValue,
	"terminology.hl7.org/codesystem/provenance-participant-type": profiles.ParticipantType,
	"terminology.hl7.org/codesystem/v3-dataoperation":            profiles.DataOperation,
	"terminology.hl7.org/codesystem/v3-routeofadministration":    profiles.RouteOfAdmin,
	"hl7.org/fhir/administrative-gender":                         profiles.AdministrativeSex,
}

// fine are systems whose spelling needs no check.
func fine(system []byte) bool {
	switch string(system) {
	case profiles.LOINC, profiles.SNOMED, profiles.UCUM, profiles.Local, profiles.Algorithm,
		profiles.ObservationCategory, profiles.DataAbsentReason, profiles.ObservationValue,
		profiles.ParticipantType, profiles.DataOperation, profiles.RouteOfAdmin, profiles.AdministrativeSex,
		rxnorm, atc, mdc:
		return true
	}
	return false
}

// rightSystem returns the URI that FHIR fixes for a system in another
// spelling.
func rightSystem(system []byte) (right string, wrong bool) {
	if fine(system) {
		return "", false
	}
	if right, ok := byOID[string(system)]; ok {
		return right, true
	}
	plain := bytes.ToLower(system)
	for _, scheme := range [...]string{"http://", "https://", "urn:"} {
		if rest, ok := bytes.CutPrefix(plain, []byte(scheme)); ok {
			plain = rest
			break
		}
	}
	plain, _ = bytes.CutPrefix(plain, []byte("www."))
	plain = bytes.TrimRight(plain, "/")
	right, wrong = byHost[string(plain)]
	if wrong && right == string(system) {
		return "", false
	}
	return right, wrong
}
