package deliver

import (
	"context"
	"errors"
	"net/http"

	"runsheet.example/cmd/runsheet/internal/deliver/server"
)

// Folder sends an export: its sessions in order, one after the other.
func (s *Sender) Folder(ctx context.Context, folder *Folder) error {
	if err := s.Probe(ctx); err != nil {
		return err
	}
	for i := range folder.Files {
		session, err := folder.Session(i)
		if err == nil {
			s.compare(session)
			err = s.Session(ctx, session)
		}
		if err != nil {
			return &ErrIncomplete{folder.Files[i].Name, err}
		}
		s.opts.Progress(i+1, len(folder.Files))
	}
	return nil
}

// Session sends what the server does not have of a session.
func (s *Sender) Session(ctx context.Context, session Session) error {
	pending := s.pending(session)
	if len(pending) == 0 {
		return nil
	}
	if err := s.settlePatient(ctx, session); err != nil {
		return err
	}
	if err := s.lookBefore(ctx, session, pending); err != nil {
		return err
	}
	lost := 0
	for {
		pending = s.pending(session)
		if len(pending) == 0 {
			return nil
		}
		rules := s.rules
		if s.untried() {
			rules.max = 1 // so that no more than one Device is at stake
		}
		chunk, err := rules.next(pending, s.known)
		if err != nil {
			return err
		}
		err = s.post(ctx, session, chunk)
		var refusal *server.Refusal
		switch {
		case err == nil:
			lost = 0
		case errors.Is(err, server.ErrUnknownOutcome):
			if lost++; lost >= s.client.Attempts() {
				return err
			}
			if err := s.lookAfter(ctx, session, chunk, lost, err); err != nil {
				return err
			}
		case errors.As(err, &refusal) && refusal.Status == http.StatusRequestEntityTooLarge && len(chunk) > 1:
			s.rules.max = len(chunk) / 2
			s.opts.Note("the server takes fewer entries at once; going on with smaller parts")
		case errors.As(err, &refusal) && refusal.Status == http.StatusBadRequest && s.mayGoApart():
			s.rules.apart = true
			s.opts.Note("the server refuses the transaction; trying with the Provenance after the rest, in case it does not do the search in its condition")
		default:
			return err
		}
	}
}

// mayGoApart reports whether a refused transaction may be tried without its
// Provenance.
func (s *Sender) mayGoApart() bool {
	return s.rules.style == Transaction && !s.rules.apart && s.targets
}

// lookBefore looks for a session at the server before anything of it is
// created. Usually its Procedure is not there, and nothing that came after it
// can be; what sessions share is looked for as well. If the Procedure is
// there, or the receipt says that a part of the session is, each pending
// resource is looked for.
func (s *Sender) lookBefore(ctx context.Context, session Session, pending []Resource) error {
	begun := s.known(session.Identity)
	for _, r := range pending {
		if r.Type == "Device" || r.Type == "Patient" || r.Identity == session.Identity {
			hit, err := s.look(ctx, session, r)
			if err != nil {
				return err
			}
			begun = begun || hit && r.Identity == session.Identity
		}
	}
	if begun {
		for _, r := range s.pending(session) {
			if _, err := s.look(ctx, session, r); err != nil {
				return err
			}
		}
	}
	return s.save()
}

// look looks for one resource and records it when it is there. With a server
// that cannot be asked, sending goes on only if it says that it does
// conditional creates.
func (s *Sender) look(ctx context.Context, session Session, r Resource) (bool, error) {
	if s.searches == no && !s.ownID(r) {
		return false, nil
	}
	hit, err := s.find(ctx, r)
	switch {
	case errors.Is(err, errCannotSearch) && r.Type == "Provenance":
		return false, nil // its condition has to do
	case errors.Is(err, errCannotSearch):
		s.searches = no
		return false, s.withoutSearch()
	case err != nil:
		return false, err
	case hit == nil:
		s.searches = yes
		return false, nil
	}
	s.searches = yes
	s.present(session, r, hit)
	return true, nil
}

// withoutSearch refuses to send where neither a search nor a condition keeps
// records from doubling.
func (s *Sender) withoutSearch() error {
	if !s.declares {
		return errors.New("the server neither searches by identifier nor says that it does conditional creates: sending could double the record, so nothing is sent. With a server that takes our ids use --style put")
	}
	s.opts.Note("the server cannot be asked what it has already; relying on its conditional creates, after trying one")
	return nil
}

// lookAfter finds out what arrived of a request whose answer was lost. What
// did not is sent again as it was.
func (s *Sender) lookAfter(ctx context.Context, session Session, chunk []Resource, lost int, cause error) error {
	if err := s.client.Pause(ctx, lost, cause); err != nil {
		return err
	}
	for i, r := range chunk {
		hit, err := s.look(ctx, session, r)
		if err != nil {
			return err
		}
		if i == 0 && !hit && s.rules.style == Transaction && r.Type != "Provenance" {
			break // a transaction is there whole or not at all
		}
	}
	return s.save()
}
