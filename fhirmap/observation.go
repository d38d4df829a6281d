package fhirmap

import (
	"time"

	"runsheet.example/fhirmap/r4"
	"runsheet.example/fhirmap/session"
	"runsheet.example/profiles"
	"runsheet.example/validate/issue"
)

// handEntered marks every value that the person typed: R4 has no code for it.
const handEntered = "Read off and written down by the patient or helper."

// setByClinic marks a value that the log only repeats.
const setByClinic = "Set by the clinic; copied into the log."

// observation starts an Observation of the session with everything except its
// value.
func (m *mapper) observation(id string, category profiles.Category, phase profiles.Phase, code r4.CodeableConcept) *r4.Observation {
	o := m.ofPatient(id, category, phase, code)
	o.PartOf = m.procedureReference()
	o.Issued = m.issued()
	who, _ := m.writer()
	o.Performer = []r4.Reference{who}
	return o
}

// ofPatient starts an Observation of the patient without a session.
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

// measured writes one entered number as an Observation and records it for the
// computed values. It skips an empty cell; a recorded absence keeps its
// reason.
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

// number sets the value as written, or the reason of its absence.
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

// vitalSignsProfile is the HL7 core profile of a measurement; it applies by
// code, claimed or not.
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

// effective is the effective time of a value: a moment, a day, or a period.
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

// atOrOn is the moment if recorded, otherwise the day: no time of day is
// invented.
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

// within is the recorded moment of a row of the session, otherwise the day, or
// the whole session if it may extend into the next day.
//
// Decision 7. A time before or after dialysis has a time of day only if one
// was recorded; otherwise it is the day. No time is invented.
func (m *mapper) within(at session.Moment) effective {
	overnight := !m.s.End.OK() || r4.Date(m.s.Start.Time) != r4.Date(m.s.End.Time)
	if !at.OK() && m.s.Start.OK() && overnight {
		return effective{period: m.treatmentPeriod()}
	}
	return atOrOn(at, m.s.Date)
}
