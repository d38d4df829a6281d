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
	"slices"
	"strings"

	"github.com/google/uuid"

	"runsheet.example/fhirmap"
)

// Session is one session to deliver, or a record of a log without one.
type Session struct {
	// Identity is that of the Procedure; without a session, that of the
	// resource whose role [fhirmap.Heads] the record.
	Identity string
	// Label is the session's id in the log, or one of [fhirmap.Besides].
	Label     string
	Resources []fhirmap.Resource
}

// SessionsOf returns the records of a month as sessions to deliver, and the
// labels of those that it leaves out.
func SessionsOf(month *fhirmap.Month) (sessions []Session, leftOut []string, err error) {
	for _, record := range month.Records() {
		s, err := asSession(record)
		if err != nil {
			return nil, nil, err
		}
		sessions = append(sessions, s)
	}
	for _, s := range month.LeftOut {
		leftOut = append(leftOut, s.ID)
	}
	return sessions, leftOut, nil
}

func asSession(record fhirmap.SessionRecord) (Session, error) {
	s := Session{Identity: record.ID, Label: record.Label(), Resources: slices.Clone(record.Resources)}
	return s, byIdentity(s.Resources)
}

// Software is the Device of the program among the sessions; nil if they have
// none.
func Software(sessions ...Session) *fhirmap.Resource {
	for _, s := range sessions {
		for _, r := range s.Resources {
			if r.Role == fhirmap.RoleSoftware {
				return &r
			}
		}
	}
	return nil
}

// Session reads one file and refuses it if it differs from the manifest: only
// content checked at export is sent.
func (f *Folder) Session(at int) (Session, error) {
	file := f.Files[at]
	text, err := os.ReadFile(filepath.Join(f.Path, file.File))
	if err != nil {
		return Session{}, err
	}
	if sum := sha256.Sum256(text); hex.EncodeToString(sum[:]) != file.SHA256 {
		return Session{}, fmt.Errorf("%s was changed since it was exported: export again", file.File)
	}
	roles := make(map[string]string, len(file.Resources))
	for _, r := range file.Resources {
		roles[r.ID] = r.Role
	}
	s, err := parseBundle(text, roles)
	if err != nil {
		return Session{}, fmt.Errorf("%s: %w", file.File, err)
	}
	s.Label = file.Session
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
		if resourceType == "Procedure" || fhirmap.Heads(roles[identity]) {
			s.Identity = identity
		}
		s.Resources = append(s.Resources, fhirmap.Resource{Type: resourceType, Identity: identity, JSON: e.Resource, Condition: condition})
	}
	if s.Identity == "" {
		return Session{}, errors.New("the Bundle holds no session")
	}
	return s, byIdentity(s.Resources)
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
