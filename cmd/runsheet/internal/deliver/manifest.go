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

	"runsheet.example/cmd/runsheet/internal/deliver/receipt"
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

// Has tells whether the export has a record with a label.
func (f *Folder) Has(label string) bool {
	return slices.ContainsFunc(f.Files, func(file manifest.File) bool { return file.Session == label })
}

// BesideTypes are the types of a report for a visit and of a file of the log, as
// far as the export, which may be nil, or the receipt has one.
func BesideTypes(f *Folder, r *receipt.Receipt) (out []string) {
	for label, resourceType := range map[string]string{fhirmap.ReportLabel: reportType, fhirmap.LogLabel: logType} {
		if f != nil && f.Has(label) || slices.ContainsFunc(r.All(), func(e receipt.Entry) bool { return e.Type == resourceType && e.Status != receipt.Withdrawn }) {
			out = append(out, resourceType)
		}
	}
	slices.Sort(out)
	return out
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
