package recompute

import (
	"hash/maphash"

	"runsheet.example/validate/issue"
	"runsheet.example/validate/resources"
)

// Share is what one document contributes to a Ledger and needs from it. Its
// memory is reused for the next document.
type Share struct {
	values  []named
	waiting []waiting
	claims  []claim
	// The inputs of weeks, and the weeks.
	measured   []namedMeasured
	states     []weekState
	weekValues []weekValue

	found []issue.Finding
	rows  []Row
	again bool
}

// named is a value with the hash of one of its names.
type named struct {
	name uint64
	taken
}

type namedMeasured struct {
	name uint64
	measured
}

// Reader creates shares for one Ledger.
type Reader struct {
	seed maphash.Seed
	rows bool // are wanted
}

// Reader returns a Reader of shares for the Ledger. Several readers may run
// concurrently.
func (l *Ledger) Reader() Reader {
	l.start()
	return Reader{l.seed, l.Values != nil}
}

// Reset empties a share.
func (s *Share) Reset() {
	clear(s.waiting)
	clear(s.claims)
	clear(s.found)
	clear(s.rows)
	*s = Share{values: s.values[:0], waiting: s.waiting[:0], claims: s.claims[:0], found: s.found[:0], measured: s.measured[:0], rows: s.rows[:0]}
}

// Read checks the values whose inputs are in the document, and adds the rest
// to its share. line is the line of the document in an NDJSON file, 0 for a
// single document.
func (r Reader) Read(into *Share, rec *resources.Index, line int, add func(issue.Finding)) {
	into.Reset()
	alone := Ledger{seed: r.seed, started: true, share: into}
	if r.rows {
		alone.Values = func(row Row) { into.rows = append(into.rows, row) }
	}
	Check(rec, line, &alone, func(f issue.Finding) { into.found = append(into.found, f) })
	if into.again = len(into.waiting) > 0 && len(rec.Resources) > 1; into.again {
		return
	}
	for i := range into.found {
		add(into.found[i])
	}
}

// Again reports whether the document needs a new [Check] with the Ledger: its
// values depend on each other and on those of other documents.
func (s *Share) Again() bool { return s.again }

// Take completes a share with the values of earlier documents, and stores its
// values. line is the line of the document. It reports findings through add.
func (l *Ledger) Take(s *Share, line int, add func(issue.Finding)) {
	l.start()
	for i := range s.rows {
		l.Values(s.rows[i])
	}
	for i := range s.waiting {
		if out := l.settle(s.waiting[i], line, add); out.agrees {
			for j := range s.values { // of the only resource
				s.values[j].taken = out.agreed()
			}
		}
	}
	for _, c := range s.claims {
		l.claim(c, line)
	}
	for _, v := range s.values {
		l.name(v.name, v.taken)
	}
	for _, m := range s.measured {
		l.weeks.measure(m.name, m.measured)
	}
	l.weeks.take(s.states, s.weekValues, line)
}
