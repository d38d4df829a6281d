package fhirmap

import (
	"net/url"
	"strings"

	"runsheet.example/fhirmap/r4"
)

// patient adds the stub Patient on request: an identifier and nothing else,
// created only if the receiver has none.
func (m *mapper) patient() error {
	if !m.opts.CreatePatient {
		return nil
	}
	id := m.names.name("", "patient", 0)
	about := m.log.About
	resource := &r4.Patient{
		Id:         m.resourceID(id),
		Text:       narrative("Patient, known by identifier only"),
		Identifier: []r4.Identifier{{System: &about.PatientSystem, Value: &about.PatientValue}},
	}
	if err := m.add("Patient", id, "patient", resource); err != nil {
		return err
	}
	m.resources[len(m.resources)-1].Condition = "identifier=" + token(about.PatientSystem, about.PatientValue)
	return nil
}

// subject refers to the patient: by the known id, to the stub in the same
// delivery, or by a search that fails safely if it finds none or several. It
// includes the identifier for receivers that match by it.
func (m *mapper) subject() r4.Reference {
	ref := r4.Reference{
		Type:       ptr("Patient"),
		Identifier: &r4.Identifier{System: ptr(m.log.About.PatientSystem), Value: ptr(m.log.About.PatientValue)},
	}
	switch {
	case m.opts.Patient != "":
		ref.Reference = ptr(m.opts.Patient)
	case m.opts.CreatePatient:
		ref.Reference = m.reference("Patient", m.names.name("", "patient", 0)).Reference
	case !m.opts.LogicalPatient:
		ref.Reference = ptr("Patient?identifier=" + token(m.log.About.PatientSystem, m.log.About.PatientValue))
	}
	return ref
}

// person refers to the patient beside the subject: without the identifier,
// unless there is nothing else.
func (m *mapper) person() r4.Reference {
	ref := m.subject()
	if ref.Reference != nil {
		ref.Identifier = nil
	}
	return ref
}

// token formats a token search parameter. The bar, colon and slash stay
// unescaped in a query (RFC 3986, section 3.4, except the bar, which the FHIR
// R4 search page writes raw); everything else is escaped.
func token(system, value string) string { return queryPart(system) + "|" + queryPart(value) }

func queryPart(s string) string {
	s = url.QueryEscape(s)
	s = strings.ReplaceAll(s, "%3A", ":")
	s = strings.ReplaceAll(s, "%2F", "/")
	return strings.ReplaceAll(s, "+", "%20")
}
