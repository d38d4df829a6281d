package deliver

import (
	"context"
	"errors"
	"net/http"
	"strconv"

	"runsheet.example/cmd/runsheet/internal/deliver/receipt"
	"runsheet.example/cmd/runsheet/internal/deliver/server"
	"runsheet.example/fhirmap"
)

// replacement is one resource to replace: by its correction or, without one,
// by itself marked as entered in error.
type replacement struct {
	entry      receipt.Entry
	correction *Correction
	content    []byte
}

// together sends the corrections and withdrawals of a session, and their
// Provenance, as one transaction: a reader never sees a corrected weight
// beside a value computed from the wrong one. If the server does not support
// this, they go one by one, without an error.
//
// Each update contains the version it replaces. A server may ignore that
// within a transaction, so [Sender.examine] has just checked that nothing
// changed.
//
// Decision 19. Where a server accepts no such transaction, corrections go one
// by one under If-Match. The sender does not overwrite what somebody at the
// clinic changed, and holds back what is derived from it. A new version is
// corrected only where the result was in error, else amended, by R4's
// ObservationStatus. The receipt keeps the amendment until its Provenance has
// arrived.
func (s *Sender) together(ctx context.Context, p SessionPlan, all []replacement, opts AmendOptions) (done bool, err error) {
	if len(all) == 0 {
		return true, nil
	}
	if s.singly.corrections || !s.batches || s.rules.style != Transaction || len(all)+1 > s.rules.limit() {
		return false, nil
	}
	err = s.transact(ctx, p.Session, all, opts)
	var refusal *server.Refusal
	if errors.As(err, &refusal) && refusal.Status != http.StatusUnauthorized && refusal.Status != http.StatusForbidden && !errors.Is(err, server.ErrUnknownOutcome) {
		if !conflicting[refusal.Status] {
			s.singly.corrections = true
			s.opts.Note("the server refuses corrections in one transaction; sending them one by one")
		}
		return false, nil
	}
	if err != nil {
		return true, err
	}
	return true, s.save()
}

// replacements are the remaining resources of a session to replace.
func (s *Sender) replacements(p SessionPlan) []replacement {
	var out []replacement
	for i := range p.Correct {
		e, _ := s.receipt.Of(p.Correct[i].Identity)
		out = append(out, replacement{entry: e, correction: &p.Correct[i]})
	}
	for _, e := range p.Withdraw {
		out = append(out, replacement{entry: e})
	}
	return out
}

// standing reads the version at the server of each.
func (s *Sender) standing(ctx context.Context, all []replacement) ([]*found, error) {
	entries := make([]receipt.Entry, len(all))
	for i, r := range all {
		entries[i] = r.entry
	}
	return s.readEntries(ctx, entries)
}

// readEntries reads resources; nil for one that does not exist.
func (s *Sender) readEntries(ctx context.Context, entries []receipt.Entry) ([]*found, error) {
	there := make([]*found, 0, len(entries))
	err := s.readParts(ctx, entries, func(_ int, part []*found) { there = append(there, part...) })
	return there, err
}

// fill sets the content of a replacement, and reports whether the server
// already has it as entered in error.
func (s *Sender) fill(r *replacement, there *found, opts AmendOptions) (done bool, err error) {
	if r.correction == nil {
		r.content, err = withdrawn(there.raw, opts)
		return r.content == nil, err
	}
	r.content, err = s.corrected(r.entry, *r.correction, opts)
	return false, err
}

func (s *Sender) recordReplaced(session Session, r replacement, version string) {
	if r.correction != nil {
		s.record(session, r.correction.Resource, r.entry.ID, version, r.correction.Kind)
		return
	}
	r.entry.Version, r.entry.Status = version, receipt.Withdrawn
	s.tally.Withdrawn++
	s.receipt.Put(r.entry)
}

