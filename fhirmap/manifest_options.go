package fhirmap

import (
	"bytes"
	"cmp"
	"encoding/json"
	"errors"
	"fmt"

	"runsheet.example/validate/manifest"
)

// Recorded returns the options for a manifest, with defaults written out.
func (o Options) Recorded() manifest.Options {
	out := o.Options
	out.Format = manifest.OptionsFormat
	out.Series, out.Provenance = cmp.Or(out.Series, AllReadings), cmp.Or(out.Provenance, ConditionalProvenance)
	if out.Display == EnglishDisplay {
		out.Display = "" // as in manifests of before the option
	}
	return out
}

// errNewerOptions means that the manifest may have an unknown option, which a
// correction could undo.
var errNewerOptions = errors.New("the export was made by a newer program, with options that are not known here: use that program")

// ParseManifestOptions parses the options of a manifest; nil returns none,
// since the first manifests had none. An unknown option is an error.
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
	if err := (Options{Options: out}).checkRecorded(); err != nil {
		return nil, fmt.Errorf("the options of the export were damaged: %w", err)
	}
	return &out, nil
}
