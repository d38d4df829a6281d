package deliver

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"runsheet.example/fhirmap"
	"runsheet.example/validate/manifest"
)

// Folder is an export on disk. It reads sessions one at a time, so that memory
// does not hold all of them.
type Folder struct {
	Path  string
	LogID string
	// Options are the options of the export from its manifest; empty in
	// manifests of the first versions.
	Options json.RawMessage
	Files   []manifest.File
	// LeftOut are the labels of the sessions that the export left out.
	LeftOut []string
}

// ErrForOneself is returned for a record without a patient identity.
var ErrForOneself = errors.New("it is an export for oneself, since the log does not give the patient's number and the name of its numbering; ask the clinic for both, write them into the log and export again")

// HasReport tells whether the export has a report for a visit.
func (f *Folder) HasReport() bool {
	return slices.ContainsFunc(f.Files, func(file manifest.File) bool { return file.Session == fhirmap.ReportLabel })
}

// OpenFolder reads the manifest of an export.
func OpenFolder(path string) (*Folder, error) {
	text, err := os.ReadFile(filepath.Join(path, manifest.Name))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("%s is not an export with one Bundle for each session: there is no manifest.json in it", path)
	}
	if err != nil {
		return nil, err
	}
	var m struct {
		manifest.Manifest
		Options json.RawMessage `json:"options"` // as written, with members that this program does not know
	}
	if json.Unmarshal(text, &m) != nil || m.Format != manifest.Format || m.Log.ID == "" {
		return nil, fmt.Errorf("%s: the manifest is not one of an export", path)
	}
	if m.Log.ForOneself {
		return nil, fmt.Errorf("%s cannot be sent: %w", path, ErrForOneself)
	}
	for _, f := range m.Files {
		if f.File != filepath.Base(f.File) || !strings.HasSuffix(f.File, ".json") || f.Session == "" {
			return nil, fmt.Errorf("%s: only an export with one Bundle for each session can be sent (export without --as)", path)
		}
	}
	folder := &Folder{Path: path, LogID: m.Log.ID, Options: m.Options, Files: m.Files}
	for _, s := range m.LeftOut {
		folder.LeftOut = append(folder.LeftOut, s.Session)
	}
	return folder, nil
}
