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

// usualReads is the number of resources read in one request: fewer than the
// smallest limit on entries known to be set on servers.
const usualReads = 100

// readParts reads resources, as many per request as the server allows, and
// passes them on with the index of the first.
func (s *Sender) readParts(ctx context.Context, entries []receipt.Entry, take func(at int, there []*found)) error {
	size := s.readsAtOnce()
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
			s.singly.reads, size = true, 1
			continue
		case err != nil:
			return err
		}
		take(done, there)
		done += len(part)
	}
	return nil
}

// readsAtOnce is the number of resources read or searched for in one request.
func (s *Sender) readsAtOnce() int {
	switch {
	case !s.batches || s.singly.reads:
		return 1
	case s.opts.MaxEntries > 0:
		return min(usualReads, s.opts.MaxEntries)
	default:
		return usualReads
	}
}

// refusesMany reports an answer with which a server refuses so many reads in
// one request.
func refusesMany(status int) bool {
	return refusesForm[status] || status == http.StatusRequestEntityTooLarge
}

// refusesForm are the answers of a server that does not accept a batch of
// reads.
var refusesForm = map[int]bool{http.StatusBadRequest: true, http.StatusNotFound: true, http.StatusMethodNotAllowed: true, http.StatusNotImplemented: true}

// gone are the answers of a server that does not have a resource, or no longer
// has it.
var gone = map[int]bool{http.StatusNotFound: true, http.StatusGone: true}

// readAll reads resources, in one request if there are several; nil for one
// that does not exist.
func (s *Sender) readAll(ctx context.Context, part []receipt.Entry) ([]*found, error) {
	if len(part) == 1 {
		one, err := s.readOne(ctx, part[0])
		return []*found{one}, err
	}
	paths := make([]string, len(part))
	for i, e := range part {
		paths[i] = e.Reference()
	}
	answers, err := s.readBatch(ctx, paths)
	if err != nil {
		return nil, err
	}
	return parseReads(answers, part, func(e receipt.Entry) (*found, error) { return s.readOne(ctx, e) })
}

// readBatch sends several reads or searches in one request.
func (s *Sender) readBatch(ctx context.Context, paths []string) ([]answerEntry, error) {
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
	for _, path := range paths {
		bundle.Entry = append(bundle.Entry, entry{request{http.MethodGet, path}})
	}
	text, err := json.Marshal(bundle)
	if err != nil {
		return nil, err
	}
	reply, err := s.client.Do(ctx, server.Request{Method: http.MethodPost, Body: text, Reads: true})
	if err != nil {
		return nil, err
	}
	return parseAnswers(reply.Body, len(paths))
}

// read reads a resource by id; nil if it never existed. One that was deleted
// is a [server.Refusal].
func (s *Sender) read(ctx context.Context, resourceType, id string) (*found, error) {
	reply, err := s.client.Do(ctx, server.Request{Method: http.MethodGet, Path: resourceType + "/" + id})
	var refusal *server.Refusal
	if errors.As(err, &refusal) && refusal.Status == http.StatusNotFound {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	return parseRead(reply.Body, resourceType)
}

// readOne reads a resource of the receipt; nil if it does not exist.
func (s *Sender) readOne(ctx context.Context, e receipt.Entry) (*found, error) {
	there, err := s.read(ctx, e.Type, e.ID)
	var refusal *server.Refusal
	if errors.As(err, &refusal) && gone[refusal.Status] {
		return nil, nil
	}
	return there, err
}

func parseRead(text []byte, resourceType string) (*found, error) {
	r := found{raw: text}
	if json.Unmarshal(text, &r) != nil || r.ResourceType != resourceType {
		return nil, fmt.Errorf("the server answered something else than the %s asked for", resourceType)
	}
	return &r, r.check()
}

// parseReads splits the answers to a batch of reads. again reads one that was
// refused as a request of its own, which is repeated if the server is busy.
func parseReads(answers []answerEntry, part []receipt.Entry, again func(receipt.Entry) (*found, error)) ([]*found, error) {
	var err error
	out := make([]*found, len(part))
	for i, a := range answers {
		switch {
		case gone[a.Status]:
		case a.ok():
			out[i], err = parseRead(a.Resource, part[i].Type)
		default:
			out[i], err = again(part[i])
		}
		if err != nil {
			return nil, err
		}
	}
	return out, nil
}
