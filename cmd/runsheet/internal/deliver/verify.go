package deliver

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"

	"runsheet.example/cmd/runsheet/internal/deliver/receipt"
	"runsheet.example/cmd/runsheet/internal/deliver/server"
)

// Drift says in what the server departs from the receipt.
type Drift string

// The ways in which it can.
const (
	// Missing: there is nothing at that id, or no longer.
	Missing Drift = "missing"
	// Another resource stands at that id, as after a server was set up anew.
	Another Drift = "another resource"
	// Changed since by somebody else.
	Changed Drift = "changed"
)

// Drifted is one resource that does not stand at the server as the receipt
// says.
type Drifted struct {
	receipt.Entry
	Drift Drift
	// Version is what stands there, where it is another.
	Version string
}

// usualReads is how many resources are read in one request: fewer than the
// smallest limit on entries that servers are known to set.
const usualReads = 100

// Verify reads every resource that the receipt names and lists those that do
// not stand there as it says, in the order of the receipt. Nothing is changed.
func (s *Sender) Verify(ctx context.Context) ([]Drifted, error) {
	entries := s.receipt.All()
	ours := make(map[string]bool, len(entries))
	for _, e := range entries {
		ours[e.Reference()] = true
	}
	var out []Drifted
	err := s.readParts(ctx, entries, func(at int, there []*foundResource) {
		for i, r := range there {
			if drift := judge(entries[at+i], r, ours); drift != "" {
				out = append(out, Drifted{entries[at+i], drift, versionThere(r)})
			}
		}
		s.opts.Progress(at+len(there), len(entries))
	})
	return out, err
}

// readParts reads resources, as many in one request as the server takes, and
// hands them on with the index of the first.
func (s *Sender) readParts(ctx context.Context, entries []receipt.Entry, take func(at int, there []*foundResource)) error {
	size := usualReads
	if s.opts.MaxEntries > 0 {
		size = min(size, s.opts.MaxEntries)
	}
	if !s.batches {
		size = 1
	}
	for done := 0; done < len(entries); {
		part := entries[done:min(done+size, len(entries))]
		there, err := s.readAll(ctx, part)
		var refusal *server.Refusal
		switch {
		case errors.As(err, &refusal) && refusal.Status == http.StatusRequestEntityTooLarge && size > 1:
			size /= 2
			continue
		case errors.As(err, &refusal) && refusesForm[refusal.Status] && size > 1:
			s.opts.Note("the server does not read many resources at once; reading them one by one")
			s.batches, size = false, 1
			continue
		case err != nil:
			return err
		}
		take(done, there)
		done += len(part)
	}
	return nil
}

// Unsent counts the resources of an export that are not in the receipt; those
// that were sent with other content are in the tally.
func (s *Sender) Unsent(folder *Folder) (int, error) {
	missing := map[string]bool{}
	for i := range folder.Files {
		session, err := folder.Session(i)
		if err != nil {
			return 0, err
		}
		for _, r := range s.pending(session) {
			missing[r.Identity] = true
		}
		s.compare(session)
	}
	return len(missing), nil
}

// refusesForm are the answers of a server that does not take a batch of reads.
var refusesForm = map[int]bool{http.StatusBadRequest: true, http.StatusNotFound: true, http.StatusMethodNotAllowed: true, http.StatusNotImplemented: true}

// gone are the answers of a server that has no such resource, or no longer.
var gone = map[int]bool{http.StatusNotFound: true, http.StatusGone: true}

// readAll reads resources, in one request where there are several; nil for one
// that is not there.
func (s *Sender) readAll(ctx context.Context, part []receipt.Entry) ([]*foundResource, error) {
	if len(part) == 1 {
		one, err := s.readOne(ctx, part[0])
		return []*foundResource{one}, err
	}
	type request struct {
		Method string `json:"method"`
		URL    string `json:"url"`
	}
	type entry struct {
		Request request `json:"request"`
	}
	bundle := struct {
		ResourceType string  `json:"resourceType"`
		Type         string  `json:"type"`
		Entry        []entry `json:"entry"`
	}{ResourceType: "Bundle", Type: string(Batch)}
	for _, e := range part {
		bundle.Entry = append(bundle.Entry, entry{request{http.MethodGet, e.Reference()}})
	}
	text, err := json.Marshal(bundle)
	if err != nil {
		return nil, err
	}
	reply, err := s.client.Do(ctx, server.Request{Method: http.MethodPost, Body: text, Reads: true})
	if err != nil {
		return nil, err
	}
	return parseReads(reply.Body, part)
}

