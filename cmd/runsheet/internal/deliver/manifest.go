package deliver

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"runsheet.example/validate/manifest"
)

// Folder is an export on disk. It reads sessions and their manifest entries
// one at a time, so that memory does not grow with their number.
type Folder struct {
	Path  string
	LogID string
	// Options are the options of the export from its manifest; empty in
	// manifests of the first versions.
	Options json.RawMessage
	Files   []FolderFile
	// LeftOut is the number of sessions that the export left out.
	LeftOut int
}

// FolderFile is the file of one session, from the manifest.
type FolderFile struct {
	Name, SHA256, Session string
	// at is its position in the manifest.
	at manifest.Place
}

// ErrForOneself is returned for a record without a patient identity.
var ErrForOneself = errors.New("it is an export for oneself, since the log does not give the patient's number and the name of its numbering; ask the clinic for both, write them into the log and export again")

// OpenFolder reads the manifest of an export.
func OpenFolder(path string) (*Folder, error) {
	file, err := os.Open(filepath.Join(path, manifest.Name))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("%s is not an export with one Bundle for each session: there is no manifest.json in it", path)
	}
	if err != nil {
		return nil, err
	}
	defer file.Close()
	folder := &Folder{Path: path}
	forOneself, err := folder.read(file)
	if err != nil || folder.LogID == "" {
		return nil, fmt.Errorf("%s: the manifest is not one of an export", path)
	}
	if forOneself {
		return nil, fmt.Errorf("%s cannot be sent: %w", path, ErrForOneself)
	}
	for _, f := range folder.Files {
		if f.Name != filepath.Base(f.Name) || !strings.HasSuffix(f.Name, ".json") || f.Session == "" {
			return nil, fmt.Errorf("%s: only an export with one Bundle for each session can be sent (export without --as)", path)
		}
	}
	return folder, nil
}

// read reads the parts of a manifest that delivery needs.
func (f *Folder) read(text io.Reader) (forOneself bool, err error) {
	format := 0
	err = manifest.Scan(text, func(p manifest.Part) error {
		switch {
		case p.Member == "format":
			return json.Unmarshal(p.Value, &format)
		case p.Member == "options":
			f.Options = p.Value
		case p.Member == "log":
			var log manifest.Log
			err := json.Unmarshal(p.Value, &log)
			f.LogID, forOneself = log.ID, log.ForOneself
			return err
		case p.Member == "leftOut" && p.Element:
			f.LeftOut++
		case p.Member == "bundles" && p.Element:
			var file manifest.File
			err := json.Unmarshal(p.Value, &file)
			f.Files = append(f.Files, FolderFile{file.File, file.SHA256, file.Session, p.Place})
			return err
		}
		return nil
	})
	if err == nil && format != manifest.Format {
		err = errors.New("the manifest is of another format")
	}
	return forOneself, err
}

// roles returns the role of each identity in a file, from the manifest.
func (f *Folder) roles(file FolderFile) (map[string]string, error) {
	text, err := os.Open(filepath.Join(f.Path, manifest.Name))
	if err != nil {
		return nil, err
	}
	defer text.Close()
	m, err := manifest.ReadFile(text, file.at)
	if err != nil || m.File != file.Name || m.SHA256 != file.SHA256 {
		return nil, errors.New("the manifest was changed while it was read: run the same command again")
	}
	roles := make(map[string]string, len(m.Resources))
	for _, r := range m.Resources {
		roles[r.ID] = r.Role
	}
	return roles, nil
}
