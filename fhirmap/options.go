package fhirmap

import (
	"fmt"

	"runsheet.example/profiles"
)

// Series is how many of a session's readings are written.
type Series string

// The choices for [Options.Series].
const (
	AllReadings  Series = "all"
	FirstAndLast Series = "first-last"
)

// ProvenanceMode is how the Provenance is sent. R4 gives it no identifier, so
// its condition against duplicates is weaker than the others'.
type ProvenanceMode string

// The choices for [Options.Provenance].
const (
	// ConditionalProvenance creates it unless one of the same session with the
	// same recorded time exists.
	ConditionalProvenance ProvenanceMode = "conditional"
	// PutProvenance puts it under our own id, for servers that allow that.
	PutProvenance ProvenanceMode = "put"
	// NoProvenance leaves it out.
	NoProvenance ProvenanceMode = "none"
)

// References is how resources refer to each other.
type References uint8

const (
	// ByURN uses urn:uuid, the right form within a Bundle.
	ByURN References = iota
	// ByTypeID uses Type/id and gives every resource an id, the right form for
	// NDJSON.
	ByTypeID
)

// Options are the receiver's choices. The zero value, with a Tool, is the
// default export.
type Options struct {
	// Tool is the program in the software Device and the manifest.
	Tool Tool
	// PatientReference is the literal "Patient/ID" at the receiver. Without
	// it, references find the patient by identifier.
	PatientReference string
	// CreatePatient adds a Patient with only an identifier, created only if
	// the receiver has none.
	CreatePatient bool
	// LogicalPatient refers to the patient by identifier alone, for forms in
	// which a conditional reference has no meaning.
	LogicalPatient bool
	NoComputed     bool
	// NoNotes omits every free text; see withoutWords.
	NoNotes    bool
	Serials    bool // write device serial numbers
	Series     Series
	Provenance ProvenanceMode
	References References
	// ClaimProfiles is the base of the canonical URLs of our own profiles in
	// meta.profile. Empty claims none: a server that does not know a profile
	// may refuse the record.
	ClaimProfiles string
}

// Tool is the name and version of the program.
type Tool struct{ Name, Version string }

// Check reports options that contradict each other.
func (o Options) Check() error {
	if o.ClaimProfiles != "" {
		if err := profiles.CheckCanonical(o.ClaimProfiles); err != nil {
			return err
		}
	}
	switch {
	case o.PatientReference != "" && o.CreatePatient:
		return fmt.Errorf("a known patient and a new patient exclude each other")
	case o.References == ByTypeID && o.PatientReference == "" && !o.CreatePatient:
		return fmt.Errorf("references by Type/id need the patient's id at the receiver, or a patient to be created")
	case o.Series != "" && o.Series != AllReadings && o.Series != FirstAndLast:
		return fmt.Errorf("series %q: expected %s or %s", o.Series, AllReadings, FirstAndLast)
	case o.Provenance != "" && o.Provenance != ConditionalProvenance && o.Provenance != PutProvenance && o.Provenance != NoProvenance:
		return fmt.Errorf("provenance %q: expected %s, %s or %s", o.Provenance, ConditionalProvenance, PutProvenance, NoProvenance)
	default:
		return nil
	}
}