// readOne reads one resource; nil when it is not there.
func (s *Sender) readOne(ctx context.Context, e receipt.Entry) (*foundResource, error) {
	reply, err := s.client.Do(ctx, server.Request{Method: http.MethodGet, Path: e.Reference()})
	var refusal *server.Refusal
	if errors.As(err, &refusal) && gone[refusal.Status] {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	return parseRead(reply.Body, e.Type)
}

func parseRead(text []byte, resourceType string) (*foundResource, error) {
	r := foundResource{raw: text}
	if json.Unmarshal(text, &r) != nil || r.ResourceType != resourceType {
		return nil, fmt.Errorf("the server answered something else than the %s asked for", resourceType)
	}
	return &r, nil
}

// parseReads takes the answer to a batch of reads apart.
func parseReads(body []byte, part []receipt.Entry) ([]*foundResource, error) {
	answers, err := parseAnswers(body, len(part))
	if err != nil {
		return nil, err
	}
	out := make([]*foundResource, len(part))
	for i, a := range answers {
		switch {
		case gone[a.Status]:
		case a.Status < 200 || a.Status > 299:
			return nil, server.RefusalOf(a.Status, a.Outcome)
		default:
			if out[i], err = parseRead(a.Resource, part[i].Type); err != nil {
				return nil, err
			}
		}
	}
	return out, nil
}

// judge holds what stands at the server against the receipt; ours are the
// references of all of it.
func judge(e receipt.Entry, there *foundResource, ours map[string]bool) Drift {
	switch {
	case there == nil:
		return Missing
	case !isOurs(e, there, ours):
		return Another
	case e.Version != "" && there.Meta.VersionID != "" && e.Version != there.Meta.VersionID:
		return Changed
	default:
		return ""
	}
}

// isOurs tells a resource of ours from another that has got its id: by its
// identifier, or, for a Provenance, by what it is about. A Patient is the
// clinic's.
func isOurs(e receipt.Entry, there *foundResource, ours map[string]bool) bool {
	switch e.Type {
	case "Patient":
		return true
	case "Provenance":
		var p struct {
			Target []struct {
				Reference string `json:"reference"`
			} `json:"target"`
		}
		_ = json.Unmarshal(there.raw, &p)
		for _, t := range p.Target {
			if resourceType, id, _, ok := server.Relative(t.Reference); ok && ours[resourceType+"/"+id] {
				return true
			}
		}
		return false
	default:
		return there.has(recordSystem, "urn:uuid:"+e.Identity)
	}
}

func versionThere(r *foundResource) string {
	if r == nil {
		return ""
	}
	return r.Meta.VersionID
}

// ErrEmptied means that the server lacks what it had taken.
type ErrEmptied struct{ References [2]string }

func (e *ErrEmptied) Error() string {
	return fmt.Sprintf("the server has neither %s nor %s, which it had taken by the receipt: it was emptied or set up anew, or another one stands at this address. Nothing was sent. 'runsheet send --verify' lists what is missing; to send all of it again, move the receipt away", e.References[0], e.References[1])
}

// Probe reads one resource of the receipt, and when it is not there a second,
// so that a server that was emptied or changed for another is noticed before
// anything rests on the receipt. It takes a request or two; a server that lets
// nobody read is not asked further.
func (s *Sender) Probe(ctx context.Context) error {
	last, first := s.samples()
	if last.ID == "" {
		return nil
	}
	there, err := s.readOne(ctx, last)
	var refusal *server.Refusal
	switch {
	case errors.As(err, &refusal) && refusal.Status != http.StatusUnauthorized:
		s.opts.Note("the server does not let its records be read: that it still has what it took is by the receipt alone")
		return nil
	case err != nil:
		return err
	case there != nil && isOurs(last, there, nil):
		return nil
	}
	if there, err = s.readOne(ctx, first); err != nil {
		return err
	}
	if there == nil || !isOurs(first, there, nil) {
		return &ErrEmptied{[2]string{last.Reference(), first.Reference()}}
	}
	s.opts.Note(fmt.Sprintf("the server no longer has %s as it was sent: 'runsheet send --verify' looks at all of it", last.Reference()))
	return nil
}

// samples are the Procedure that was sent last, and the first resource of a
// session that is another.
func (s *Sender) samples() (last, first receipt.Entry) {
	entries := s.receipt.All()
	for i := len(entries) - 1; i >= 0 && last.ID == ""; i-- {
		if entries[i].Type == "Procedure" {
			last = entries[i]
		}
	}
	for _, e := range entries {
		if e.Type != "Patient" && e.Type != "Provenance" && e.Identity != last.Identity {
			return last, e
		}
	}
	return last, last
}
