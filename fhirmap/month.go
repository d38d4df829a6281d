package fhirmap

import (
	"encoding/json"
	"fmt"
	"strings"

	"runsheet.example/fhirmap/measure"
	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// Month is a log as resources, before Bundles.
type Month struct {
	Sessions []SessionRecord
	// Beside are the records without a session, in the order of [Besides]: the
	// weeks of the log, unless computed values are left out, its reports, and on
	// request its files.
	Beside []SessionRecord
	// LeftOut are the sessions with errors, which are not written.
	LeftOut []*session.Session
}

// SessionRecord is one session as resources.
type SessionRecord struct {
	// ID is the identity of the Procedure and so of the session; for the
	// weeks, that of the Observation that groups them, for a report, that of
	// the DiagnosticReport, for a file of the log, that of the DocumentReference.
	ID string
	// Session is nil for the weeks, the reports and the files of the log.
	Session *session.Session
	label   string // without a session
	// Resources are in the order of a transaction: devices, the Procedure,
	// Observations, medicines, Provenance.
	Resources []Resource
	opts      Options
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
	// Reading is the number of the reading during the session that the resource
	// is part of, from 1; 0 for every other resource.
	Reading int
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
	return SessionRecord{ID: s.procedureID, Session: m.log.Sessions[at], Resources: resources, opts: m.opts}, nil
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
		weeks, err := mapping.Weeks()
		if err != nil {
			return nil, err
		}
		if weeks != nil {
			month.Add(*weeks)
		}
	}
	return month, nil
}

// Add adds a record to the month.
func (m *Month) Add(s SessionRecord) {
	if s.Session == nil {
		m.Beside = append(m.Beside, s)
	} else {
		m.Sessions = append(m.Sessions, s)
	}
}

// Records are the sessions and then the records without one.
func (m *Month) Records() []SessionRecord {
	return append(m.Sessions[:len(m.Sessions):len(m.Sessions)], m.Beside...)
}

// Besides are the labels of records without a session, in the order in which
// they are written: the weeks and the reports are derived from what is before.
var Besides = []string{WeeksLabel, ReportLabel, LogLabel}

// Heads reports whether the identity of a resource with this role is that of
// a record without a session.
func Heads(role string) bool {
	return role == RoleWeeks || strings.HasPrefix(role, RoleReport) || strings.HasPrefix(role, RoleLog)
}

// Label is the session's id in the log, or one of [Besides].
func (s SessionRecord) Label() string {
	if s.Session == nil {
		return s.label
	}
	return s.Session.ID
}
