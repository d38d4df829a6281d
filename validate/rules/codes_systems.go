package rules

import (
	"slices"
	"strings"
	"sync"

	"runsheet.example/profiles"
)

// Code systems that are known by name only.
const (
	rxnorm = "http://www.nlm.nih.gov/research/umls/rxnorm"
	atc    = "http://www.whocc.no/atc"
	mdc    = "urn:iso:std:iso:11073:10101"
	icd10  = "http://hl7.org/fhir/sid/icd-10"
)

// knownSystems are the systems whose other spellings are looked for.
var knownSystems = []string{
	profiles.LOINC, profiles.SNOMED, profiles.UCUM, profiles.ObservationCategory, profiles.DataAbsentReason, profiles.ObservationValue,
	profiles.ParticipantType, profiles.DataOperation, profiles.RouteOfAdmin, profiles.AdministrativeSex, rxnorm, atc,
}

// spellings maps other names of systems to their URIs: OIDs of HL7 v3 (HL7 OID
// registry; FHIR R4 4.0.1 external code systems), URIs of earlier versions of
// FHIR, and bare names; and those of the known systems.
var spellings = sync.OnceValue(func() map[string]string {
	all := map[string]string{
		"urn:oid:2.16.840.1.113883.6.1":            profiles.LOINC,
		"urn:oid:2.16.840.1.113883.6.96":           profiles.SNOMED,
		"urn:oid:2.16.840.1.113883.6.8":            profiles.UCUM,
		"urn:oid:2.16.840.1.113883.6.88":           rxnorm,
		"urn:oid:2.16.840.1.113883.6.73":           atc,
		"urn:oid:2.16.840.1.113883.6.24":           mdc,
		"urn:oid:2.16.840.1.113883.6.3":            icd10,
		"http://hl7.org/fhir/data-absent-reason":   profiles.DataAbsentReason,
		"http://hl7.org/fhir/observation-category": profiles.ObservationCategory,

		"loinc": profiles.LOINC, "snomed": profiles.SNOMED, "snomed-ct": profiles.SNOMED, "snomed.info": profiles.SNOMED,
		"snomed.org/sct": profiles.SNOMED, "ucum": profiles.UCUM, "ucum.org": profiles.UCUM,
	}
	for _, system := range knownSystems {
		all[bare(system)] = system
	}
	return all
})

// bare is a URI in lower case without scheme, "www." and final slash.
func bare(uri string) string {
	uri = strings.ToLower(uri)
	for _, scheme := range [...]string{"http://", "https://", "urn:"} {
		if rest, ok := strings.CutPrefix(uri, scheme); ok {
			uri = rest
			break
		}
	}
	return strings.TrimRight(strings.TrimPrefix(uri, "www."), "/")
}

// rightSystem returns the URI that FHIR fixes for a system in another
// spelling.
func rightSystem(system []byte) (right string, wrong bool) {
	if slices.Contains(knownSystems, string(system)) {
		return "", false
	}
	if right, wrong = spellings()[string(system)]; !wrong {
		right, wrong = spellings()[bare(string(system))]
	}
	return right, wrong
}
