package fhirmap

import (
	"strings"

	"runsheet.example/fhirmap/r4"
	"runsheet.example/fhirmap/session"
	"runsheet.example/profiles"
	"runsheet.example/validate/issue"
)

// symptoms maps words to SNOMED CT concepts of the Global Patient Set. They
// apply only if the word is the whole text; any longer text is sent as text
// only.
var symptoms = map[string]profiles.Coding{
	"cramp":      {System: profiles.SNOMED, Code: "55300003", Display: "Cramp (finding)"},
	"cramps":     {System: profiles.SNOMED, Code: "55300003", Display: "Cramp (finding)"},
	"nausea":     {System: profiles.SNOMED, Code: "422587007", Display: "Nausea (finding)"},
	"vomiting":   {System: profiles.SNOMED, Code: "422400008", Display: "Vomiting (disorder)"},
	"headache":   {System: profiles.SNOMED, Code: "25064002", Display: "Headache (finding)"},
	"dizziness":  {System: profiles.SNOMED, Code: "404640003", Display: "Dizziness (finding)"},
	"fever":      {System: profiles.SNOMED, Code: "386661006", Display: "Fever (finding)"},
	"chills":     {System: profiles.SNOMED, Code: "43724002", Display: "Chill (finding)"},
	"chest pain": {System: profiles.SNOMED, Code: "29857009", Display: "Chest pain (finding)"},
	"itching":    {System: profiles.SNOMED, Code: "418363000", Display: "Itching of skin (finding)"},
}

func symptomConcept(text string) r4.CodeableConcept {
	if c, ok := symptoms[strings.ToLower(strings.TrimSpace(text))]; ok {
		return concept(text, c)
	}
	return concept(text)
}

// event writes an alarm, symptom or other event. The text of an alarm is
// the machine's own; no list of codes is known for it.
func (m *mapper) event(e *session.Event) error {
	kind := strings.ToLower(e.Kind.Text)
	row, ok := profiles.Of("event_"+kind, "")
	if !ok || !e.What.OK() {
		return nil
	}
	role := roleEvent + kind
	id := m.names.name(m.s.ID, role, e.Ordinal)
	o := m.observation(id, row.Category, row.Phase, concept(row.Text, row.Codings...))
	m.within(e.At).set(o)
	value := concept(e.What.Text)
	if kind == "symptom" {
		value = symptomConcept(e.What.Text)
	}
	o.ValueCodeableConcept = &value
	if kind == "alarm" {
		o.Device = m.deviceReference("machine")
	}
	cells := []issue.Cell{e.What.Cell}
	if number, ok := profiles.Of("alarm_number", ""); ok && e.AlarmNumber.OK() {
		o.Component = []r4.ObservationComponent{{Code: concept(number.Text, number.Codings...), ValueString: &e.AlarmNumber.Text}}
		cells = append(cells, e.AlarmNumber.Cell)
	}
	if e.Action.OK() {
		o.Note = []r4.Annotation{{Text: "Done about it: " + e.Action.Text}}
		cells = append(cells, e.Action.Cell)
	}
	o.Text = narrative(row.Text + ": " + e.What.Text)
	return m.add("Observation", id, role, o, cells...)
}
