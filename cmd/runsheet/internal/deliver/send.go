package deliver

import (
	"context"
	"errors"
	"net/http"
	"slices"

	"runsheet.example/cmd/runsheet/internal/deliver/server"
	"runsheet.example/fhirmap"
)

// Folder sends an export: its sessions in order, one after another.
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
			return &ErrIncomplete{folder.Files[i].File, err}
		}
		s.opts.Progress(i+1, len(folder.Files))
	}
	return s.Missing()
}

// Session sends the resources of a session that the server lacks.
func (s *Sender) Session(ctx context.Context, session Session) error {
	pending := s.pending(session)
	if len(pending) == 0 {
		return s.noteNotKept(session)
	}
	if err := s.settlePatient(ctx, session); err != nil {
		return err
	}
	s.undecided = nil
	if err := s.lookBefore(ctx, session, pending); err != nil {
		return err
	}
	lost, before := 0, 0
	for {
		if pending = s.sendable(session); len(pending) < before {
			lost = 0
		}
		if before = len(pending); before == 0 {
			s.decide(session)
			return errors.Join(s.noteNotKept(session), s.save())
		}
		rules := s.rules
		if s.untried() {
			rules.max = 1 // so that at most one Device is affected
		}
		chunk, err := rules.next(pending, s.known)
		if err != nil {
			return err
		}
		err = s.post(ctx, session, chunk)
		var refusal *server.Refusal
		switch {
		case err == nil:
		case errors.Is(err, server.ErrUnknownOutcome), errors.As(err, &refusal) && refusal.Status == http.StatusConflict:
			// A conflict may mean that another sender has just created the
			// same resource.
			if lost++; lost >= s.client.Attempts() {
				return err
			}
			if err := s.lookAfter(ctx, session, chunk, lost, err); err != nil {
				return err
			}
		case errors.Is(err, errTakenForAnother) && s.targets && !s.rules.apart:
			s.rules.apart = true // its target has an id now
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

// lookBefore searches for a session at the server before it creates any of its
// resources. Usually its Procedure does not exist, so no later resource can
// exist; it searches for shared resources as well. If the Procedure exists, or
// the receipt has a part of the session, it searches for each pending
// resource.
func (s *Sender) lookBefore(ctx context.Context, session Session, pending []fhirmap.Resource) error {
	begun := s.known(session.Identity)
	for _, r := range pending {
		var err error
		if r.Identity == session.Identity {
			var hit *found
			hit, err = s.ask(ctx, r)
			begun, err = begun || hit != nil, s.looked(session, r, nil, err) // compared below, when its references are known
		} else if r.Shared() {
			_, err = s.look(ctx, session, r)
		}
		if err != nil {
			return err
		}
	}
	if begun {
		if err := s.lookMany(ctx, session, s.pending(session)); err != nil {
			return err
		}
	}
	return s.save()
}

// look searches for one resource and records it if it exists. With a server
// that cannot be searched, sending continues only if the server declares
// conditional creates.
func (s *Sender) look(ctx context.Context, session Session, r fhirmap.Resource) (bool, error) {
	hit, err := s.ask(ctx, r)
	return hit != nil, s.looked(session, r, hit, err)
}

// ask searches for one resource, unless the server cannot be searched.
func (s *Sender) ask(ctx context.Context, r fhirmap.Resource) (*found, error) {
	if s.searches == no && !s.ownID(r) {
		return nil, nil
	}
	return s.find(ctx, r)
}

// looked records the result of a search for a resource.
func (s *Sender) looked(session Session, r fhirmap.Resource, hit *found, err error) error {
	switch {
	case errors.Is(err, errCannotSearch) && (r.Type == "Provenance" || s.searches == no):
		return nil // its condition must suffice
	case errors.Is(err, errCannotSearch):
		s.searches = no
		return s.withoutSearch()
	case err != nil:
		return err
	case hit != nil:
		s.present(session, r, hit)
	}
	if s.searches != no {
		s.searches = yes
	}
	return nil
}

// lookMany searches for resources of a session, several in one request if the
// server supports batches.
func (s *Sender) lookMany(ctx context.Context, session Session, list []fhirmap.Resource) error {
	var together, apart []fhirmap.Resource
	for _, r := range list {
		if _, ok := s.question(r); ok && s.batches && !s.singly.searches && s.searches == yes && r.Type != "Patient" {
			together = append(together, r)
		} else {
			apart = append(apart, r)
		}
	}
	for part := range slices.Chunk(together, s.readsAtOnce()) {
		if err := s.lookTogether(ctx, session, part); err != nil {
			return err
		}
	}
	for _, r := range apart { // a Provenance is searched for by its target, so it comes last
		if _, err := s.look(ctx, session, r); err != nil {
			return err
		}
	}
	return nil
}

func (s *Sender) lookTogether(ctx context.Context, session Session, part []fhirmap.Resource) error {
	questions := make([]question, len(part))
	paths := make([]string, len(part))
	for i, r := range part {
		questions[i], _ = s.question(r)
		paths[i] = questions[i].path()
	}
	answers, err := s.readBatch(ctx, paths)
	var refusal *server.Refusal
	if errors.As(err, &refusal) && refusesMany(refusal.Status) {
		s.singly.searches = true
		return s.lookMany(ctx, session, part)
	}
	if err != nil {
		return err
	}
	for i, a := range answers {
		var hit *found
		if a.ok() {
			hit, err = one(a.Resource, questions[i])
		} else if err = asCannotSearch(server.RefusalOf(a.Status, a.Outcome)); !errors.Is(err, errCannotSearch) {
			hit, err = s.ask(ctx, part[i]) // a request of its own is repeated if the server is busy
		}
		if errors.Is(err, errCannotSearch) && part[i].Type != "Provenance" {
			s.singly.searches = true // it has answered a single search before
			return s.lookMany(ctx, session, part[i:])
		}
		if err := s.looked(session, part[i], hit, err); err != nil {
			return err
		}
	}
	return nil
}

// withoutSearch refuses to send if neither a search nor a condition prevents
// duplicates.
func (s *Sender) withoutSearch() error {
	if !s.declares {
		return errors.New("the server neither searches by identifier nor says that it does conditional creates: sending could double the record, so nothing is sent. With a server that takes our ids use --style put")
	}
	s.opts.Note("the server cannot be asked what it has already; relying on its conditional creates, after trying one")
	return nil
}

// lookAfter finds out which resources of a request exist if the answer was
// lost or another sender interfered. The missing ones are sent again
// unchanged.
func (s *Sender) lookAfter(ctx context.Context, session Session, chunk []fhirmap.Resource, lost int, cause error) error {
	if err := s.client.Pause(ctx, lost, cause); err != nil {
		return err
	}
	chunk = slices.DeleteFunc(slices.Clone(chunk), func(r fhirmap.Resource) bool { return s.known(r.Identity) })
	if len(chunk) == 0 {
		return nil
	}
	there, err := s.look(ctx, session, chunk[0])
	if err != nil {
		return err
	}
	// A transaction is stored whole or not at all.
	if there || s.rules.style != Transaction || chunk[0].Type == "Provenance" {
		if err := s.lookMany(ctx, session, chunk[1:]); err != nil {
			return err
		}
	}
	return s.save()
}
