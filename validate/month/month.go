// Package month looks at all documents of one call together: whether one
// record identifier stands for one content, whether sessions overlap, stand
// twice or are missing, and whether the files are those the manifest of the
// export names.
//
// The work is in two stages: a [Digest] of each document, which needs nothing
// of the others and so can be made by many at once, and the comparison of the
// digests in the order of the documents. Memory does not grow with the input:
// what there is no room for goes to a file (package scratch) and is compared at
// the end. On that file are hashes, places, and the identifiers of records.
package month

import (
	"hash/maphash"
	"strconv"

	"runsheet.example/validate/bykey"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/month/scratch"
)

// What is kept in memory: so many resources and values of a patient at a time,
// and so many sessions.
const (
	maxKept     = 195_000
	maxSessions = 20_000
	// maxOfPatient is how many sessions of one patient are compared, daily
	// ones of more than 200 years.
	maxOfPatient = 100_000
)

// Month gathers what is compared across documents. The zero value is ready.
type Month struct {
	// Single says that there is only one document, so that no resource of
	// another can be compared with its own.
	Single bool

	seed    maphash.Seed
	started bool
	limits  limits
	files   []file
	seq     uint64
	firsts  bykey.Table[kept]
	// later are resources and values beyond maxKept that are not in firsts.
	later    scratch.File
	spare    []byte // for a record of it
	sessions []session
	// laterSessions are all sessions, once there are more than maxSessions.
	laterSessions scratch.File
	spilled       bool
	failed        error  // of the scratch files
	compared      uint64 // of what was added, until then
	tooMany       bool   // sessions of one patient
}

// limits are those of the constants, fewer in tests.
type limits struct{ kept, sessions, ofPatient int }

// file is one that documents came from.
type file struct {
	name     string
	manifest *Manifest
	session  string // as the manifest says
}

// kept is what is remembered of the first of its kind: a digest and where it
// was.
type kept struct {
	digest, self uint64
	file         int32
	place        int32 // line of an NDJSON file, else ^index of the Bundle entry
}

// Reset forgets everything that was added.
func (m *Month) Reset() {
	m.files = m.files[:0]
	m.sessions = m.sessions[:0]
	m.firsts.Clear()
	m.later.Close()
	m.laterSessions.Close()
	m.seq, m.spilled, m.compared, m.failed, m.tooMany = 0, false, 0, nil, false
}

// start makes the Month ready.
func (m *Month) start() {
	if !m.started {
		m.seed, m.started = maphash.MakeSeed(), true
	}
	if m.limits == (limits{}) {
		m.limits = limits{maxKept, maxSessions, maxOfPatient}
	}
}

// NotCompared says what was not compared, and why; "" when all was.
func (m *Month) NotCompared() string {
	switch {
	case m.failed != nil:
		return "records, values and sessions against each other, beyond the first " + strconv.FormatUint(m.compared, 10) +
			": memory has no room for them, and nor has the folder for temporary files (" + m.failed.Error() + ")"
	case m.tooMany:
		return "sessions against each other, of one patient beyond the first " + strconv.Itoa(m.limits.ofPatient)
	}
	return ""
}

// fail notes the first error of a scratch file.
func (m *Month) fail(err error) {
	if m.failed == nil && err != nil {
		m.failed, m.compared = err, m.seq
	}
}

// in returns the index of the file that documents come from now.
func (m *Month) in(now file) int32 {
	if last := len(m.files) - 1; last < 0 || m.files[last] != now {
		m.files = append(m.files, now)
	}
	return int32(len(m.files) - 1)
}

// also says where something was kept from, to stand after the value.
func (m *Month) also(k kept) string {
	at := "; also at " + m.files[k.file].name
	if k.place > 0 {
		return at + " line " + strconv.Itoa(int(k.place))
	}
	return at + " entry " + strconv.Itoa(int(^k.place))
}

// finding is one about a place.
func (m *Month) finding(at place, rule, details string) issue.Finding {
	from := m.files[at.file]
	f := issue.At(rule)
	f.File, f.Line, f.Column, f.Expression = from.name, int(at.line), int(at.column), at.expression
	f.Details = details
	if from.manifest != nil {
		f.Session = from.session
		f.Cells = from.manifest.cellsOf(at.identity)
	}
	return f
}

// Finish compares what could not be compared before, the sessions with each
// other and with what is expected, and forgets all. room is how many findings
// there is room for: of those beyond only the rule is told.
func (m *Month) Finish(expected Expected, room int, add func(issue.Finding)) {
	m.start()
	found := &late{room: room}
	m.compareLater(found)
	m.compareSessions(expected, found)
	found.tell(add)
}
