package fhirmap

import (
	"fmt"

	"runsheet.example/profiles"
)

// Series says how many of a session's readings are written.
type Series string

// The choices for [Options.Series].
const (
	AllReadings  Series = "all"
	FirstAndLast Series = "first-last"
)

// ProvenanceMode says how the Provenance is sent. R4 gives it no identifier,
// so the condition that keeps it from doubling is weaker than the others'.
type ProvenanceMode string

// The choices for [Options.Provenance].
const (
	// ConditionalProvenance creates it unless one of the same session with
	// the same recorded time is there.
	ConditionalProvenance ProvenanceMode = "conditional"
	// PutProvenance updates it under an id of our choosing, for servers
	// that allow that.
	PutProvenance ProvenanceMode = "put"
	// NoProvenance leaves it out.
	NoProvenance ProvenanceMode = "none"
)

// References says how resources refer to each other.
type References uint8

const (
	// ByURN uses urn:uuid, right inside a Bundle.
	ByURN References = iota
	// ByTypeID uses Type/id and gives every resource an id, right for NDJSON.
	ByTypeID
)

// Options are the receiver's choices. The zero value, with a Tool, is the
// default export.
type Options struct {
	// Tool is written into the software Device and the manifest.
	Tool Tool
	// PatientReference is the literal "Patient/ID" at the receiver. Without
	// it the patient is found by identifier.
	PatientReference string
	// CreatePatient adds a Patient with nothing but the identifier, created
	// only when the receiver has none.
	CreatePatient bool
	// LogicalPatient refers to the patient by identifier alone, for forms in
	// which a conditional reference means nothing.
	LogicalPatient bool
	NoComputed     bool
	// NoNotes leaves every free text out, see withoutWords.
	NoNotes    bool
	Serials    bool // write device serial numbers
	Series     Series
	Provenance ProvenanceMode
	References References
	// ClaimProfiles is the base of the canonical URLs under which our own
	// profiles are claimed in meta.profile. Empty claims none: a server that
	// does not know a profile may refuse the record.
	ClaimProfiles string
}

// Tool names the program and its version.
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
