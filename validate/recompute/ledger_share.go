package recompute

import (
	"hash/maphash"

	"runsheet.example/validate/issue"
	"runsheet.example/validate/record"
)

// Share is what one document gives to a Ledger and wants of it. Its memory is
// used again for the next one.
type Share struct {
	values  []named
	waiting []waiting
	// What weeks are computed from, and the weeks.
	measured   []namedMeasured
	states     []weekState
	weekValues []weekValue

	found []issue.Finding
	again bool
}

// named is a value and a hash it is found by.
type named struct {
	name uint64
	taken
}

type namedMeasured struct {
	name uint64
	measured
}

// Reader makes shares for one Ledger.
type Reader struct{ seed maphash.Seed }

// Reader returns what makes shares for the Ledger. Many may be made at once.
func (l *Ledger) Reader() Reader {
	l.start()
	return Reader{l.seed}
}

// Reset empties a share.
func (s *Share) Reset() {
	clear(s.waiting)
	clear(s.found)
	*s = Share{values: s.values[:0], waiting: s.waiting[:0], found: s.found[:0], measured: s.measured[:0]}
}

// Read checks a document as far as its values have their inputs in it, and makes
// its share of the rest. line is the document's in an NDJSON file, 0 for a
// document of its own.
func (r Reader) Read(into *Share, rec *record.Record, line int, add func(issue.Finding)) {
	into.Reset()
	alone := Ledger{seed: r.seed, started: true, share: into}
	Check(rec, line, &alone, func(f issue.Finding) { into.found = append(into.found, f) })
	if into.again = len(into.waiting) > 0 && len(rec.Resources) > 1; into.again {
		return
	}
	for i := range into.found {
		add(into.found[i])
	}
}

// Again reports whether the document is to be checked anew, by [Check] with the
// Ledger: its values rest on each other and on those of others.
func (s *Share) Again() bool { return s.again }

// Take completes what a share began, with the values of the documents before,
// and remembers those of this one. line is the document's. Findings go to add.
func (l *Ledger) Take(s *Share, line int, add func(issue.Finding)) {
	l.start()
	for i := range s.waiting {
		if w := &s.waiting[i]; l.settle(w, line, add) && w.out.agrees {
			for j := range s.values { // of the one resource there is
				s.values[j].taken = w.out.agreed()
			}
		}
	}
	for _, v := range s.values {
		l.name(v.name, v.taken)
	}
	for _, m := range s.measured {
		l.weeks.measure(m.name, m.measured)
	}
	l.weeks.take(s.states, s.weekValues, line)
}
