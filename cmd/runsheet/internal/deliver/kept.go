package deliver

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strings"

	"runsheet.example/cmd/runsheet/internal/deliver/receipt"
	"runsheet.example/cmd/runsheet/internal/deliver/server"
	"runsheet.example/fhirmap"
)

// Decision 27. A receiver may keep only part of what it is sent: the entries of a
// batch, or single resources, of types or codes that it has no place for. What it
// refuses, and what refers to that, is named in the receipt and to the person, and
// the rest is sent; the next run offers it again. Where the server has kept
// nothing yet, or does not accept the sender, the run ends: that is no choice of
// the receiver's about its content. A transaction is kept whole or not at all.

// NotKept are the resources that the server did not keep in this run, or only in
// part.
func (s *Sender) NotKept() []receipt.NotKept { return s.notKept }

// refuse records that the server did not keep a resource, or only part of it.
func (s *Sender) refuse(session Session, r fhirmap.Resource, why string, part bool) {
	s.notKept = append(s.notKept, receipt.NotKept{
		Identity: r.Identity, Type: r.Type, Role: r.Role, Session: session.Identity, Label: session.Label, Why: why, Part: part,
	})
	if s.gone == nil {
		s.gone = map[string]bool{}
	}
	s.gone[r.Identity] = !part
	s.tally.NotKept++
}

// refused reports whether the server kept nothing of a resource in this run.
func (s *Sender) refused(identity string) bool {
	return s.gone[identity] && !s.known(identity)
}

// ofItsContent reports whether a refusal is about the content of one resource.
func (s *Sender) ofItsContent(refusal *server.Refusal) bool {
	switch refusal.Status {
	case http.StatusUnauthorized, http.StatusConflict, http.StatusPreconditionFailed, http.StatusRequestEntityTooLarge:
		return false
	case http.StatusForbidden: // of all, where no other entries are answered beside it
		if s.rules.style != Batch {
			return false
		}
	}
	return s.rules.style != Transaction && !refusal.Transient() && len(s.receipt.All()) > 0
}

// sendable are the pending resources of a session without those that the server
// refused in this run. It records those that refer to one of them. A Provenance
// goes without them.
func (s *Sender) sendable(session Session) []fhirmap.Resource {
	pending := s.pending(session)
	if len(s.notKept) == 0 {
		return pending
	}
	var out []fhirmap.Resource
	for _, r := range pending {
		if s.refused(r.Identity) {
			continue
		}
		if r.Type == "Provenance" {
			r.JSON = withoutTargets(r.JSON, s.refused)
		}
		if slices.ContainsFunc(references(r.JSON), s.refused) {
			s.refuse(session, r, "it refers to what was not kept", false)
			continue
		}
		out = append(out, r)
	}
	return out
}

// withoutTargets returns a Provenance without some of its targets; one that has no
// others as it is.
func withoutTargets(provenance []byte, gone func(identity string) bool) []byte {
	list, err := members(provenance)
	var targets []json.RawMessage
	if err != nil || json.Unmarshal(get(list, "target"), &targets) != nil {
		return provenance
	}
	kept := slices.DeleteFunc(targets, func(t json.RawMessage) bool { return slices.ContainsFunc(references(t), gone) })
	if len(kept) == 0 {
		return provenance
	}
	text, err := json.Marshal(kept)
	if err != nil {
		return provenance
	}
	return object(set(list, "target", text))
}

// keptWhole reads back what the server accepted with an error or a warning, and
// records what it kept of it. It reports false if that is nothing.
func (s *Sender) keptWhole(ctx context.Context, session Session, r fhirmap.Resource, id string, a answerEntry) (bool, error) {
	issues := server.RefusalOf(a.Status, a.Outcome).Issues
	if len(issues) == 0 || r.Type == "Patient" {
		return true, nil
	}
	says := briefly(server.RefusalOf(a.Status, a.Outcome))
	hit, err := s.read(ctx, r.Type, id)
	if err != nil {
		return false, err
	}
	if hit == nil {
		s.refuse(session, r, says, false)
		return false, nil
	}
	ours, err := s.content(r.JSON, nil)
	if err != nil {
		return true, nil // refers to others of its transaction: --verify compares it
	}
	var lost []string
	for _, d := range differences(hit.raw, ours) {
		lost = append(lost, d.Path)
	}
	if len(lost) > 0 {
		s.refuse(session, r, says+"; other or missing there: "+strings.Join(lost[:min(len(lost), mostLost)], ", "), true)
	}
	return true, nil
}

// mostLost limits the named elements of one resource.
const mostLost = 5

// noteNotKept writes to the receipt what the server did not keep of a session, in
// place of what an earlier run noted.
func (s *Sender) noteNotKept(session Session) error {
	if len(s.receipt.NotKept)+len(s.notKept) == 0 {
		return nil
	}
	within := map[string]bool{}
	for _, r := range session.Resources {
		within[r.Identity] = true
	}
	s.receipt.NotKept = slices.DeleteFunc(slices.Clone(s.receipt.NotKept), func(n receipt.NotKept) bool { return within[n.Identity] && !s.stillPart(n) })
	for _, n := range s.notKept {
		if within[n.Identity] && !slices.Contains(s.receipt.NotKept, n) {
			s.receipt.NotKept = append(s.receipt.NotKept, n)
		}
	}
	return s.save()
}

// stillPart reports a resource that the server has in part, and that nothing has
// replaced since.
func (s *Sender) stillPart(n receipt.NotKept) bool {
	e, known := s.receipt.Of(n.Identity)
	return n.Part && known && e.Status == receipt.Created
}

// asRefusal returns the refusal of one resource's content in an error.
func (s *Sender) asRefusal(err error) *server.Refusal {
	var refusal *server.Refusal
	if errors.As(err, &refusal) && s.ofItsContent(refusal) {
		return refusal
	}
	return nil
}

// briefly is a refusal in a few words.
func briefly(r *server.Refusal) string {
	return strings.TrimSpace(fmt.Sprintf("%d %s", r.Status, strings.Join(r.Issues, ", ")))
}
