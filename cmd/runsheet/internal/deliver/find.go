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
// error that a person must look at.
func (s *Sender) find(ctx context.Context, r Resource) (*found, error) {
	switch {
	case r.Type == "Patient":
		return s.findPatient(ctx, r)
	case s.ownID(r):
		return s.read(ctx, r.Type, r.Identity)
	case r.Type == "Provenance":
		return s.findProvenance(ctx, r)
	default:
		return s.search(ctx, r.Type, "identifier="+url.QueryEscape(identifierToken(r.Identity)), func(m foundResource) bool {
			return m.has(recordSystem, "urn:uuid:"+r.Identity)
		}, r.Identity)
	}
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
	var r foundResource
	if json.Unmarshal(reply.Body, &r) != nil || r.ResourceType != resourceType {
		return nil, fmt.Errorf("the server answered something else than the %s asked for", resourceType)
	}
	return &found{r.ID, r.Meta.VersionID, reply.Body}, nil
}

// findProvenance finds a Provenance by what it is about and when it was
// recorded: R4 gives it no identifier.
func (s *Sender) findProvenance(ctx context.Context, r Resource) (*found, error) {
	target, ok := s.targetOf(r)
	if !ok {
		return nil, nil
	}
	wanted := recordedOf(r.JSON)
	return s.search(ctx, "Provenance", "target="+url.QueryEscape(target), func(m foundResource) bool {
		return !wanted.IsZero() && recordedOf(m.raw).Equal(wanted)
	}, "")
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
	return one(reply.Body, "Patient", func(m foundResource) bool { return m.has(system, value) }, "the patient's identifier")
}

// search asks by a query and keeps what matches; a match the server gives that
// is none says that it ignores the query.
func (s *Sender) search(ctx context.Context, resourceType, query string, matches func(foundResource) bool, identity string) (*found, error) {
	reply, err := s.client.Do(ctx, server.Request{Method: http.MethodGet, Path: resourceType + "?" + query})
	if err != nil {
		return nil, asCannotSearch(err)
	}
	if identity == "" { // others may have written a Provenance about it
		return one(reply.Body, resourceType, matches, "the session and time", mayHaveOthers)
	}
	return one(reply.Body, resourceType, matches, "the identifier "+identity)
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

func (r foundResource) has(system, value string) bool {
	for _, i := range r.Identifier {
		if i.System == system && i.Value == value {
			return true
		}
	}
	return false
}

type tolerance bool

const mayHaveOthers tolerance = true

// one takes the one match out of a searchset.
func one(body []byte, resourceType string, matches func(foundResource) bool, by string, others ...tolerance) (*found, error) {
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
		if json.Unmarshal(e.Resource, &r) != nil || r.ResourceType != resourceType {
			continue // an OperationOutcome may stand beside the matches
		}
		r.raw = e.Resource
		if matches(r) {
			hits = append(hits, found{r.ID, r.Meta.VersionID, r.raw})
		} else {
			strangers++
		}
	}
	switch {
	case len(hits) > 1:
		return nil, fmt.Errorf("the server has %d of %s with %s, where there must be one: somebody at the clinic must merge them; nothing more was sent", len(hits), resourceType, by)
	case len(hits) == 1:
		return &hits[0], nil
	case strangers > 0 && len(others) == 0:
		return nil, errCannotSearch
	default:
		return nil, nil
	}
}
