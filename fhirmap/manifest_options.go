package fhirmap

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"

	"runsheet.example/validate/manifest"
)

// Recorded gives the options as a manifest holds them, the usual choices
// written out.
func (o Options) Recorded() manifest.Options {
	out := manifest.Options{
		Format: manifest.OptionsFormat, Patient: o.PatientReference, CreatePatient: o.CreatePatient,
		NoComputed: o.NoComputed, NoNotes: o.NoNotes, Serials: o.Serials,
		Series: string(o.Series), Provenance: string(o.Provenance), ClaimProfiles: o.ClaimProfiles,
	}
	if out.Series == "" {
		out.Series = string(AllReadings)
	}
	if out.Provenance == "" {
		out.Provenance = string(ConditionalProvenance)
	}
	return out
}

// OptionsOf are the mapper's options that the manifest's stand for, but for the
// tool, which is not among them.
func OptionsOf(m manifest.Options) Options {
	return Options{
		PatientReference: m.Patient, CreatePatient: m.CreatePatient, NoComputed: m.NoComputed, NoNotes: m.NoNotes,
		Serials: m.Serials, Series: Series(m.Series), Provenance: ProvenanceMode(m.Provenance), ClaimProfiles: m.ClaimProfiles,
	}
}

// errNewerOptions means that a choice may have been made that is not known
// here, so that a correction could undo it.
var errNewerOptions = errors.New("the export was made by a newer program, with options that are not known here: use that program")

// ParseManifestOptions reads the options of a manifest; nil for none, as
// manifests had none at first. Options this program does not know are an
// error.
func ParseManifestOptions(text []byte) (*manifest.Options, error) {
	if len(text) == 0 || bytes.Equal(text, []byte("null")) {
		return nil, nil
	}
	var out manifest.Options
	if err := json.Unmarshal(text, &out); err != nil {
		return nil, errors.New("the options of the export were damaged")
	}
	strict := json.NewDecoder(bytes.NewReader(text))
	strict.DisallowUnknownFields()
	if err := strict.Decode(&out); err != nil {
		return nil, errNewerOptions
	}
	if out.Format != manifest.OptionsFormat {
		return nil, errNewerOptions
	}
	if err := OptionsOf(out).Check(); err != nil {
		return nil, fmt.Errorf("the options of the export were damaged: %w", err)
	}
	return &out, nil
}
