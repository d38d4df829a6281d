package fhirmap

import (
	"time"

	"runsheet.example/fhirmap/r4"
	"runsheet.example/fhirmap/session"
	"runsheet.example/profiles"
	"runsheet.example/validate/issue"
)

// handEntered stands on every value the person typed: R4 has no code for it.
const handEntered = "Read off and written down by the patient or helper."

// setByClinic stands on a value that the log only repeats.
const setByClinic = "Set by the clinic; copied into the log."

// observation starts an Observation of the session with everything that does
// not depend on its value.
func (m *mapper) observation(id string, category profiles.Category, phase profiles.Phase, code r4.CodeableConcept) *r4.Observation {
	o := m.ofPatient(id, category, phase, code)
	o.PartOf = m.procedureReference()
	o.Issued = m.issued()
	who, _ := m.writer()
	o.Performer = []r4.Reference{who}
	return o
}

// ofPatient starts an Observation of the patient, of no session.
func (m *mapper) ofPatient(id string, category profiles.Category, phase profiles.Phase, code r4.CodeableConcept) *r4.Observation {
	subject := m.subject()
	return &r4.Observation{
		Id:         m.resourceID(id),
		Meta:       m.meta(),
		Identifier: identifier(id),
		Status:     observationFinal,
		Category:   categories(category, phase),
		Code:       code,
		Subject:    &subject,
	}
}

// measured writes one entered number as an Observation and remembers it for
// the computed values. A value that was never written is left out; one that
// was asked for and not obtained keeps its reason.
func (m *mapper) measured(row profiles.Measurement, v session.Value, when effective, role string, ordinal int, also ...issue.Cell) error {
	if !v.OK() && !saysAbsent(v.Absence) {
		return nil
	}
	id := m.names.name(m.s.ID, role, ordinal)
	o := m.observation(id, row.Category, row.Phase, concept(row.Text, row.Codings...))
	when.set(o)
	o.Meta.Profile = vitalSignsProfile(row)
	o.Device = m.deviceReference(measuringDevice(row))
	m.number(o, row, v)
	o.Note = []r4.Annotation{{Text: handEntered}}
	if row.Field == "dry_weight" {
		o.Note[0].Text = setByClinic
	}
	return m.add("Observation", id, role, o, append([]issue.Cell{v.Cell}, also...)...)
}

// number sets the value as written, or why there is none.
func (m *mapper) number(o *r4.Observation, row profiles.Measurement, v session.Value) {
	if !v.OK() {
		o.Status = observationCancelled
		o.DataAbsentReason = absent(v.Absence)
		o.Text = narrative(row.Text + ": no value")
		return
	}
	o.ValueQuantity = quantity(v.Decimal.String(), v.Unit)
	if c, ok := comparators[v.Comparator]; ok {
		o.ValueQuantity.Comparator = &c
	}
	o.Text = narrative(row.Text + ": " + v.Comparator + withUnit(v.Decimal.String(), v.Unit))
}

// written writes one entered text as an Observation.
func (m *mapper) written(field, text string, when effective, role string, ordinal int, cell issue.Cell) error {
	row, ok := profiles.Of(field, "")
	if !ok || text == "" {
		return nil
	}
	id := m.names.name(m.s.ID, role, ordinal)
	o := m.observation(id, row.Category, row.Phase, concept(row.Text, row.Codings...))
	when.set(o)
	o.ValueString = &text
	o.Text = narrative(row.Text + ": " + text)
	return m.add("Observation", id, role, o, cell)
}

// vitalSignsProfile is the HL7 core profile a measurement conforms to; it
// applies by code whether claimed or not.
func vitalSignsProfile(row profiles.Measurement) []string {
	if row.Category != profiles.VitalSigns {
		return nil
	}
	name := map[string]string{"29463-7": "bodyweight", "8867-4": "heartrate", "8310-5": "bodytemp"}[row.Principal().Code]
	if name == "" {
		return nil
	}
	return []string{"http://hl7.org/fhir/StructureDefinition/" + name}
}

// effective is the time a value belongs to: a moment, a day, or a period.
type effective struct {
	at     string
	period *r4.Period
}

func (e effective) set(o *r4.Observation) {
	if e.period != nil {
		o.EffectivePeriod = e.period
		return
	}
	o.EffectiveDateTime = &e.at
}

func atMoment(t time.Time) effective { return effective{at: r4.DateTime(t)} }

func onDay(t time.Time) effective { return effective{at: r4.Date(t)} }

// atOrOn is the moment where one was written, else only the day: a time of
// day is never made up.
func atOrOn(m session.Moment, day session.Moment) effective {
	switch {
	case m.OK() && !m.DateOnly:
		return atMoment(m.Time)
	case m.OK():
		return onDay(m.Time)
	default:
		return onDay(day.Time)
	}
}

// within is the moment of a row of the session where one was written, else the
// day, or the whole session where it may have gone on into the next day.
//
// Decision 7. A time before or after dialysis has a time of day only where
// one was written; else it is the day. No time is made up.
func (m *mapper) within(at session.Moment) effective {
	overnight := !m.s.End.OK() || r4.Date(m.s.Start.Time) != r4.Date(m.s.End.Time)
	if !at.OK() && m.s.Start.OK() && overnight {
		return effective{period: m.treatmentPeriod()}
	}
	return atOrOn(at, m.s.Date)
}
