package deliver

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"time"

	"runsheet.example/cmd/runsheet/internal/deliver/receipt"
	"runsheet.example/cmd/runsheet/internal/deliver/server"
	"runsheet.example/fhirmap"
)

// AmendOptions are the person's choices for an amendment.
type AmendOptions struct {
	// Reason is the reason in the person's words; may be empty.
	Reason string
	// Now is the time of the amendment.
	Now time.Time
	// Refile reports that the record was filed under another patient, and
	// withdraws it there.
	Refile bool
	// Software is the Device resource of the program, the assembler in the
	// Provenance.
	Software *fhirmap.Resource
	// Provenance is how the record's Provenance is sent. An amendment's goes
	// the same way, or not at all if the record has none.
	Provenance string
	// Tags are those of the record, see its manifest.
	Tags string
	// Days are the days of the sessions of the log in UTC, by their labels.
	Days map[string]time.Time
	// Messages reports that the receipt is one of HL7 v2 messages, which have
	// no Provenance and no shared resources.
	Messages bool
}

// hasProvenance reports whether an amendment gets a Provenance.
func (o AmendOptions) hasProvenance() bool { return o.Provenance != fhirmap.NoProvenance }

// Amend carries out a plan: it creates new resources, replaces wrong ones on
// the condition that nobody else changed them, and marks as entered in error
// those that should never have existed. It never deletes. It writes a
// Provenance for each session. The receipt records every step before the next,
// so that after an interruption the same command completes it.
func (s *Sender) Amend(ctx context.Context, plan Plan, opts AmendOptions) error {
	if err := s.Probe(ctx); err != nil {
		return err
	}
	conflicts := &ErrConflicts{}
	for i, p := range plan.Sessions {
		if err := s.amendSession(ctx, p, opts, conflicts); err != nil {
			return err
		}
		if err := s.completeAmendments(ctx, opts, p.Session.Identity); err != nil {
			return err
		}
		s.opts.Progress(i+1, len(plan.Sessions))
	}
	if err := s.completeAmendments(ctx, opts, ""); err != nil { // begun before, in sessions without further changes
		return err
	}
	if len(conflicts.Conflicts) > 0 {
		return conflicts
	}
	return s.Missing()
}

func (s *Sender) amendSession(ctx context.Context, p SessionPlan, opts AmendOptions, conflicts *ErrConflicts) error {
	if err := s.admit(p.Session); err != nil {
		return err
	}
	s.patientID = p.Session.patientIdentity()
	if !s.known(p.Session.Identity) {
		return s.createMissing(ctx, p) // with its own Provenance
	}
	if err := s.settleLiteralPatient(ctx, p.Session.Identity); err != nil {
		return err
	}
	if !opts.Refile { // the withdrawn resources need not belong to that patient
		if err := s.confirmPatient(ctx); err != nil {
			return err
		}
		s.bind()
	}
	all, err := s.examine(ctx, &p, opts, conflicts)
	if err != nil || len(p.New)+len(all) == 0 {
		return errors.Join(err, s.save())
	}
	if err := s.begin(p, opts); err != nil {
		return err
	}
	if err := s.createMissing(ctx, p); err != nil {
		return err
	}
	return s.replaceAll(ctx, p, all, opts, conflicts)
}

// replaceAll sends the replacements, in one transaction if the server supports
// that.
func (s *Sender) replaceAll(ctx context.Context, p SessionPlan, all []replacement, opts AmendOptions, conflicts *ErrConflicts) (err error) {
	for i := range all {
		if c := all[i].correction; c != nil { // its references are known by now
			if all[i].content, err = s.corrected(all[i].entry, *c, opts); err != nil {
				return err
			}
		}
	}
	if done, err := s.together(ctx, p, all, opts); done || err != nil {
		return err
	}
	return s.oneByOne(ctx, p, all, conflicts)
}

// oneByOne sends each correction and withdrawal separately, on the condition
// of the version it replaces.
func (s *Sender) oneByOne(ctx context.Context, p SessionPlan, all []replacement, conflicts *ErrConflicts) error {
	h := s.holder(p, conflicts)
	for _, r := range all {
		if r.correction != nil {
			if cause, held := h.rests(r.correction.Resource); held {
				conflicts.hold(cause, r.correction.Resource)
				continue
			}
		}
		version, replaced, err := s.replace(ctx, r.entry, r.content, conflicts)
		if err != nil {
			return err
		}
		if !replaced {
			h.touched[r.entry.Identity] = r.entry.Identity
			continue
		}
		s.recordReplaced(p.Session, r, version)
		if err := s.save(); err != nil {
			return err
		}
	}
	return nil
}

// createMissing sends new resources, after the shared resources they need.
func (s *Sender) createMissing(ctx context.Context, p SessionPlan) error {
	session := p.Session
	session.Resources = append(slices.Clone(p.Shared), p.New...)
	return s.Session(ctx, session)
}

// settleLiteralPatient reads the patient's reference from the session at the
// server.
func (s *Sender) settleLiteralPatient(ctx context.Context, procedure string) error {
	if s.receipt.Patient != "" {
		return nil
	}
	e, ok := s.receipt.Of(procedure)
	if !ok {
		return fmt.Errorf("the receipt does not hold the session's Procedure")
	}
	hit, err := s.read(ctx, e.Type, e.ID)
	if err != nil {
		return err
	}
	var resource elements
	if hit != nil {
		resource, _ = elementsOf(hit.raw)
	}
	resourceType, id, _, ok := server.Relative(resource.Subject.Reference)
	if !ok || resourceType != "Patient" {
		return errors.New("the session at the server names no patient: give --patient Patient/ID")
	}
	s.receipt.Patient = "Patient/" + id
	return nil
}

