package deliver

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"runsheet.example/cmd/runsheet/internal/deliver/receipt"
	"runsheet.example/cmd/runsheet/internal/deliver/server"
	"runsheet.example/fhirmap"
)

// post sends one request and records the answer before any other step.
func (s *Sender) post(ctx context.Context, session Session, chunk []fhirmap.Resource) error {
	inside := map[string]bool{}
	for _, r := range chunk {
		inside[r.Identity] = s.rules.style == Transaction
	}
	entries := make([]entry, len(chunk))
	for i, r := range chunk {
		e, err := s.prepare(r, inside)
		if err != nil {
			return err
		}
		entries[i] = e
	}
	s.receipt.Style = string(s.rules.style)
	s.tally.Stores++
	if s.rules.style == Put || s.rules.style == Single {
		return s.postSingle(ctx, session, chunk[0], entries[0])
	}
	reply, err := s.client.Do(ctx, server.Request{Method: http.MethodPost, Body: bundle(s.rules.style, entries)})
	if err != nil {
		return err
	}
	answers, err := parseAnswers(reply.Body, len(chunk))
	if err != nil {
		return err
	}
	err = s.accept(ctx, session, chunk, answers)
	if saved := s.save(); saved != nil {
		return saved
	}
	if err != nil {
		return err
	}
	if s.refused(chunk[0].Identity) {
		return nil
	}
	return s.tryCondition(ctx, chunk[0])
}

func (s *Sender) postSingle(ctx context.Context, session Session, r fhirmap.Resource, e entry) error {
	a, err := s.store(ctx, e)
	if refusal := s.asRefusal(err); refusal != nil {
		s.refuse(session, r, briefly(refusal), false)
		return nil
	}
	if err != nil {
		return err
	}
	err = s.accept(ctx, session, []fhirmap.Resource{r}, []answerEntry{a})
	if saved := s.save(); saved != nil {
		return saved
	}
	if err != nil {
		return err
	}
	return s.tryCondition(ctx, r)
}

// store sends a single resource. If the condition identifies the patient, the
// resource goes in a Bundle of one entry, because servers log headers. If the
// server supports no Bundle, the preceding search must suffice.
func (s *Sender) store(ctx context.Context, e entry) (answerEntry, error) {
	if e.condition != "" && (e.url == "Patient" || strings.Contains(e.condition, "Patient")) {
		if s.batches {
			reply, err := s.client.Do(ctx, server.Request{Method: http.MethodPost, Body: bundle(Batch, []entry{e})})
			if err != nil {
				return answerEntry{}, err
			}
			answers, err := parseAnswers(reply.Body, 1)
			if err == nil {
				err = refusedEntry(answers)
			}
			if err != nil {
				return answerEntry{}, err
			}
			return answers[0], nil
		}
		if s.searches != yes {
			return answerEntry{}, errors.New("the server does no Bundles and cannot be asked for the patient: the condition would stand in a header, which servers log. Ask the clinic which patient it is, and export with --patient Patient/ID")
		}
		e.condition = ""
	}
	reply, err := s.client.Do(ctx, server.Request{Method: e.method, Path: e.url, Body: e.resource, IfNoneExist: e.condition})
	if err != nil {
		return answerEntry{}, err
	}
	a := answerEntry{Status: reply.Status, Location: reply.Location, ETag: reply.Header.Get("ETag")}
	if a.Location == "" {
		a.Location = reply.Header.Get("Content-Location")
	}
	if a.Location == "" && e.method == http.MethodPut {
		a.Location = e.url
	}
	return a, nil
}

// answerEntry is the server's answer for one entry.
type answerEntry struct {
	Status         int
	Location, ETag string
	Outcome        json.RawMessage
	// Resource is the resource read.
	Resource json.RawMessage
}

func (a answerEntry) ok() bool { return a.Status >= 200 && a.Status < 300 }

func parseAnswers(body []byte, wanted int) ([]answerEntry, error) {
	var bundle struct {
		Type  string `json:"type"`
		Entry []struct {
			Resource json.RawMessage `json:"resource"`
			Response struct {
				Status   string          `json:"status"`
				Location string          `json:"location"`
				ETag     string          `json:"etag"`
				Outcome  json.RawMessage `json:"outcome"`
			} `json:"response"`
		} `json:"entry"`
	}
	if json.Unmarshal(body, &bundle) != nil || !strings.HasSuffix(bundle.Type, "-response") || len(bundle.Entry) != wanted {
		return nil, fmt.Errorf("%w: its answer does not fit what was sent", server.ErrUnknownOutcome)
	}
	out := make([]answerEntry, wanted)
	for i, e := range bundle.Entry {
		number, _, _ := strings.Cut(strings.TrimSpace(e.Response.Status), " ")
		status, err := strconv.Atoi(number)
		if err != nil {
			return nil, fmt.Errorf("%w: its answer has an entry without a status", server.ErrUnknownOutcome)
		}
		out[i] = answerEntry{status, e.Response.Location, e.Response.ETag, e.Response.Outcome, e.Resource}
	}
	return out, nil
}

