package fhirmap

import (
	"runsheet.example/fhirmap/r4"
	"runsheet.example/fhirmap/session"
	"runsheet.example/profiles"
)

// pressures writes the blood pressures of the session's own row. Each is one
// Observation with two components; a missing number has a reason in its
// component, never a zero.
func (m *mapper) pressures() error {
	for _, p := range profiles.Pressures() {
		if p.Phase == profiles.PhaseIntra {
			continue
		}
		when := atOrOn(m.s.BeforeAt, m.s.Date)
		if p.Phase == profiles.PhasePost {
			when = m.afterTime()
		}
		systolic, diastolic := m.s.Value(session.Field(p.Systolic)), m.s.Value(session.Field(p.Diastolic))
		if err := m.pressure(p, systolic, diastolic, when, p.Systolic, 0); err != nil {
			return err
		}
	}
	return nil
}

func (m *mapper) pressure(p profiles.Pressure, systolic, diastolic session.Value, when effective, role string, ordinal int) error {
	if !systolic.OK() && !diastolic.OK() && !saysAbsent(systolic.Absence) {
		return nil
	}
	id := m.names.name(m.s.ID, role, ordinal)
	o := m.observation(id, profiles.VitalSigns, p.Phase, concept(p.Text, profiles.PressurePanel))
	o.Meta.Profile = []string{"http://hl7.org/fhir/StructureDefinition/bp"}
	when.set(o)
	if p.Position.Code != "" {
		o.Extension = []r4.Extension{{Url: profiles.BodyPosition, ValueCodeableConcept: ptr(concept("", p.Position))}}
	}
	o.Device = m.deviceReference("cuff")
	o.Component = []r4.ObservationComponent{
		pressureComponent(profiles.SystolicCode, systolic), pressureComponent(profiles.DiastolicCode, diastolic),
	}
	if !systolic.OK() && !diastolic.OK() {
		o.Status = observationCancelled
	}
	o.Note = []r4.Annotation{{Text: handEntered}}
	o.Text = narrative(p.Text + ": " + orDash(systolic) + "/" + orDash(diastolic) + " mmHg")
	return m.add("Observation", id, role, o, valueCells(systolic, diastolic)...)
}

func pressureComponent(code profiles.Coding, v session.Value) r4.ObservationComponent {
	c := r4.ObservationComponent{Code: concept("", code)}
	if v.OK() {
		c.ValueQuantity = quantity(v.Decimal.String(), v.Unit)
	} else {
		c.DataAbsentReason = absent(v.Absence)
	}
	return c
}

func orDash(v session.Value) string {
	if v.OK() {
		return v.Decimal.String()
	}
	return "–"
}
