package fhirmap

import (
	"encoding/json"
	"errors"
	"testing"

	"pgregory.net/rapid"

	"runsheet.example/validate/manifest"
)

// What a manifest holds of the options is read as the same options.
func TestManifestOptionsRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		opts := Options{Options: manifest.Options{
			NoComputed: rapid.Bool().Draw(t, "noComputed"), NoNotes: rapid.Bool().Draw(t, "noNotes"), Serials: rapid.Bool().Draw(t, "serials"),
			Series:        rapid.SampledFrom([]string{AllReadings, FirstAndLast}).Draw(t, "series"),
			Provenance:    rapid.SampledFrom([]string{ConditionalProvenance, PutProvenance, NoProvenance}).Draw(t, "provenance"),
			ClaimProfiles: rapid.SampledFrom([]string{"", "https://fhir.example/base"}).Draw(t, "claim"),
			Display:       rapid.SampledFrom([]string{"", EnglishDisplay, NoDisplay}).Draw(t, "display"),
			Tags:          rapid.SampledFrom([]string{"", "urn:oid:2.25.1|a", "https://unit.example/a|b urn:oid:2.25.1|a"}).Draw(t, "tags"),
		}}
		if rapid.Bool().Draw(t, "known") {
			opts.Patient = "Patient/12"
		} else {
			opts.CreatePatient = rapid.Bool().Draw(t, "create")
		}
		text, err := json.Marshal(opts.Recorded())
		if err != nil {
			t.Fatal(err)
		}
		read, err := ParseManifestOptions(text)
		if err != nil {
			t.Fatal(err)
		}
		if *read != opts.Recorded() {
			t.Errorf("%+v was read as %+v", opts, *read)
		}
	})
}

// A manifest without options is an old one; what a newer program wrote is not
// guessed at.
func TestParseManifestOptions(t *testing.T) {
	for _, text := range []string{"", "null"} {
		if o, err := ParseManifestOptions([]byte(text)); o != nil || err != nil {
			t.Errorf("%q: %v, %v", text, o, err)
		}
	}
	usual := `"series":"all","provenance":"conditional"`
	for name, c := range map[string]struct {
		text  string
		newer bool
	}{
		"another option": {`{"format":1,"noDevices":true,` + usual + `}`, true},
		"another format": {`{"format":2,` + usual + `}`, true},
		"no format":      {`{` + usual + `}`, true},
		"another kind":   {`{"format":1,"noNotes":"yes",` + usual + `}`, false},
		"another value":  {`{"format":1,"series":"some","provenance":"none"}`, false},
		"cut":            {`{"format":1,`, false},
	} {
		if o, err := ParseManifestOptions([]byte(c.text)); err == nil || errors.Is(err, errNewerOptions) != c.newer {
			t.Errorf("%s: %v, %v", name, o, err)
		}
	}
}
