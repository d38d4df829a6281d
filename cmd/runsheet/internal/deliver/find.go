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
)

// errCannotSearch means that the server's answer to a search says nothing: it
// does not search, or answers something else than was asked.
var errCannotSearch = errors.New("the server cannot be asked whether it has a record: it does not search by identifier")

// found is a resource at the server.
type found struct {
	ID, Version string
	JSON        json.RawMessage
}

// find looks for a resource at the server: none, or the one. Several are an
// error that a person must look at. What is put under our own id is searched
// for too, since it may have been created in another style; where the server
// does not search, what stands under our id has to do.
//
// Decision 16. Sending trusts no single safeguard. What is in the receipt is
// not sent; a session that is not is searched for first, by its Procedure
// and then in full; and what is created carries its condition. A server that
// ignores conditions or cannot search gets no duplicate; one that does
// neither is refused. Requests ask for uncached answers, and a condition
// begins with a plain parameter name, or HAPI does not take it for a query.
func (s *Sender) find(ctx context.Context, r Resource) (*found, error) {
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
			s.searches = no // and need not be: our ids keep what is sent from doubling
		}
	}
	if own {
		return s.read(ctx, r.Type, r.Identity)
	}
	return nil, nil
}

// question is a search for one resource of ours.
type question struct {
	resourceType, query string
	// matches tells ours among the answers.
	matches func(foundResource) bool
	// by names the search in a message.
	by string
	// others says that answers may hold what is not ours.
	others bool
}

func (q question) path() string { return q.resourceType + "?" + q.query }

// question is how a resource is searched for: by its identifier, and a
// Provenance, which has none in R4, by what it is about and when it was
// recorded. There is none for a Provenance of what the server does not have.
func (s *Sender) question(r Resource) (question, bool) {
	if r.Type != "Provenance" {
		return question{r.Type, "identifier=" + url.QueryEscape(identifierToken(r.Identity)), func(m foundResource) bool {
			return m.has(recordSystem, "urn:uuid:"+r.Identity)
		}, "the identifier " + r.Identity, false}, true
	}
	target, ok := s.targetOf(r)
	wanted := recordedOf(r.JSON)
	return question{r.Type, "target=" + url.QueryEscape(target), func(m foundResource) bool {
		return !wanted.IsZero() && recordedOf(m.raw).Equal(wanted)
	}, "the session and time", true}, ok
}

// recordSystem is the identifier system of every resource of ours: a URI
// (RFC 3986).
const recordSystem = "urn:ietf:rfc:3986"

func identifierToken(identity string) string { return recordSystem + "|urn:uuid:" + identity }

// ownID reports whether a resource stands at the server under our own id.
func (s *Sender) ownID(r Resource) bool {
	return r.Type != "Patient" && (s.rules.style == Put || r.Condition == "")
}

// read gets a resource by id; nil when there is none.
func (s *Sender) read(ctx context.Context, resourceType, id string) (*found, error) {
	reply, err := s.client.Do(ctx, server.Request{Method: http.MethodGet, Path: resourceType + "/" + id})
	var refusal *server.Refusal
	if errors.As(err, &refusal) && refusal.Status == http.StatusNotFound {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	r, err := parseRead(reply.Body, resourceType)
	if err != nil {
		return nil, err
	}
	return &found{r.ID, r.Meta.VersionID, reply.Body}, nil
}

// targetOf gives the literal reference of what a Provenance is about: the
// Procedure where it is among the targets, else the first target the server
// has.
func (s *Sender) targetOf(r Resource) (string, bool) {
	var p struct {
		Target json.RawMessage `json:"target"`
	}
	_ = json.Unmarshal(r.JSON, &p) // what is no Provenance has no targets
	first := ""
	for _, identity := range references(p.Target) {
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
	var p struct {
		Recorded string `json:"recorded"`
	}
	_ = json.Unmarshal(provenance, &p)
	at, _ := time.Parse(time.RFC3339, p.Recorded)
	return at
}

// findPatient looks for the patient by identifier. The identifier goes into
// the body, never into a URL, which servers write into their logs.
func (s *Sender) findPatient(ctx context.Context, r Resource) (*found, error) {
	query, err := url.ParseQuery(r.Condition)
	if err != nil || query.Get("identifier") == "" {
		return nil, errors.New("the export names no identifier of the patient")
	}
	system, value, _ := strings.Cut(query.Get("identifier"), "|")
	reply, err := s.client.Do(ctx, server.Request{Method: http.MethodPost, Path: "Patient/_search", Form: url.Values{"identifier": query["identifier"]}})
	if err != nil {
		return nil, asCannotSearch(err)
	}
	return one(reply.Body, question{resourceType: "Patient", matches: func(m foundResource) bool { return m.has(system, value) }, by: "the patient's identifier"})
}

// search asks a question and keeps what matches; a match the server gives that
// is none says that it ignores the query.
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

// foundResource is what a search answer is judged by.
type foundResource struct {
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

// check refuses an id or version that FHIR does not allow: it would be kept,
// printed and put into requests.
func (r foundResource) check() error {
	if !server.IsID(r.ID) || r.Meta.VersionID != "" && !server.IsID(r.Meta.VersionID) {
		return fmt.Errorf("the server has a %s whose id or version is none that FHIR allows (1 to 64 letters, digits, - and .): its administrator must look at it", r.ResourceType)
	}
	return nil
}

func (r foundResource) has(system, value string) bool {
	for _, i := range r.Identifier {
		if i.System == system && i.Value == value {
			return true
		}
	}
	return false
}

// one takes the one match out of a searchset.
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
		var r foundResource
		if json.Unmarshal(e.Resource, &r) != nil || r.ResourceType != q.resourceType {
			continue // an OperationOutcome may stand beside the matches
		}
		if err := r.check(); err != nil {
			return nil, err
		}
		r.raw = e.Resource
		if q.matches(r) {
			hits = append(hits, found{r.ID, r.Meta.VersionID, r.raw})
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