// transact sends replacements with their Provenance. After a lost answer it
// asks the server whether the transaction was carried out, and otherwise sends
// the same bytes again.
func (s *Sender) transact(ctx context.Context, session Session, all []replacement, opts AmendOptions) error {
	var provenances []fhirmap.Resource
	if opts.hasProvenance() {
		provenance, err := s.amendmentOf(session, all, opts)
		if err != nil {
			return err
		}
		provenances = []fhirmap.Resource{provenance}
	}
	var entries []entry
	for _, r := range all {
		entries = append(entries, entry{
			fullURL: s.client.Target().String() + "/" + r.entry.Reference(), resource: r.content,
			method: http.MethodPut, url: r.entry.Reference(), version: r.entry.Version,
		})
	}
	for _, r := range provenances {
		e, err := s.prepare(r, nil)
		if err != nil {
			return err
		}
		entries = append(entries, e)
	}
	text := bundle(Transaction, entries)
	for lost := 0; ; {
		s.tally.Stores++
		reply, err := s.client.Do(ctx, server.Request{Method: http.MethodPost, Body: text})
		var answers []answerEntry
		if err == nil {
			answers, err = parseAnswers(reply.Body, len(entries))
		}
		if err == nil {
			err = refusedEntry(answers) // a server may do a transaction in part, against the standard
		}
		if err == nil {
			return s.acceptReplaced(ctx, session, all, provenances, answers)
		}
		if lost++; !errors.Is(err, server.ErrUnknownOutcome) || lost >= s.client.Attempts() {
			return err
		}
		if err := s.client.Pause(ctx, lost, err); err != nil {
			return err
		}
		if arrived, err := s.arrived(ctx, session, all, provenances); arrived || err != nil {
			return err
		}
	}
}

// amendmentOf returns the Provenance of the session's amendment, with the
// changes made and those that follow.
func (s *Sender) amendmentOf(session Session, all []replacement, opts AmendOptions) (fhirmap.Resource, error) {
	var amendment receipt.Amendment
	for _, a := range s.receipt.Amending {
		if a.Session == session.Identity {
			amendment = a
		}
	}
	changes := done(s.receipt, amendment)
	named := map[string]bool{}
	for _, c := range changes {
		named[c.Identity] = true
	}
	for _, r := range all {
		if !named[r.entry.Identity] {
			changes = append(changes, receipt.Change{Identity: r.entry.Identity, OldVersion: r.entry.Version})
		}
	}
	return s.amendmentProvenance(amendment, changes, opts)
}

// acceptReplaced records the answer to a successful transaction.
func (s *Sender) acceptReplaced(ctx context.Context, session Session, all []replacement, provenances []fhirmap.Resource, answers []answerEntry) error {
	for i, r := range all {
		_, _, version, _ := server.Relative(answers[i].Location)
		if tag := versionOf(answers[i].ETag); tag != "" {
			version = tag
		}
		if skipped(r.entry.Version, version) {
			s.singly.corrections = true
			s.opts.Note("somebody changed " + r.entry.Reference() + " while it was corrected, and the server replaced that too: look at its history. Going on one by one")
		}
		s.recordReplaced(session, r, version)
	}
	for i, r := range provenances {
		if err := s.acceptOne(ctx, session, r, answers[len(all)+i]); err != nil {
			return err
		}
	}
	return s.save()
}

// skipped reports whether a server that counts versions has one in between.
func skipped(before, after string) bool {
	b, errB := strconv.ParseUint(before, 10, 32)
	a, errA := strconv.ParseUint(after, 10, 32)
	return errB == nil && errA == nil && a > b+1
}

// arrived checks whether a transaction with a lost answer was carried out: it
// is stored whole or not at all.
func (s *Sender) arrived(ctx context.Context, session Session, all []replacement, provenances []fhirmap.Resource) (bool, error) {
	there, err := s.standing(ctx, all)
	if err != nil {
		return false, err
	}
	for i, r := range all {
		if there[i] == nil || there[i].version() == r.entry.Version || !contains(there[i].raw, r.content) {
			return false, nil // the version condition refuses what somebody changed meanwhile
		}
	}
	for i, r := range all {
		s.recordReplaced(session, r, there[i].version())
	}
	for _, r := range provenances {
		if _, err := s.look(ctx, session, r); err != nil {
			return true, err
		}
	}
	return true, s.save()
}
