package deliver

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"github.com/google/uuid"
)

// Resource is one resource to deliver.
type Resource struct {
	Type string
	// Identity is our UUID of it.
	Identity string
	// Role is what it is in its session, such as "weight_before_kg".
	Role string
	JSON json.RawMessage
	// Condition is the search by which the server finds it; empty for one
	// that is put under its identity.
	Condition string
}

// Session is one session to deliver.
type Session struct {
	// Identity is the Procedure's.
	Identity string
	// Label is the session's id in the log.
	Label     string
	File      string
	Resources []Resource
}

// Folder is an export on disk. Its sessions are read one at a time, so that
// memory does not grow with their number.
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
	// Roles gives each identity's role.
	Roles map[string]string
}

// OpenFolder reads the manifest of an export.
func OpenFolder(path string) (*Folder, error) {
	text, err := os.ReadFile(filepath.Join(path, "manifest.json"))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("%s is not an export with one Bundle for each session: there is no manifest.json in it", path)
	}
	if err != nil {
		return nil, err
	}
	var manifest struct {
		Format int `json:"format"`
		Log    struct {
			ID string `json:"id"`
		} `json:"log"`
		Options json.RawMessage `json:"options"`
		Files   []struct {
			File      string `json:"file"`
			SHA256    string `json:"sha256"`
			Session   string `json:"session"`
			Resources []struct {
				ID   string `json:"id"`
				Role string `json:"role"`
			} `json:"resources"`
		} `json:"bundles"`
		LeftOut []json.RawMessage `json:"leftOut"`
	}
	if err := json.Unmarshal(text, &manifest); err != nil || manifest.Format != 1 || manifest.Log.ID == "" {
		return nil, fmt.Errorf("%s: the manifest is not one of an export", path)
	}
	out := &Folder{Path: path, LogID: manifest.Log.ID, Options: manifest.Options, LeftOut: len(manifest.LeftOut)}
	for _, f := range manifest.Files {
		if f.File != filepath.Base(f.File) || !strings.HasSuffix(f.File, ".json") || f.Session == "" {
			return nil, fmt.Errorf("%s: only an export with one Bundle for each session can be sent (export without --as)", path)
		}
		roles := make(map[string]string, len(f.Resources))
		for _, r := range f.Resources {
			roles[r.ID] = r.Role
		}
		out.Files = append(out.Files, FolderFile{f.File, f.SHA256, f.Session, roles})
	}
	return out, nil
}

// Session reads one file, and refuses one that is not what the manifest says:
// what was checked at export is what is sent.
func (f *Folder) Session(at int) (Session, error) {
	file := f.Files[at]
	text, err := os.ReadFile(filepath.Join(f.Path, file.Name))
	if err != nil {
		return Session{}, err
	}
	if sum := sha256.Sum256(text); hex.EncodeToString(sum[:]) != file.SHA256 {
		return Session{}, fmt.Errorf("%s was changed since it was exported: export again", file.Name)
	}
	s, err := parseBundle(text, file.Roles)
	if err != nil {
		return Session{}, fmt.Errorf("%s: %w", file.Name, err)
	}
	s.Label, s.File = file.Session, file.Name
	for i := range s.Resources {
		s.Resources[i].Role = file.Roles[s.Resources[i].Identity]
	}
	return s, nil
}

// parseBundle takes a transaction Bundle of ours apart. roles are those of the
// manifest, by identity.
func parseBundle(text []byte, roles map[string]string) (Session, error) {
	var compact bytes.Buffer
	if err := json.Compact(&compact, text); err != nil {
		return Session{}, err
	}
	var bundle struct {
		Type  string `json:"type"`
		Entry []struct {
			FullURL  string          `json:"fullUrl"`
			Resource json.RawMessage `json:"resource"`
			Request  struct {
				Method      string `json:"method"`
				URL         string `json:"url"`
				IfNoneExist string `json:"ifNoneExist"`
			} `json:"request"`
		} `json:"entry"`
	}
	if err := json.Unmarshal(compact.Bytes(), &bundle); err != nil || bundle.Type != "transaction" {
		return Session{}, errors.New("this is no transaction Bundle")
	}
	identities := make(map[string]string, len(roles))
	for identity := range roles {
		if _, err := uuid.Parse(identity); err == nil {
			identities[link(identity)] = identity
		}
	}
	var s Session
	seen := map[string]bool{}
	for i, e := range bundle.Entry {
		identity, ours := identities[e.FullURL]
		if !ours || seen[identity] {
			return Session{}, fmt.Errorf("entry %d has no identity of its own in the manifest", i+1)
		}
		seen[identity] = true
		resourceType, _, _ := strings.Cut(e.Request.URL, "/")
		condition := e.Request.IfNoneExist
		if e.Request.Method == "POST" && condition == "" {
			return Session{}, fmt.Errorf("entry %d has no condition: sent again it would stand there twice", i+1)
		}
		if resourceType == "Procedure" {
			s.Identity = identity
		}
		s.Resources = append(s.Resources, Resource{Type: resourceType, Identity: identity, JSON: e.Resource, Condition: condition})
	}
	if s.Identity == "" {
		return Session{}, errors.New("the Bundle holds no session")
	}
	return s, ByIdentity(s.Resources)
}

// patientIdentity is the identity of the stub Patient, if the session brings
// one.
func (s Session) patientIdentity() string {
	for _, r := range s.Resources {
		if r.Type == "Patient" {
			return r.Identity
		}
	}
	return ""
}
