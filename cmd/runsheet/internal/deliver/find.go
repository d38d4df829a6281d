package deliver

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"time"

	"runsheet.example/cmd/runsheet/internal/deliver/server"
	"runsheet.example/fhirmap"
	"runsheet.example/profiles"
)

// errCannotSearch means that the server's answer to a search is useless: it
// does not search, or answers a different search.
var errCannotSearch = errors.New("the server cannot be asked whether it has a record: it does not search by identifier")

// find searches the server for a resource and returns none or one. Several are
// an error for a person to resolve. It also searches for a resource that is
// put under our own id, since another style may have created it; if the server
// cannot search, it reads our id.
//
// Decision 16. Sending relies on no single safeguard. It does not send what is
// in the receipt. It searches for any other session first, by its Procedure
// and then in full. Every create has a condition. A server that ignores
// conditions or cannot search gets no duplicate; one that does neither is
// refused. Requests ask for uncached answers, and a condition begins with a
// plain parameter name, or HAPI does not take it for a query.
func (s *Sender) find(ctx context.Context, r fhirmap.Resource) (*found, error) {
	if r.Type == "Patient" {
		return s.findPatient(ctx, r)
	}
	own := s.ownID(r)
	q, ok := s.question(r)
	if ok && !(own && s.searches == no) {
		hit, err := s.search(ctx, q)
		if !own || !errors.Is(err, errCannotSearch) {
			return hit, err
		}
		if r.Type != "Provenance" {
			s.searches = no // not needed: our ids prevent duplicates
		}
	}
	if own {
		return s.read(ctx, r.Type, r.Identity)
	}
	return nil, nil
}

// question is a search for one of our resources.
type question struct {
	resourceType, query string
	// matches selects our resource among the answers.
	matches func(found) bool
	// by is the name of the search in a message.
	by string
	// others reports that answers may include other resources.
	others bool
}

func (q question) path() string { return q.resourceType + "?" + q.query }

// question returns the search for a resource: by its identifier; for a
// Provenance, which has none in R4, by its target and time. There is no search
// for a Provenance whose target the server lacks.
func (s *Sender) question(r fhirmap.Resource) (question, bool) {
	if r.Type != "Provenance" {
		return question{r.Type, "identifier=" + url.QueryEscape(identifierToken(r.Identity)), func(m found) bool {
			return m.has(profiles.RecordIdentifier, "urn:uuid:"+r.Identity)
		}, "the identifier " + r.Identity, false}, true
	}
	target, ok := s.targetOf(r)
	wanted := recordedOf(r.JSON)
	return question{r.Type, "target=" + url.QueryEscape(target), func(m found) bool {
		return !wanted.IsZero() && recordedOf(m.raw).Equal(wanted)
	}, "the session and time", true}, ok
}

func identifierToken(identity string) string {
	return profiles.RecordIdentifier + "|urn:uuid:" + identity
}

// ownID reports whether the server has a resource under our own id.
func (s *Sender) ownID(r fhirmap.Resource) bool {
	return r.Type != "Patient" && (s.rules.style == Put || r.Condition == "")
}

// targetOf returns the literal reference of the target of a Provenance: the
// Procedure if it is among the targets, otherwise the first target that the
// server has.
func (s *Sender) targetOf(r fhirmap.Resource) (string, bool) {
	list, _ := members(r.JSON) // only a Provenance has targets
	first := ""
	for _, identity := range references(get(list, "target")) {
		e, ok := s.receipt.Of(identity)
		switch {
		case ok && e.Type == "Procedure":
			return e.Reference(), true
		case ok && first == "" && e.Type != "Patient":
			first = e.Reference()
		}
	}
	return first, first != ""
}

func recordedOf(provenance []byte) time.Time {
	p, _ := elementsOf(provenance)
	at, _ := time.Parse(time.RFC3339, p.Recorded)
	return at
}

