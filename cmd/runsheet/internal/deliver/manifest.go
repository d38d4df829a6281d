package deliver

import (
	"bufio"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
)

// Folder is an export on disk. Its sessions, and what the manifest says of
// each, are read one at a time, so that memory does not grow with their number.
type Folder struct {
	Path  string
	LogID string
	// Options are the choices it was made with, as its manifest has them;
	// none in manifests of the first programs.
	Options json.RawMessage
	Files   []FolderFile
	// LeftOut is how many sessions the export left out.
	LeftOut int
}

// FolderFile is one session's file, as the manifest names it.
type FolderFile struct {
	Name, SHA256, Session string
	// from and to are where the manifest speaks of it.
	from, to int64
}

// manifestFile is what a manifest says of one file.
type manifestFile struct {
	File      string `json:"file"`
	SHA256    string `json:"sha256"`
	Session   string `json:"session"`
	Resources []struct {
		ID   string `json:"id"`
		Role string `json:"role"`
	} `json:"resources"`
}

// manifestName is the name of an export's manifest.
const manifestName = "manifest.json"

// ErrForOneself is returned for a record that does not say whose it is.
var ErrForOneself = errors.New("it is an export for oneself, since the log does not give the patient's number and the name of its numbering; ask the clinic for both, write them into the log and export again")

// OpenFolder reads the manifest of an export.
func OpenFolder(path string) (*Folder, error) {
	file, err := os.Open(filepath.Join(path, manifestName))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("%s is not an export with one Bundle for each session: there is no manifest.json in it", path)
	}
	if err != nil {
		return nil, err
	}
	defer file.Close()
	m := manifestReader{decoder: json.NewDecoder(bufio.NewReaderSize(file, 1<<16)), folder: &Folder{Path: path}}
	if err := m.read(); err != nil || m.format != 1 || m.folder.LogID == "" {
		return nil, fmt.Errorf("%s: the manifest is not one of an export", path)
	}
	if m.forOneself {
		return nil, fmt.Errorf("%s cannot be sent: %w", path, ErrForOneself)
	}
	for _, f := range m.folder.Files {
		if f.Name != filepath.Base(f.Name) || !strings.HasSuffix(f.Name, ".json") || f.Session == "" {
			return nil, fmt.Errorf("%s: only an export with one Bundle for each session can be sent (export without --as)", path)
		}
	}
	return m.folder, nil
}

type manifestReader struct {
	decoder *json.Decoder
	folder  *Folder
	format  int
	// forOneself marks an export without the patient's identifier.
	forOneself bool
}

// read reads a manifest member by member.
func (m *manifestReader) read() error {
	if err := m.expect('{'); err != nil {
		return err
	}
	for m.decoder.More() {
		name, err := m.decoder.Token()
		if err != nil {
			return err
		}
		if err := m.member(name); err != nil {
			return err
		}
	}
	return m.expect('}')
}

func (m *manifestReader) member(name json.Token) error {
	switch name {
	case "format":
		return m.decoder.Decode(&m.format)
	case "log":
		var log struct {
			ID         string `json:"id"`
			ForOneself bool   `json:"forOneself"`
		}
		err := m.decoder.Decode(&log)
		m.folder.LogID, m.forOneself = log.ID, log.ForOneself
		return err
	case "options":
		return m.decoder.Decode(&m.folder.Options)
	case "leftOut":
		var sessions []json.RawMessage
		err := m.decoder.Decode(&sessions)
		m.folder.LeftOut = len(sessions)
		return err
	case "bundles":
		return m.bundles()
	default:
		var other json.RawMessage
		return m.decoder.Decode(&other)
	}
}

func (m *manifestReader) bundles() error {
	if err := m.expect('['); err != nil {
		return err
	}
	for m.decoder.More() {
		from := m.decoder.InputOffset()
		var f manifestFile
		if err := m.decoder.Decode(&f); err != nil {
			return err
		}
		m.folder.Files = append(m.folder.Files, FolderFile{f.File, f.SHA256, f.Session, from, m.decoder.InputOffset()})
	}
	return m.expect(']')
}

func (m *manifestReader) expect(wanted json.Delim) error {
	token, err := m.decoder.Token()
	if err == nil && token != wanted {
		err = errors.New("another JSON value")
	}
	return err
}

// roles gives the role of each identity in a file, which the manifest knows.
func (f *Folder) roles(file FolderFile) (map[string]string, error) {
	manifest, err := os.Open(filepath.Join(f.Path, manifestName))
	if err != nil {
		return nil, err
	}
	defer manifest.Close()
	text, err := io.ReadAll(io.NewSectionReader(manifest, file.from, file.to-file.from))
	if err != nil {
		return nil, err
	}
	var m manifestFile
	err = json.Unmarshal([]byte(strings.TrimLeft(string(text), ", \n\r\t")), &m)
	if err != nil || m.File != file.Name || m.SHA256 != file.SHA256 {
		return nil, errors.New("the manifest was changed while it was read: run the same command again")
	}
	roles := make(map[string]string, len(m.Resources))
	for _, r := range m.Resources {
		roles[r.ID] = r.Role
	}
	return roles, nil
}
