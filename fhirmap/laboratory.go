package fhirmap

import (
	"runsheet.example/fhirmap/r4"
	"runsheet.example/fhirmap/session"
	"runsheet.example/profiles"
	"runsheet.example/validate/issue"
)

// laboratory writes each result. Urea and urea nitrogen, mass and substance
// concentration have separate codes; the unit as written decides, and nothing
// is converted.
func (m *mapper) laboratory() error {
	for _, lab := range m.s.Labs {
		if !lab.Value.OK() && !lab.Words.OK() && !saysAbsent(lab.Value.Absence) || !lab.Test.OK() {
			continue
		}
		row, role := laboratoryRow(lab)
		if err := m.result(row, lab, role); err != nil {
			return err
		}
		m.remember(session.Field(row.Field), lab.Value)
	}
	return nil
}

var phases = map[string]profiles.Phase{"before": profiles.PhasePre, "after": profiles.PhasePost}

// laboratoryRow is the code table row of a result, and its role. A test
// without a code for its unit has only its name.
func laboratoryRow(lab *session.Lab) (row profiles.Measurement, role string) {
	test, _ := session.TestField(lab.Test.Text)
	field := test.At(lab.When.Text)
	if row, ok := profiles.Of(string(field), lab.Value.Unit); ok {
		return row, roleLab + string(field)
	}
	row, ok := profiles.Of(string(test), lab.Value.Unit)
	role = roleLab + string(field)
	if !ok || lab.Words.OK() {
		row, role = profiles.Measurement{Text: lab.Test.Text, Category: profiles.Laboratory}, roleLab+"other"
	}
	row.Phase = phases[lab.When.Text]
	return row, role
}

// result writes one laboratory value. The laboratory is the performer, by name
// only; the person copied its report, which meta marks.
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
	if lab.Words.OK() {
		o.ValueString = &lab.Words.Text
		o.Text = narrative(row.Text + ": " + lab.Words.Text)
		return m.add("Observation", id, role, o, append(cells, lab.Words.Cell)...)
	}
	m.number(o, row, lab.Value)
	return m.add("Observation", id, role, o, cells...)
}
