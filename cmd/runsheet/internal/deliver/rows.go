package deliver

import (
	"context"

	"runsheet.example/cmd/runsheet/internal/deliver/receipt"
	"runsheet.example/fhirmap"
)

// Row is the work of sending one session. A shared resource counts at its
// first session.
type Row struct {
	Label, File string
	// Create are resources to create; Present and Differs exist at the server
	// with our content or another; Sent are in the receipt.
	Create, Present, Differs, Sent int
	// Stores is the number of requests that store the resources to create.
	Stores int
}

// Rows returns what sending an export would do. It reads the server as sending
// does, but sends and writes nothing. The sender cannot be used afterwards.
func (s *Sender) Rows(ctx context.Context, folder *Folder) ([]Row, error) {
	s.dry = true
	if err := s.Probe(ctx); err != nil {
		return nil, err
	}
	var rows []Row
	counted := map[string]bool{}
	for i := range folder.Files {
		session, err := folder.Session(i)
		if err != nil {
			return nil, err
		}
		row, err := s.row(ctx, session, counted)
		if err != nil {
			return nil, err
		}
		row.File = folder.Files[i].File
		rows = append(rows, row)
		s.opts.Progress(i+1, len(folder.Files))
	}
	return rows, nil
}

func (s *Sender) row(ctx context.Context, session Session, counted map[string]bool) (Row, error) {
	row := Row{Label: session.Label}
	for _, r := range session.Resources {
		if !counted[r.Identity] && s.known(r.Identity) {
			row.Sent++
		}
		counted[r.Identity] = true
	}
	s.compare(session)
	before := s.tally
	s.undecided = nil
	pending := s.pending(session)
	if len(pending) == 0 {
		return row, nil
	}
	if err := s.settlePatient(ctx, session); err != nil {
		return row, err
	}
	if err := s.lookBefore(ctx, session, pending); err != nil {
		return row, err
	}
	pending = s.pending(session)
	row.Create = len(pending)
	var err error
	row.Stores, err = s.stored(pending)
	for _, r := range pending { // as if sent, for later sessions
		s.receipt.Put(receipt.Entry{Identity: r.Identity, Type: r.Type, ID: r.Identity})
	}
	s.decide(session)
	row.Present, row.Differs = s.tally.Present-before.Present, s.tally.Differs-before.Differs
	return row, err
}

// stored returns the number of requests that store resources; if conditions
// must be tested first, the first resource goes alone, twice.
func (s *Sender) stored(pending []fhirmap.Resource) (int, error) {
	if len(pending) == 0 || !s.untried() || s.ownID(pending[0]) {
		return s.rules.requests(pending, s.known)
	}
	s.honoured = true
	rest, err := s.rules.requests(pending[1:], func(identity string) bool { return identity == pending[0].Identity || s.known(identity) })
	return rest + 2, err
}
