package fhirmap

import (
	"encoding/json"
	"fmt"

	"runsheet.example/fhirmap/measure"
	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// Month is a log as resources, before Bundles.
type Month struct {
	Sessions []SessionRecord
	// Weeks are the weeks of the log, a record without a session; nil if
	// computed values are left out.
	Weeks *SessionRecord
	// LeftOut are the sessions with errors, which are not written.
	LeftOut []*session.Session
}

// SessionRecord is one session as resources.
type SessionRecord struct {
	// ID is the identity of the Procedure and so of the session; for the
	// weeks, that of the Observation that groups them.
	ID string
	// Session is nil for the weeks of the log.
	Session *session.Session
	// Resources are in the order of a transaction: devices, the Procedure,
	// Observations, medicines, Provenance.
	Resources []Resource
	claim     string // see [Options.ClaimProfiles]
}

// Resource is one resource with its metadata.
type Resource struct {
	Type string
	// Identity is our UUID of the resource.
	Identity string
	// Role is the role of the resource in its session: a field, "procedure",
	// "computed:<key>:<method>".
	Role string
	// JSON is the resource as delivered.
	JSON json.RawMessage
	// Condition is the search that prevents a duplicate on a second delivery;
	// empty for a resource that is put under its id.
	Condition string
	// Cells are the log cells the resource was made from.
	Cells []issue.Cell
}

// Shared reports whether several sessions refer to the resource: the patient,
// the person's devices and the software, but not the supplies of one session.
func (r Resource) Shared() bool {
	return r.Type == "Patient" || r.Type == "Device" && r.Role != RoleSupply
}

// Mapping maps a log session by session, so that memory never holds a long log
// as resources. It is safe for concurrent use while nobody changes the log.
type Mapping struct {
	log *session.Log
	// recorded is the log for the record: without free texts on request. Values
	// are computed from log.
	recorded *session.Log
	opts     Options
}

// NewMapping returns a Mapping, or an error if options contradict each other.
func NewMapping(log *session.Log, opts Options) (*Mapping, error) {
	m := &Mapping{log, log, opts}
	if opts.NoNotes {
		m.recorded = withoutWords(log)
	}
	return m, opts.Check()
}

// Session maps one session of the log. Its computed values use earlier
// sessions, except broken ones.
func (m *Mapping) Session(at int) (SessionRecord, error) {
	s := newMapper(m.recorded, at, measure.At(m.log, at), m.opts)
	resources, err := s.session()
	if err != nil {
		return SessionRecord{}, fmt.Errorf("session in row %d: %w", s.s.Cell.Row, err)
	}
	return SessionRecord{ID: s.procedureID, Session: m.log.Sessions[at], Resources: resources, claim: m.opts.ClaimProfiles}, nil
}

// Map writes every session of the log without errors as resources.
func Map(log *session.Log, opts Options) (*Month, error) {
	mapping, err := NewMapping(log, opts)
	if err != nil {
		return nil, err
	}
	month := &Month{}
	for i, s := range log.Sessions {
		if s.Broken {
			month.LeftOut = append(month.LeftOut, s)
			continue
		}
		record, err := mapping.Session(i)
		if err != nil {
			return nil, err
		}
		month.Sessions = append(month.Sessions, record)
	}
	if len(month.Sessions) > 0 {
		month.Weeks, err = mapping.Weeks()
	}
	return month, err
}

// Add adds a record to the month: a session, or the weeks.
func (m *Month) Add(s SessionRecord) {
	if s.Session == nil {
		m.Weeks = &s
	} else {
		m.Sessions = append(m.Sessions, s)
	}
}

// Records are the sessions and then the weeks.
func (m *Month) Records() []SessionRecord {
	records := m.Sessions[:len(m.Sessions):len(m.Sessions)]
	if m.Weeks != nil {
		records = append(records, *m.Weeks)
	}
	return records
}

// Label is the session's id in the log, or [WeeksLabel].
func (s SessionRecord) Label() string {
	if s.Session == nil {
		return WeeksLabel
	}
	return s.Session.ID
}