// begin records in the receipt what is about to change, so that its Provenance
// is sent even after an interruption.
func (s *Sender) begin(p SessionPlan, opts AmendOptions) error {
	at := -1
	for i, a := range s.receipt.Amending {
		if a.Session == p.Session.Identity {
			at = i
		}
	}
	if at < 0 {
		at = len(s.receipt.Amending)
		s.receipt.Amending = append(s.receipt.Amending, receipt.Amendment{
			Recorded: s.recordedAt(p.Session.Identity, opts.Now), Session: p.Session.Identity, Reason: opts.Reason, Refiled: opts.Refile,
		})
	}
	a := &s.receipt.Amending[at]
	a.Recomputed = (len(a.Changes) == 0 || a.Recomputed) && p.recomputed()
	for _, r := range p.New {
		if r.Type != "Provenance" {
			a.Changes = append(a.Changes, receipt.Change{Identity: r.Identity})
		}
	}
	for _, r := range p.Correct {
		e, _ := s.receipt.Of(r.Identity)
		a.Changes = append(a.Changes, receipt.Change{Identity: r.Identity, OldVersion: e.Version})
	}
	for _, e := range p.Withdraw {
		a.Changes = append(a.Changes, receipt.Change{Identity: e.Identity, OldVersion: e.Version})
	}
	return s.save()
}

// recomputed reports whether only the version of a method changed.
func (p SessionPlan) recomputed() bool {
	return len(p.New)+len(p.Withdraw) == 0 && !slices.ContainsFunc(p.Correct, func(c Correction) bool { return !c.Recomputed })
}

// recordedAt is the time of an amendment in whole seconds. The seconds
// distinguish the amendments of a session: a second amendment within one
// second waits for the next.
func (s *Sender) recordedAt(session string, now time.Time) string {
	for ; ; now = now.Add(time.Second) {
		recorded := now.UTC().Format(time.RFC3339)
		if !s.known(amendmentIdentity(session, recorded)) {
			return recorded
		}
	}
}

// corrected is the later version of a resource, as sent.
func (s *Sender) corrected(e receipt.Entry, c Correction, opts AmendOptions) ([]byte, error) {
	content, err := s.content(c.JSON, nil)
	if err != nil {
		return nil, err
	}
	list, err := members(content)
	if err != nil {
		return nil, err
	}
	list = set(list, "id", quoted(e.ID))
	if c.Type != "Device" && c.Type != reportType && c.Type != logType {
		list = addNote(list, because(c.says(), opts.Reason))
	}
	if (c.Type == "Observation" || c.Type == reportType) && !c.Completes && string(get(list, "status")) == `"`+final+`"` {
		list = set(list, "status", quoted(string(c.Kind)))
	}
	return object(list), nil
}

// says is the note on a later version.
func (c Correction) says() string {
	switch {
	case c.Recomputed:
		return "Computed again by another version of the method; the version before stands in the history."
	case c.Kind == receipt.Amended:
		return "Changed after it was sent; the version before stands in the history."
	default:
		return "Corrected in the patient's log; the version before stands in the history."
	}
}

// withdrawn is the resource at the server, marked as entered in error; nil if
// it is marked already. It is never deleted: those who have read it must be
// able to see that it was wrong.
func withdrawn(there []byte, opts AmendOptions) ([]byte, error) {
	list, err := members(there)
	if err != nil || string(get(list, "status")) == `"entered-in-error"` {
		return nil, err
	}
	list = set(list, "status", quoted("entered-in-error"))
	switch string(get(list, "resourceType")) {
	case `"` + reportType + `"`, `"` + logType + `"`:
		return object(list), nil
	}
	return object(addNote(list, because("Withdrawn in the patient's log: entered in error.", opts.Reason))), nil
}

// replace replaces the version of an entry and returns the new version. If
// somebody else changed it in between, it records the conflict. It recognises a
// version of ours whose answer was lost.
func (s *Sender) replace(ctx context.Context, e receipt.Entry, content []byte, conflicts *ErrConflicts) (version string, replaced bool, err error) {
	request := server.Request{Method: http.MethodPut, Path: e.Reference(), Body: content}
	if e.Version != "" {
		request.IfMatch = `W/"` + e.Version + `"`
	}
	reply, err := s.client.Do(ctx, request)
	var refusal *server.Refusal
	if errors.As(err, &refusal) && conflicting[refusal.Status] {
		there, err := s.read(ctx, e.Type, e.ID)
		if err != nil {
			return "", false, err
		}
		if there != nil && contains(there.raw, content) {
			return there.version(), true, nil
		}
		conflicts.add(e, there, plain(content))
		return "", false, nil
	}
	if err != nil {
		return "", false, err
	}
	if version = versionOf(reply.Header.Get("ETag")); version == "" {
		_, _, version, _ = server.Relative(reply.Location)
	}
	return version, true, nil
}

var conflicting = map[int]bool{http.StatusPreconditionFailed: true, http.StatusConflict: true, http.StatusGone: true, http.StatusNotFound: true}

// addNote appends an annotation to a resource's notes.
func addNote(list []member, text string) []member {
	var notes []json.RawMessage
	_ = json.Unmarshal(get(list, "note"), &notes)
	note := append([]byte(`{"text":`), quoted(text)...)
	all := append(notes, append(note, '}'))
	parts := make([]string, len(all))
	for i, n := range all {
		parts[i] = string(n)
	}
	return set(list, "note", json.RawMessage("["+strings.Join(parts, ",")+"]"))
}

// because appends the person's reason to a sentence.
func because(sentence, reason string) string {
	if reason == "" {
		return sentence
	}
	return sentence + " Reason: " + reason
}
