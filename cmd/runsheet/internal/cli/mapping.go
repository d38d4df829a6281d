package cli

import (
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"runsheet.example/fhirmap"
	"runsheet.example/profiles"
)

// tool is this program in a record.
var tool = fhirmap.Tool{Name: "runsheet", Version: Version}

// mappingFlags are the receiver's choices about the content of a record.
// Export and amend share them, because amend must map a log as the export did:
// a flag of only one of them would make every resource look changed.
type mappingFlags struct {
	mapping fhirmap.Options
}

func (m *mappingFlags) add(cmd *cobra.Command) {
	m.mapping.Tool = tool
	f := cmd.Flags()
	f.BoolVar(&m.mapping.CreatePatient, "create-patient", false, "let the receiver create a Patient with nothing but the identifier, if it has none")
	f.BoolVar(&m.mapping.NoComputed, "no-computed", false, "leave computed values out")
	f.BoolVar(&m.mapping.NoNotes, "no-notes", false, "leave every free text out: notes, reasons, what happened, names of medicines, devices, dialyser, laboratory and access; identifiers, lots, codes and, in the manifest, session and file names and headings stay")
	f.BoolVar(&m.mapping.AttachLog, "attach-log", false, "add the files of the log as they were received, each a DocumentReference with its SHA-256: all that is in them, birth date, notes, questions, answers and sessions with mistakes included")
	f.BoolVar(&m.mapping.Serials, "serials", false, "write device serial numbers")
	f.StringVar(&m.mapping.Series, "series", fhirmap.AllReadings, "readings during the session: all or first-last")
	f.StringVar(&m.mapping.Provenance, "provenance", fhirmap.ConditionalProvenance, "conditional, put (under our own id) or none")
	f.StringVar(&m.mapping.ClaimProfiles, "claim-profiles", "", "claim our profiles in meta.profile, for a server that has loaded the package (with =URL, under that canonical base)")
	f.Lookup("claim-profiles").NoOptDefVal = profiles.DefaultCanonical
	codesFlag(cmd, "map of our codes to the receiver's, a FHIR ConceptMap or CSV: adds theirs beside ours; 'runsheet profiles show "+profiles.EmptyMap+"' has the empty one", m.mapping.UseCodes)
	f.BoolVar(&m.mapping.CodesOnly, "codes-only", false, "with --codes: leave out the local codes that the map replaces; LOINC stays, since vital signs and validation need it")
	f.StringVar(&m.mapping.Display, "display", fhirmap.EnglishDisplay, "display of codings: en, or none for a server that checks displays in another language; texts stay")
	f.Func("tag", "add the coding `SYSTEM|CODE` to meta.tag of every resource; may be given again", func(tag string) (err error) {
		m.mapping.Tags, err = fhirmap.AddTag(m.mapping.Tags, tag)
		return err
	})
}

// codesFlag adds the flag --codes, which reads the map; an empty name means no
// map.
func codesFlag(cmd *cobra.Command, usage string, use func(*profiles.CodeMap)) {
	cmd.Flags().Func("codes", usage, func(path string) error {
		if path == "" {
			use(nil)
			return nil
		}
		data, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		codes, err := profiles.ReadCodeMap(data, filepath.Base(path))
		if err == nil {
			use(codes)
		}
		return err
	})
}
