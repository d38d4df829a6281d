package deliver

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"github.com/google/uuid"

	"runsheet.example/fhirmap"
)

// Resource is one resource to deliver.
type Resource struct {
	Type string
	// Identity is our UUID of the resource.
	Identity string
	// Role is its role in the session, such as "weight_before_kg".
	Role string
	JSON json.RawMessage
	// Condition is the search by which the server finds it; empty for a
	// resource that is put under its identity.
	Condition string
}

// shared reports whether several sessions refer to the resource: the patient,
// the person's devices and the software, but not the supplies of one session.
func (r Resource) shared() bool {
	return r.Type == "Patient" || r.Type == "Device" && r.Role != fhirmap.RoleSupply
}

// Session is one session to deliver, or the weeks of a log.
type Session struct {
	// Identity is the identity of the Procedure; for the weeks of a log, that
	// of the Observation that groups them.
	Identity string
	// Label is the session's id in the log, or [fhirmap.WeeksLabel].
	Label     string
	File      string
	Resources []Resource
}

// Session reads one file and refuses it if it differs from the manifest: only
// content checked at export is sent.
func (f *Folder) Session(at int) (Session, error) {
	file := f.Files[at]
	text, err := os.ReadFile(filepath.Join(f.Path, file.Name))
	if err != nil {
		return Session{}, err
	}
	if sum := sha256.Sum256(text); hex.EncodeToString(sum[:]) != file.SHA256 {
		return Session{}, fmt.Errorf("%s was changed since it was exported: export again", file.Name)
	}
	roles, err := f.roles(file)
	if err != nil {
		return Session{}, err
	}
	s, err := parseBundle(text, roles)
	if err != nil {
		return Session{}, fmt.Errorf("%s: %w", file.Name, err)
	}
	s.Label, s.File = file.Session, file.Name
	for i := range s.Resources {
		s.Resources[i].Role = roles[s.Resources[i].Identity]
	}
	return s, nil
}

// parseBundle splits one of our transaction Bundles. roles map identities to
// the roles in the manifest.
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
		if resourceType == "Procedure" || roles[identity] == fhirmap.RoleWeeks {
			s.Identity = identity
		}
		s.Resources = append(s.Resources, Resource{Type: resourceType, Identity: identity, JSON: e.Resource, Condition: condition})
	}
	if s.Identity == "" {
		return Session{}, errors.New("the Bundle holds no session")
	}
	return s, ByIdentity(s.Resources)
}

// patientIdentity is the identity of the stub Patient, if the session contains
// one.
func (s Session) patientIdentity() string {
	for _, r := range s.Resources {
		if r.Type == "Patient" {
			return r.Identity
		}
	}
	return ""
}
