package deliver

import (
	"context"
	"errors"
	"fmt"
	"net/http"

	"runsheet.example/cmd/runsheet/internal/deliver/receipt"
	"runsheet.example/cmd/runsheet/internal/deliver/server"
)

// ErrEmptied means that the server has lost resources.
type ErrEmptied struct {
	// Missing of Looked resources do not exist; Reference is one of them.
	Missing, Looked int
	Reference       string
}

func (e *ErrEmptied) Error() string {
	const tail = "'runsheet send --verify' lists what is missing, and --repair sends it again"
	if e.Missing == e.Looked {
		return fmt.Sprintf("the server has nothing of what it had taken by the receipt (%d looked at, such as %s): it was emptied or set up anew, or another one stands at this address. Nothing was sent. %s", e.Looked, e.Reference, tail)
	}
	return fmt.Sprintf("the server no longer has %d of %d records that were looked at, such as %s: the record is not whole there. %s", e.Missing, e.Looked, e.Reference, tail)
}

// Partly reports that the server has the rest.
func (e *ErrEmptied) Partly() bool { return e.Missing < e.Looked }

// Probe reads a sample of the receipt, to detect a server that was emptied,
// restored to an older state or exchanged before anything relies on the
// receipt: a hundred resources in one request, or two one by one. It does not
// ask a server that permits no reads again. If only some resources are
// missing, sending continues and reports them at the end.
func (s *Sender) Probe(ctx context.Context) error {
	sample := s.sample()
	if len(sample) == 0 {
		return nil
	}
	there, err := s.readAll(ctx, sample)
	var refusal *server.Refusal
	if errors.As(err, &refusal) && refusesMany(refusal.Status) && len(sample) > 1 {
		s.singly.reads = true
		sample = s.sample()
		there, err = s.readEntries(ctx, sample)
	}
	switch {
	case errors.As(err, &refusal) && refusal.Status != http.StatusUnauthorized && !refusal.Transient():
		s.opts.Note("the server does not let its records be read: that it still has what it took is by the receipt alone")
		return nil
	case err != nil:
		return err
	}
	ours := map[string]bool{}
	for _, e := range s.receipt.All() {
		ours[e.Reference()] = true
	}
	found := ErrEmptied{Looked: len(sample)}
	for i, r := range there {
		if r == nil || !isOurs(sample[i], r, ours) {
			found.Missing++
			found.Reference = sample[i].Reference()
		}
	}
	s.missing = nil
	switch {
	case found.Missing == 0:
		return nil
	case found.Partly():
		s.missing = &found
		return nil
	default:
		return &found
	}
}

// Missing returns what the probe found missing at the server; nil if nothing
// is.
func (s *Sender) Missing() error {
	if s.missing == nil {
		return nil
	}
	return s.missing
}

// sample returns resources spread evenly over the receipt, the latest
// Procedure first: a backup lacks the latest resources.
func (s *Sender) sample() []receipt.Entry {
	entries := s.receipt.All()
	size := s.readsAtOnce()
	if size == 1 {
		size = 2
	}
	var out []receipt.Entry
	for i := len(entries) - 1; i >= 0 && len(out) == 0; i-- {
		if entries[i].Type == "Procedure" {
			out = append(out, entries[i])
		}
	}
	if len(out) == 0 {
		return nil
	}
	size = min(size, len(entries))
	for i := range size {
		e := entries[i*len(entries)/size]
		if e.Type != "Patient" && e.Identity != out[0].Identity && len(out) < size {
			out = append(out, e)
		}
	}
	return out
}
