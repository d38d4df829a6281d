package profile_test

import (
	"path/filepath"
	"strings"
	"testing"

	"runsheet.example/fhirmap"
	"runsheet.example/fhirmap/session"
	"runsheet.example/profiles"
	"runsheet.example/validate/manifest"
	"runsheet.example/validate/profile"
)

// exported writes the sessions of the demo month as Bundles that claim our
// profiles.
func exported(tb testing.TB, opts fhirmap.Options) [][]byte {
	tb.Helper()
	log, _, err := session.ReadFolder(filepath.Join("..", "..", "testdata", "month"), session.Options{})
	if err != nil {
		tb.Fatal(err)
	}
	opts.Tool = fhirmap.Tool{Name: "runsheet", Version: "test"}
	opts.ClaimProfiles = profiles.DefaultCanonical
	month, err := fhirmap.Map(log, opts)
	if err != nil {
		tb.Fatal(err)
	}
	var out [][]byte
	for i := range month.Records() {
		text, err := month.Records()[i].Transaction()
		if err != nil {
			tb.Fatal(err)
		}
		out = append(out, text)
	}
	return out
}

// Every Bundle of the demo month, in every way it can be exported, conforms to
// the profiles it claims, and nothing is left unchecked.
func TestDemoMonthConforms(t *testing.T) {
	c := profile.New(profile.NewLibrary(), profile.Options{})
	// Every code has a receiver's beside it, no coding a display, and every
	// resource a tag.
	table := "code,target\n"
	for _, code := range profiles.MappedCodes() {
		table += code.String() + ",urn:oid:2.25.99|X-" + code.Code + "\n"
	}
	codes, err := profiles.ReadCodeMap([]byte(table), "codes.csv")
	if err != nil {
		t.Fatal(err)
	}
	receiver := fhirmap.Options{Options: manifest.Options{Display: fhirmap.NoDisplay, Tags: "urn:oid:2.25.98|home"}}
	receiver.UseCodes(codes)
	bundles := 0
	for name, opts := range map[string]fhirmap.Options{
		"default": {},
		"known": {Options: manifest.Options{
			Patient: "Patient/123", NoNotes: true, NoComputed: true, Serials: true, Provenance: fhirmap.PutProvenance,
		}},
		"created":  {Options: manifest.Options{CreatePatient: true, Series: fhirmap.FirstAndLast}},
		"receiver": receiver,
	} {
		for i, text := range exported(t, opts) {
			bundles++
			for _, f := range checked(text, c) {
				if opts.NoNotes && strings.Contains(f.Details.String(), "rs-session-reason") {
					continue // the reason is words of the person, left out with the notes
				}
				t.Errorf("%s %d: %s %s: %s (%s, expected %s)", name, i, f.Rule, f.Expression, f.Details, f.Value, f.Expected)
			}
		}
	}
	if bundles < 60 {
		t.Errorf("only %d bundles", bundles)
	}
}