// findPatient searches for the patient by identifier. The identifier goes into
// the body, never into a URL, which servers log.
func (s *Sender) findPatient(ctx context.Context, r fhirmap.Resource) (*found, error) {
	query, err := url.ParseQuery(r.Condition)
	if err != nil || query.Get("identifier") == "" {
		return nil, errors.New("the export names no identifier of the patient")
	}
	system, value, _ := strings.Cut(query.Get("identifier"), "|")
	reply, err := s.client.Do(ctx, server.Request{Method: http.MethodPost, Path: "Patient/_search", Form: url.Values{"identifier": query["identifier"]}})
	if err != nil {
		return nil, asCannotSearch(err)
	}
	return one(reply.Body, question{resourceType: "Patient", matches: func(m found) bool { return m.has(system, value) }, by: "the patient's identifier"})
}

// search runs a search and keeps the matches; a result that does not match
// means that the server ignores the query.
func (s *Sender) search(ctx context.Context, q question) (*found, error) {
	reply, err := s.client.Do(ctx, server.Request{Method: http.MethodGet, Path: q.path()})
	if err != nil {
		return nil, asCannotSearch(err)
	}
	return one(reply.Body, q)
}

func asCannotSearch(err error) error {
	var refusal *server.Refusal
	if errors.As(err, &refusal) {
		switch refusal.Status {
		case http.StatusBadRequest, http.StatusNotFound, http.StatusMethodNotAllowed, http.StatusNotImplemented:
			return errCannotSearch
		}
	}
	return err
}

// found is a resource at the server, as far as it is compared.
type found struct {
	raw          json.RawMessage
	ResourceType string `json:"resourceType"`
	ID           string `json:"id"`
	Meta         struct {
		VersionID string `json:"versionId"`
	} `json:"meta"`
	Identifier []struct {
		System string `json:"system"`
		Value  string `json:"value"`
	} `json:"identifier"`
}

// elements are those looked at in resources, ours and those at the server.
type elements struct {
	Status, Recorded    string
	Subject             ref
	Target, DerivedFrom []ref
	PerformedDateTime   string
	PerformedPeriod     struct{ Start string }
}

// ref is a Reference.
type ref struct {
	Reference  string
	Identifier person
}

// elementsOf reads them; one that is absent or of another type is empty.
func elementsOf(resource []byte) (e elements, err error) {
	err = json.Unmarshal(resource, &e)
	return e, err
}

// check refuses an id or version that FHIR does not allow, because it would be
// stored, printed and put into requests.
func (r found) check() error {
	if !server.IsID(r.ID) || r.Meta.VersionID != "" && !server.IsID(r.Meta.VersionID) {
		return fmt.Errorf("the server has a %s whose id or version is none that FHIR allows (1 to 64 letters, digits, - and .): its administrator must look at it", r.ResourceType)
	}
	return nil
}

// version is its version; empty if there is none.
func (r *found) version() string {
	if r == nil {
		return ""
	}
	return r.Meta.VersionID
}

func (r found) has(system, value string) bool {
	for _, i := range r.Identifier {
		if i.System == system && i.Value == value {
			return true
		}
	}
	return false
}

// one returns the only match of a searchset.
func one(body []byte, q question) (*found, error) {
	var bundle struct {
		Type  string `json:"type"`
		Entry []struct {
			Resource json.RawMessage `json:"resource"`
		} `json:"entry"`
	}
	if json.Unmarshal(body, &bundle) != nil || bundle.Type != "searchset" {
		return nil, errCannotSearch
	}
	var hits []found
	strangers := 0
	for _, e := range bundle.Entry {
		var r found
		if json.Unmarshal(e.Resource, &r) != nil || r.ResourceType != q.resourceType {
			continue // an OperationOutcome may accompany the matches
		}
		if err := r.check(); err != nil {
			return nil, err
		}
		r.raw = e.Resource
		if q.matches(r) {
			hits = append(hits, r)
		} else {
			strangers++
		}
	}
	switch {
	case len(hits) > 1:
		return nil, fmt.Errorf("the server has %d of %s with %s, where there must be one: somebody at the clinic must merge them; nothing more was sent", len(hits), q.resourceType, q.by)
	case len(hits) == 1:
		return &hits[0], nil
	case strangers > 0 && !q.others:
		return nil, errCannotSearch
	default:
		return nil, nil
	}
}
