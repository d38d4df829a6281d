package fhirmap

import (
	"fmt"

	"runsheet.example/profiles"
	"runsheet.example/validate/manifest"
)

// How many of a session's readings are written.
const (
	AllReadings  = "all"
	FirstAndLast = "first-last"
)

// How the Provenance is sent. R4 gives it no identifier, so its condition
// against duplicates is weaker than the others'.
const (
	// ConditionalProvenance creates it unless one of the same session with the
	// same recorded time exists.
	ConditionalProvenance = "conditional"
	// PutProvenance puts it under our own id, for servers that allow that.
	PutProvenance = "put"
	// NoProvenance leaves it out.
	NoProvenance = "none"
)

// Whether codings have a display.
const (
	EnglishDisplay = "en"
	NoDisplay      = "none"
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
	// Options are the choices that the manifest names.
	manifest.Options
	// Map are the receiver's codes, with the digest in Options.Codes; nil for
	// none. See [Options.UseCodes].
	Map *profiles.CodeMap
	// Tool is the program in the software Device and the manifest.
	Tool Tool
	// LogicalPatient refers to the patient by identifier alone, for forms in
	// which a conditional reference has no meaning.
	LogicalPatient bool
	References     References
}

// Tool is the name and version of the program.
type Tool struct{ Name, Version string }

// UseCodes sets the map of the receiver's codes, or none.
func (o *Options) UseCodes(m *profiles.CodeMap) {
	o.Map, o.Codes = m, manifest.CodeMap{}
	if m != nil {
		o.Codes = manifest.CodeMap{Name: m.Name, SHA256: m.SHA256}
	}
}

// Check reports options that contradict each other, and a map of codes that is
// not the recorded one.
func (o Options) Check() error {
	if err := o.checkRecorded(); err != nil {
		return err
	}
	switch {
	case o.Codes.SHA256 != "" && (o.Map == nil || o.Map.SHA256 != o.Codes.SHA256):
		return fmt.Errorf("the record was exported with the map of codes %s (SHA-256 %s): give the same file with --codes", o.Codes.Name, o.Codes.SHA256)
	case o.CodesOnly && o.Codes.SHA256 == "":
		return fmt.Errorf("only the receiver's codes need a map of them: --codes FILE")
	case o.CodesOnly:
		return o.Map.CheckOnly()
	}
	return nil
}

// checkRecorded is the part of Check that needs no map.
func (o Options) checkRecorded() error {
	if o.ClaimProfiles != "" {
		if err := profiles.CheckCanonical(o.ClaimProfiles); err != nil {
			return err
		}
	}
	switch {
	case o.AttachLog && o.NoNotes:
		return fmt.Errorf("the log as received holds the birth date and every note, so it cannot go where free text stays out: leave out --attach-log or --no-notes")
	case o.Patient != "" && o.CreatePatient:
		return fmt.Errorf("a known patient and a new patient exclude each other")
	case o.References == ByTypeID && o.Patient == "" && !o.CreatePatient:
		return fmt.Errorf("references by Type/id need the patient's id at the receiver, or a patient to be created")
	case o.Series != "" && o.Series != AllReadings && o.Series != FirstAndLast:
		return fmt.Errorf("series %q: expected %s or %s", o.Series, AllReadings, FirstAndLast)
	case o.Provenance != "" && o.Provenance != ConditionalProvenance && o.Provenance != PutProvenance && o.Provenance != NoProvenance:
		return fmt.Errorf("provenance %q: expected %s, %s or %s", o.Provenance, ConditionalProvenance, PutProvenance, NoProvenance)
	case o.CodesOnly && o.ClaimProfiles != "":
		return fmt.Errorf("our profiles require our codes, so they cannot be claimed where the receiver's codes replace them")
	case o.Display != "" && o.Display != EnglishDisplay && o.Display != NoDisplay:
		return fmt.Errorf("display %q: expected %s or %s", o.Display, NoDisplay, EnglishDisplay)
	}
	_, err := tags(o.Tags)
	return err
}
