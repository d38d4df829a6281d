package deliver

import (
	"cmp"
	"fmt"
	"strings"

	"runsheet.example/cmd/runsheet/internal/deliver/receipt"
	"runsheet.example/fhirmap"
	"runsheet.example/validate/manifest"
)

// Contradiction is the error of a choice that differs from those with which the
// record at the server was exported.
type Contradiction struct{ text string }

func (e *Contradiction) Error() string { return e.text }

func contradiction(format string, args ...any) error {
	return &Contradiction{fmt.Sprintf(format, args...)}
}

// choice is a flag whose value an export writes to its manifest.
type choice struct {
	flag string
	// of points to the value, a bool, a string or a map of codes.
	of func(*manifest.Options) any
	// content reports that the choice affects the content of a resource.
	content bool
}

var choices = []choice{
	{"create-patient", func(o *manifest.Options) any { return &o.CreatePatient }, false},
	{"no-computed", func(o *manifest.Options) any { return &o.NoComputed }, true},
	{"no-notes", func(o *manifest.Options) any { return &o.NoNotes }, true},
	{"attach-log", func(o *manifest.Options) any { return &o.AttachLog }, true},
	{"serials", func(o *manifest.Options) any { return &o.Serials }, true},
	{"series", func(o *manifest.Options) any { return &o.Series }, true},
	{"provenance", func(o *manifest.Options) any { return &o.Provenance }, true},
	{"claim-profiles", func(o *manifest.Options) any { return &o.ClaimProfiles }, true},
	{"codes", func(o *manifest.Options) any { return &o.Codes }, true},
	{"codes-only", func(o *manifest.Options) any { return &o.CodesOnly }, true},
	{"display", func(o *manifest.Options) any { return &o.Display }, true},
	{"tag", func(o *manifest.Options) any { return &o.Tags }, true},
}

// say returns the value in command line form.
func (c choice) say(o manifest.Options) string {
	switch value := c.of(&o).(type) {
	case *bool:
		if *value {
			return "with --" + c.flag
		}
	case *manifest.CodeMap:
		if value.SHA256 != "" { // a file may be renamed
			return "with --" + c.flag + " and a file of SHA-256 " + value.SHA256
		}
	case *string:
		if *value != "" && c.flag == "claim-profiles" { // may be given without a value
			return "with --" + c.flag + "=" + *value
		}
		if *value != "" {
			return "with --" + c.flag + " " + *value
		}
	}
	return "without --" + c.flag
}

// take copies the value.
func (c choice) take(to *manifest.Options, from manifest.Options) {
	switch value := c.of(&from).(type) {
	case *bool:
		*c.of(to).(*bool) = *value
	case *manifest.CodeMap:
		*c.of(to).(*manifest.CodeMap) = *value
	case *string:
		*c.of(to).(*string) = *value
	}
}

// ExportedWith reads the options of the exported record: from its receipt, or
// from the export beside the receipt; nil if neither has them.
func ExportedWith(r *receipt.Receipt, path string) (*manifest.Options, error) {
	text := r.Options
	if folder, ok := strings.CutSuffix(path, manifest.ReceiptEnding); ok && text == nil {
		if export, err := OpenFolder(folder); err == nil && export.LogID == r.LogID {
			text = export.Options
		}
	}
	recorded, err := fhirmap.ParseManifestOptions(text)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	return recorded, nil
}

// Follow returns the options for mapping a log again: those of the record, or
// the chosen ones where it has none or their flag is given. A flag that
// contradicts the record, or the reference of another patient, is a
// [Contradiction], unless override is set.
func Follow(r *receipt.Receipt, recorded *manifest.Options, chosen manifest.Options, given func(flag string) bool, patient string, override bool) (manifest.Options, error) {
	out := chosen
	if recorded != nil {
		out = *recorded
		for _, c := range choices {
			if !given(c.flag) {
				continue
			}
			if before, after := c.say(*recorded), c.say(chosen); before != after && !override {
				return out, contradiction("the record was exported %s, and now --%s asks for it %s: leave the flag out to correct the record as it was exported, or add --other-options to change that for all of it", before, c.flag, after)
			}
			c.take(&out, chosen)
		}
		if patient != "" && r.Patient == "" {
			r.Patient = recorded.Patient
		}
	}
	if patient != "" {
		out.Patient, out.CreatePatient = patient, false
	}
	return out, samePatient(r, patient, override)
}

// GoesWith refuses an export that does not match what was sent before: of
// another patient or, unless override is set, for another reference or with
// other options, since half of the record would contain what the other half
// omits.
func (f *Folder) GoesWith(r *receipt.Receipt, patient string, override bool) error {
	exported, err := fhirmap.ParseManifestOptions(f.Options)
	if err != nil {
		return fmt.Errorf("%s: %w", f.Path, err)
	}
	if err := f.Fits(r); err != nil {
		return err
	}
	before, err := fhirmap.ParseManifestOptions(r.Options)
	if err != nil && r.HasSessions() {
		return err
	}
	for _, c := range choices {
		if before == nil || exported == nil || override || !c.content || !r.HasSessions() {
			continue
		}
		if was, is := c.say(*before), c.say(*exported); was != is {
			return contradiction("what the server has was exported %s, and %s %s: export again as before, or add --other-options to send it so", was, f.Path, is)
		}
	}
	if exported == nil {
		return samePatient(r, patient, override)
	}
	if err := samePatient(r, cmp.Or(patient, exported.Patient), override); err != nil {
		return err
	}
	r.Options = f.Options
	return nil
}

// Fits refuses an export of another patient than the receipt's, before any
// request.
func (f *Folder) Fits(r *receipt.Receipt) error {
	if len(f.Files) == 0 {
		return nil
	}
	first, err := f.Session(0)
	if err != nil {
		return err
	}
	return Fits(r, first)
}

// samePatient refuses to send the rest of a record to another patient.
func samePatient(r *receipt.Receipt, given string, override bool) error {
	if given == "" || r.Patient == "" || given == r.Patient || !r.HasSessions() || override {
		return nil
	}
	return contradiction("what the server has of this record is of %s, and now %s is asked for: if the clinic has merged the two, add --other-options", r.Patient, given)
}