// accept records every accepted entry, and those refused for their content, and
// returns the first refusal of the others.
func (s *Sender) accept(ctx context.Context, session Session, chunk []fhirmap.Resource, answers []answerEntry) error {
	for i, a := range answers {
		if !a.ok() {
			continue
		}
		if err := s.acceptOne(ctx, session, chunk[i], a); err != nil {
			return err
		}
	}
	var others []answerEntry
	for i, a := range answers {
		if refusal := server.RefusalOf(a.Status, a.Outcome); !a.ok() && s.ofItsContent(refusal) {
			s.refuse(session, chunk[i], briefly(refusal), false)
		} else {
			others = append(others, a)
		}
	}
	return refusedEntry(others)
}

// refusedEntry is the refusal of the first refused entry; one that may succeed
// later is sent again with those still missing.
func refusedEntry(answers []answerEntry) error {
	for _, a := range answers {
		if a.ok() {
			continue
		}
		refusal := server.RefusalOf(a.Status, a.Outcome)
		if refusal.Transient() {
			return fmt.Errorf("%w: %w", server.ErrUnknownOutcome, refusal)
		}
		return refusal
	}
	return nil
}

func (s *Sender) acceptOne(ctx context.Context, session Session, r fhirmap.Resource, a answerEntry) error {
	resourceType, id, version, ok := server.Relative(a.Location)
	if tag := versionOf(a.ETag); tag != "" {
		version = tag
	}
	if !ok || resourceType != r.Type {
		hit, err := s.find(ctx, r)
		if refusal := server.RefusalOf(a.Status, a.Outcome); err == nil && hit == nil && len(refusal.Issues) > 0 {
			s.refuse(session, r, briefly(refusal), false)
			return nil
		}
		if err != nil || hit == nil {
			return fmt.Errorf("%w: it does not say where it put the %s", server.ErrUnknownOutcome, r.Type)
		}
		id, version = hit.ID, hit.version()
	}
	if kept, err := s.keptWhole(ctx, session, r, id, a); err != nil || !kept {
		return err
	}
	if a.Status == http.StatusCreated || s.ownID(r) {
		s.record(session, r, id, version, receipt.Created)
		return nil
	}
	hit, err := s.read(ctx, r.Type, id)
	if err != nil {
		return err
	}
	if hit == nil {
		s.record(session, r, id, version, receipt.Differs)
		return nil
	}
	if target, ok := s.targetOf(r); ok && r.Type == "Provenance" && !isOurs(receipt.Entry{Type: r.Type}, hit, map[string]bool{target: true}) {
		return errTakenForAnother
	}
	s.present(session, r, hit)
	return nil
}

// errTakenForAnother means that a Provenance was not stored, because its
// condition matched that of another session.
var errTakenForAnother = errors.New("the server takes the Provenance of this session for that of another with the same time, and did not store it: export with --provenance put, where the server takes our ids, or --provenance none")

// versionOf extracts the version from an ETag such as W/"3"; "" if FHIR does
// not allow it.
func versionOf(etag string) string {
	version := strings.Trim(strings.TrimPrefix(etag, "W/"), `"`)
	if !server.IsID(version) {
		return ""
	}
	return version
}

// tryCondition tests once, if the server cannot be searched, whether it obeys
// conditions: it sends the first resource again and expects the one just
// created.
func (s *Sender) tryCondition(ctx context.Context, r fhirmap.Resource) error {
	if !s.untried() || s.ownID(r) {
		return nil
	}
	e, err := s.prepare(r, nil)
	if err != nil {
		return err
	}
	first, _ := s.receipt.Of(r.Identity)
	s.tally.Stores++
	again, err := s.store(ctx, e)
	if err != nil {
		return err
	}
	_, id, _, ok := server.Relative(again.Location)
	if again.Status == http.StatusOK && (!ok || id == first.ID) {
		s.honoured = true
		return nil
	}
	return fmt.Errorf("%w: one %s stands there twice now (%s/%s and %s), which the clinic may mark as entered in error; nothing more is sent. With a server that takes our ids use --style put",
		errIgnoresConditions, first.Type, first.Type, id, first.Reference())
}

// untried reports whether sending depends on conditions that are not tested
// yet.
func (s *Sender) untried() bool { return s.searches == no && !s.honoured }

var errIgnoresConditions = errors.New("the server says that it does conditional creates, but does not")
