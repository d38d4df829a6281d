// Package month checks all documents of one call together: whether each record
// identifier has one content, whether sessions overlap, repeat or are missing,
// and whether the files match the manifest of the export.
//
// It works in two stages: a [Digest] of each document, which depends on that
// document alone and so can be made concurrently, and the comparison of the
// digests in document order. Memory does not grow with the input: beyond a
// limit, data goes to a scratch file and is compared at the end.
// That file holds hashes, positions and record identifiers.
package month

import (
	"hash/maphash"
	"strconv"

	"runsheet.example/validate/issue"
)

// Limits of the data in memory: resources and values of a patient at a time,
// and sessions.
const (
	maxKept     = 195_000
	maxSessions = 400_000 // of a large unit in ten years; about 80 MB
)

// Month collects the data to compare across documents. The zero value is ready
// for use.
type Month struct {
	// Single reports that there is only one document, so that no resource has
	// a copy in another.
	Single bool

	seed    maphash.Seed
	started bool
	limits  limits
	files   []file
	seq     uint64
	firsts  map[uint64]kept
	// later are resources and values beyond maxKept whose keys are not in
	// firsts.
	later    scratch
	spare    []byte // buffer for a record of it
	sessions []session
	tooMany  bool   // there are more than maxSessions
	failed   error  // of the scratch file
	compared uint64 // of the documents added so far
}

// limits are the constants above, smaller in tests.
type limits struct{ kept, sessions int }

// file is a source file of documents.
type file struct {
	name     string
	manifest *Manifest
	session  string // from the manifest
}

// kept is the first entry with its key: a digest and its position.
type kept struct {
	digest, self uint64
	file         int32
	place        int32 // line of an NDJSON file, otherwise ^index of the Bundle entry
}

// Reset removes everything that was added.
func (m *Month) Reset() {
	m.files = m.files[:0]
	m.sessions = m.sessions[:0]
	clear(m.firsts)
	m.later.close()
	m.seq, m.compared, m.failed, m.tooMany = 0, 0, nil, false
}

// start initialises the Month.
func (m *Month) start() {
	if !m.started {
		m.seed, m.started, m.firsts = maphash.MakeSeed(), true, map[uint64]kept{}
	}
	if m.limits == (limits{}) {
		m.limits = limits{maxKept, maxSessions}
	}
}

// NotCompared returns what was not compared and why, "" if all was.
func (m *Month) NotCompared() string {
	switch {
	case m.failed != nil:
		return "records, values and sessions against each other, beyond the first " + strconv.FormatUint(m.compared, 10) +
			": memory has no room for them, and nor has the folder for temporary files (" + m.failed.Error() + ")"
	case m.tooMany:
		return "sessions against each other: there are more than " + strconv.Itoa(m.limits.sessions) + ", so check fewer patients at a time"
	}
	return ""
}

// fail records the first error of the scratch file.
func (m *Month) fail(err error) {
	if m.failed == nil && err != nil {
		m.failed, m.compared = err, m.seq
	}
}

// in returns the index of the file of the current documents.
func (m *Month) in(now file) int32 {
	if last := len(m.files) - 1; last < 0 || m.files[last] != now {
		m.files = append(m.files, now)
	}
	return int32(len(m.files) - 1)
}

// also returns the position of a kept entry, to append after the value.
func (m *Month) also(k kept) string {
	at := "; also at " + m.files[k.file].name
	if k.place > 0 {
		return at + " line " + strconv.Itoa(int(k.place))
	}
	return at + " entry " + strconv.Itoa(int(^k.place))
}

// finding returns a finding about a place.
func (m *Month) finding(at place, rule, details string) issue.Finding {
	from := m.files[at.file]
	f := issue.At(rule)
	f.File, f.Line, f.Column, f.Expression = from.name, int(at.line), int(at.column), at.expression
	f.Details = issue.T(details)
	if from.manifest != nil {
		f.Session = from.session
		f.Cells = from.manifest.cellsOf(at.identity)
	}
	return f
}

// Finish compares what Add could not compare, the sessions with each other and
// with the number that the manifest beside them expects, and then resets. room limits the findings: beyond
// it, only the rules are reported.
func (m *Month) Finish(room int, add func(issue.Finding)) {
	m.start()
	found := &late{room: room}
	m.compareLater(found)
	m.compareSessions(found)
	found.report(add)
}
