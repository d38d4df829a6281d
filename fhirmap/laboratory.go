package fhirmap

import (
	"fmt"

	"runsheet.example/fhirmap/r4"
	"runsheet.example/fhirmap/session"
	"runsheet.example/profiles"
	"runsheet.example/validate/issue"
)

// laboratory writes each result. Urea and urea nitrogen, mass and substance
// concentration have codes of their own; the unit as written decides, and
// nothing is converted.
func (m *mapper) laboratory() error {
	for _, lab := range m.s.Labs {
		if !lab.Value.OK() && !saysAbsent(lab.Value.Absence) {
			continue
		}
		field := session.Tests[lab.Test.Text].At(lab.When.Text)
		row, ok := profiles.Of(string(field), lab.Value.Unit)
		if !ok {
			return fmt.Errorf("laboratory row %d: no code for %s in %s", lab.Cell.Row, field, lab.Value.Unit)
		}
		if err := m.result(row, lab, roleLab+string(field)); err != nil {
			return err
		}
		m.remember(field, lab.Value)
	}
	return nil
}

// result writes one laboratory value. The laboratory is the performer, by
// name only; the person copied its report, which the marker in meta says.
func (m *mapper) result(row profiles.Measurement, lab *session.Lab, role string) error {
	id := m.names.name(m.s.ID, role, lab.Ordinal)
	o := m.observation(id, row.Category, row.Phase, concept(row.Text, row.Codings...))
	atOrOn(lab.Drawn, m.s.Date).set(o)
	o.Performer = nil
	cells := []issue.Cell{lab.Value.Cell}
	if lab.Laboratory.OK() {
		o.Performer = []r4.Reference{{Display: ptr(lab.Laboratory.Text)}}
		cells = append(cells, lab.Laboratory.Cell)
	}
	m.number(o, row, lab.Value)
	return m.add("Observation", id, role, o, cells...)
}
