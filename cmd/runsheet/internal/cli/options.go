package cli

import (
	"encoding/json"
	"fmt"
	"strings"

	"runsheet.example/cmd/runsheet/internal/deliver"
	"runsheet.example/cmd/runsheet/internal/deliver/receipt"
	"runsheet.example/fhirmap"
	"runsheet.example/validate/manifest"
)

// receiptEnding is the suffix of a receipt's name after that of the export.
const receiptEnding = ".receipt.json"

// choice is a flag whose value an export writes to its manifest.
type choice struct {
	flag string
	// say returns the value in command line form.
	say func(manifest.Options) string
	// take copies the value.
	take func(to *manifest.Options, from manifest.Options)
	// content reports that the choice affects the content of a resource.
	content bool
}

// choices are the flags of [mappingFlags].
func choices() []choice {
	type options = manifest.Options
	return []choice{
		{"create-patient", func(o options) string { return with("create-patient", o.CreatePatient) }, func(to *options, from options) { to.CreatePatient = from.CreatePatient }, false},
		{"no-computed", func(o options) string { return with("no-computed", o.NoComputed) }, func(to *options, from options) { to.NoComputed = from.NoComputed }, true},
		{"no-notes", func(o options) string { return with("no-notes", o.NoNotes) }, func(to *options, from options) { to.NoNotes = from.NoNotes }, true},
		{"serials", func(o options) string { return with("serials", o.Serials) }, func(to *options, from options) { to.Serials = from.Serials }, true},
		{"series", func(o options) string { return "with --series " + string(o.Series) }, func(to *options, from options) { to.Series = from.Series }, true},
		{"provenance", func(o options) string { return "with --provenance " + string(o.Provenance) }, func(to *options, from options) { to.Provenance = from.Provenance }, true},
		{"claim-profiles", func(o options) string { return with("claim-profiles="+o.ClaimProfiles, o.ClaimProfiles != "") }, func(to *options, from options) { to.ClaimProfiles = from.ClaimProfiles }, true},
	}
}

func with(flag string, given bool) string {
	if given {
		return "with --" + flag
	}
	name, _, _ := strings.Cut(flag, "=")
	return "without --" + name
}

// follow copies the choices of an earlier export for flags that are not set. A
// flag that contradicts is an error, unless override is set.
func (m *mappingFlags) follow(recorded *manifest.Options, given func(flag string) bool, override bool) error {
	m.complete()
	if recorded == nil {
		return nil
	}
	tool := m.mapping.Tool
	now, chosen := *recorded, m.mapping.Recorded()
	for _, c := range choices() {
		if !given(c.flag) {
			continue
		}
		if before, after := c.say(*recorded), c.say(chosen); before != after && !override {
			return wrongUse("the record was exported %s, and now --%s asks for it %s: leave the flag out to correct the record as it was exported, or add --other-options to change that for all of it", before, c.flag, after)
		}
		c.take(&now, chosen)
	}
	m.mapping = fhirmap.OptionsOf(now)
	m.mapping.Tool = tool
	return nil
}

// exportedWith reads the options of the exported record: from its receipt, or
// from the export beside the receipt; nil if neither has them.
func exportedWith(r *receipt.Receipt, path string) (*manifest.Options, error) {
	text := r.Options
	if folder, ok := strings.CutSuffix(path, receiptEnding); ok && text == nil {
		if export, err := deliver.OpenFolder(folder); err == nil && export.LogID == r.LogID {
			text = export.Options
		}
	}
	recorded, err := fhirmap.ParseManifestOptions(text)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	return recorded, nil
}

// sameOptions refuses an export whose options differ from those at the server:
// half of the record would contain what the other half omits.
func sameOptions(r *receipt.Receipt, folder *deliver.Folder, override bool) error {
	before, err := fhirmap.ParseManifestOptions(r.Options)
	if err != nil || before == nil || override {
		return err
	}
	now, err := fhirmap.ParseManifestOptions(folder.Options)
	if err != nil || now == nil {
		return err
	}
	for _, c := range choices() {
		if was, is := c.say(*before), c.say(*now); c.content && was != is {
			return wrongUse("what the server has was exported %s, and %s %s: export again as before, or add --other-options to send it so", was, folder.Path, is)
		}
	}
	return nil
}

// samePatient refuses to send the rest of a record to another patient.
func samePatient(r *receipt.Receipt, given string, override bool) error {
	if given == "" || r.Patient == "" || given == r.Patient || !r.HasSessions() || override {
		return nil
	}
	return wrongUse("what the server has of this record is of %s, and now %s is asked for: if the clinic has merged the two, add --other-options", r.Patient, given)
}

// optionsText is the form of options in a receipt.
func optionsText(o manifest.Options) (json.RawMessage, error) { return json.Marshal(o) }
