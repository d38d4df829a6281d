package fhirmap

import (
	"encoding/json"
	"fmt"

	"runsheet.example/fhirmap/measure"
	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// Month is a log as resources, before they are put into Bundles.
type Month struct {
	Sessions []SessionRecord
	// LeftOut are the sessions with errors, which are not written.
	LeftOut []*session.Session
	opts    Options
}

// SessionRecord is one session as resources.
type SessionRecord struct {
	// ID is the identity of the Procedure, and with it of the session.
	ID      string
	Session *session.Session
	// Resources are in the order of a transaction: devices, the Procedure,
	// Observations, medicines, Provenance.
	Resources []Resource
	bundle    json.RawMessage
}

// Resource is one resource with what is known about it.
type Resource struct {
	Type string
	// ID is the identity: a UUID.
	ID string
	// Role is what the resource is in its session: a field, "procedure",
	// "computed:<key>:<method>".
	Role string
	// JSON is the resource as it is delivered.
	JSON json.RawMessage
	// Condition is the search that keeps a second delivery from doubling
	// it; empty for a resource that is put under its id.
	Condition string
	// Cells are the log cells the resource was made from.
	Cells []issue.Cell
}

// Map writes every session of the log that has no error as resources.
func Map(log *session.Log, opts Options) (*Month, error) {
	if err := opts.Check(); err != nil {
		return nil, err
	}
	month := &Month{opts: opts}
	measured := measure.Log(log)
	for i, s := range log.Sessions {
		if s.Broken {
			month.LeftOut = append(month.LeftOut, s)
			continue
		}
		m := newMapper(log, i, measured[i], opts)
		resources, err := m.session()
		if err != nil {
			return nil, fmt.Errorf("session in row %d: %w", s.Cell.Row, err)
		}
		month.Sessions = append(month.Sessions, SessionRecord{ID: m.procedureID, Session: s, Resources: resources})
	}
	return month, nil
}
