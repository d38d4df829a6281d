package fhirmap

import (
	"slices"

	"runsheet.example/fhirmap/measure"
	"runsheet.example/fhirmap/r4"
	"runsheet.example/fhirmap/session"
	"runsheet.example/profiles"
	"runsheet.example/validate/issue"
)

// mapper writes one session.
type mapper struct {
	log             *session.Log
	at              int
	s               *session.Session
	computedSession measure.Session
	opts            Options
	names           namer
	procedureID     string
	resources       []Resource
	devices         map[string]string // kind to identity
	used            []r4.Reference    // the supplies of the session
	// byField and byMethod map to the Observation that a computed value is
	// derived from.
	byField  map[session.Field]string
	byMethod map[string]string
	// preliminary are the fields and methods whose values depend on something
	// not recorded.
	preliminary map[string]bool
	reading     int // the number of the reading being written; 0 for none
}

func newMapper(log *session.Log, at int, measured measure.Session, opts Options) *mapper {
	m := newLogMapper(log, opts)
	m.at, m.s, m.computedSession = at, log.Sessions[at], measured
	m.procedureID = m.names.name(m.s.ID, "procedure", 0)
	return m
}

// newLogMapper returns a mapper for resources that belong to no session.
func newLogMapper(log *session.Log, opts Options) *mapper {
	return &mapper{
		log: log, opts: opts,
		names:   namer{log.About.PatientSystem, log.About.PatientValue, log.About.LogID},
		devices: map[string]string{}, byField: map[session.Field]string{}, byMethod: map[string]string{},
		preliminary: map[string]bool{},
	}
}

// session writes the resources in the order of a transaction.
func (m *mapper) session() ([]Resource, error) {
	steps := []func() error{
		m.patient, m.usedDevices, every(m.s.Checks, m.supply), m.procedure,
		every(m.s.Checks, m.check), m.measurements, m.pressures, m.readings, m.laboratory, every(m.s.Events, m.event), m.computed,
		every(m.s.Medicines, m.medicine), m.provenance,
	}
	for _, step := range steps {
		if err := step(); err != nil {
			return nil, err
		}
	}
	return m.resources, nil
}

// every is a step that writes each of several.
func every[T any](all []T, write func(T) error) func() error {
	return func() error {
		for _, one := range all {
			if err := write(one); err != nil {
				return err
			}
		}
		return nil
	}
}

// add writes a resource with its identity and its log cells; it drops cells
// without a place.
func (m *mapper) add(resourceType, id, role string, resource any, cells ...issue.Cell) error {
	m.claim(resource, role)
	m.opts.adapt(resource)
	text, err := r4.Marshal(resource)
	if err != nil {
		return err
	}
	m.resources = append(m.resources, Resource{
		Type: resourceType, Identity: id, Role: role, JSON: text,
		Condition: "identifier=" + profiles.RecordIdentifier + "|urn:uuid:" + id,
		Cells:     slices.DeleteFunc(cells, issue.Cell.IsZero),
		Reading:   m.reading,
	})
	return nil
}

// resourceID is the id element, set only if resources refer by Type/id.
func (m *mapper) resourceID(id string) *string {
	if m.opts.References == ByTypeID {
		return &id
	}
	return nil
}

// identifier is the record identifier of all our resources.
func identifier(id string) []r4.Identifier {
	return []r4.Identifier{{System: ptr(profiles.RecordIdentifier), Value: ptr("urn:uuid:" + id)}}
}

// reference refers to another resource of the same delivery.
func (m *mapper) reference(resourceType, id string) r4.Reference {
	target := EntryURL(id)
	if m.opts.References == ByTypeID {
		target = resourceType + "/" + id
	}
	return r4.Reference{Reference: &target, Type: &resourceType}
}

func (m *mapper) procedureReference() []r4.Reference {
	return []r4.Reference{m.reference("Procedure", m.procedureID)}
}

// meta marks the origin of a resource and that the patient asserts it.
func (m *mapper) meta(profile ...string) *r4.Meta {
	return &r4.Meta{
		Source:  ptr("urn:uuid:" + m.log.About.LogID),
		Profile: profile,
		Security: []r4.Coding{{
			System: ptr(profiles.ObservationValue), Code: ptr("PATAST"), Display: ptr("patient asserted"),
		}},
	}
}

// issued is the recorded time when the person closed the entry; never the time
// of the export.
func (m *mapper) issued() *string {
	if !m.s.EnteredAt.OK() || m.s.EnteredAt.DateOnly {
		return nil
	}
	return ptr(r4.DateTime(m.s.EnteredAt.Time))
}

func ptr[T any](v T) *T { return &v }
