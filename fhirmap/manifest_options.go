package fhirmap

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
)

// ManifestOptions are the choices an export was made with, as far as they
// decide what its resources hold. A correction of the record must be made with
// the same ones: what a choice leaves out would else count as withdrawn. A
// member that is missing has its zero value.
type ManifestOptions struct {
	// Format is [optionsFormat].
	Format int `json:"format"`
	// Patient is the literal reference at the receiver, such as Patient/123.
	Patient       string         `json:"patient,omitempty"`
	CreatePatient bool           `json:"createPatient"`
	NoComputed    bool           `json:"noComputed"`
	NoNotes       bool           `json:"noNotes"`
	Serials       bool           `json:"serials"`
	Series        Series         `json:"series"`
	Provenance    ProvenanceMode `json:"provenance"`
	// ClaimProfiles is the base of the canonical URLs claimed; empty claims
	// none.
	ClaimProfiles string `json:"claimProfiles,omitempty"`
}

// optionsFormat is raised when a reader of an older format would misread the
// options.
const optionsFormat = 1

// Recorded gives the options as a manifest holds them, the usual choices
// written out.
func (o Options) Recorded() ManifestOptions {
	out := ManifestOptions{
		Format: optionsFormat, Patient: o.PatientReference, CreatePatient: o.CreatePatient,
		NoComputed: o.NoComputed, NoNotes: o.NoNotes, Serials: o.Serials,
		Series: o.Series, Provenance: o.Provenance, ClaimProfiles: o.ClaimProfiles,
	}
	if out.Series == "" {
		out.Series = AllReadings
	}
	if out.Provenance == "" {
		out.Provenance = ConditionalProvenance
	}
	return out
}

// Options are the mapper's options that the manifest's stand for, but for the
// tool, which is not among them.
func (m ManifestOptions) Options() Options {
	return Options{
		PatientReference: m.Patient, CreatePatient: m.CreatePatient, NoComputed: m.NoComputed, NoNotes: m.NoNotes,
		Serials: m.Serials, Series: m.Series, Provenance: m.Provenance, ClaimProfiles: m.ClaimProfiles,
	}
}

// errNewerOptions means that a choice may have been made that is not known
// here, so that a correction could undo it.
var errNewerOptions = errors.New("the export was made by a newer program, with options that are not known here: use that program")

// ParseManifestOptions reads the options of a manifest; nil for none, as
// manifests had none at first. Options this program does not know are an
// error.
func ParseManifestOptions(text []byte) (*ManifestOptions, error) {
	if len(text) == 0 || bytes.Equal(text, []byte("null")) {
		return nil, nil
	}
	var out ManifestOptions
	if err := json.Unmarshal(text, &out); err != nil {
		return nil, errors.New("the options of the export were damaged")
	}
	strict := json.NewDecoder(bytes.NewReader(text))
	strict.DisallowUnknownFields()
	if err := strict.Decode(&out); err != nil {
		return nil, errNewerOptions
	}
	if out.Format != optionsFormat {
		return nil, errNewerOptions
	}
	if err := out.Options().Check(); err != nil {
		return nil, fmt.Errorf("the options of the export were damaged: %w", err)
	}
	return &out, nil
}
