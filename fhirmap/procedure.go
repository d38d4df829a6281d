package fhirmap

import (
	"fmt"
	"strings"

	"runsheet.example/fhirmap/r4"
	"runsheet.example/fhirmap/session"
	"runsheet.example/profiles"
	"runsheet.example/validate/issue"
)

// procedure adds the hub that every other resource of the session is part of.
func (m *mapper) procedure() error {
	person, performed := m.whoTreats()
	resource := &r4.Procedure{
		Id:         m.resourceID(m.procedureID),
		Meta:       m.meta(),
		Identifier: identifier(m.procedureID),
		Category:   ptr(concept("", profiles.TherapeuticProcedure)),
		Code:       ptr(concept("Home haemodialysis session", profiles.Haemodialysis)),
		Subject:    m.subject(),
		Recorder:   &person,
		Asserter:   &person,
	}
	cells := []issue.Cell{m.s.Cell}
	for _, moment := range []session.Moment{m.s.Date, m.s.Start, m.s.End, m.s.EnteredAt} {
		if moment.OK() && moment.Cell != m.s.Cell {
			cells = append(cells, moment.Cell)
		}
	}
	if m.s.Reason.OK() {
		cells = append(cells, m.s.Reason.Cell)
	}
	m.order(resource)
	m.outcome(resource)
	if m.s.Status != session.SkippedStatus {
		resource.Performer = []performer{performed}
		cells = append(cells, m.circumstances(resource)...)
	}
	if note := m.s.Texts["notes"]; note.OK() {
		resource.Note = append(resource.Note, r4.Annotation{AuthorReference: &person, Text: note.Text})
		cells = append(cells, note.Cell)
	}
	resource.Text = narrative(m.sentence())
	return m.add("Procedure", m.procedureID, "procedure", resource, cells...)
}

// helpedBelow is the age in years below which a child does not carry out the
// treatment alone (common practice).
const helpedBelow = 12

func helper() r4.Reference {
	return r4.Reference{Type: ptr("RelatedPerson"), Display: ptr("Helper")}
}

// writer is who reads and records values: the patient, or for a small child a
// helper.
func (m *mapper) writer() (who r4.Reference, helped bool) {
	if years, known := m.log.About.AgeOn(m.s.Date); known && years < helpedBelow {
		return helper(), true
	}
	return m.person(), false
}

// whoTreats returns who records the session and who performs the treatment:
// the writer, unless every check names somebody else.
func (m *mapper) whoTreats() (writer r4.Reference, performed performer) {
	writer, helped := m.writer()
	if helped {
		return writer, performer{Function: ptr(concept("Home treatment")), Actor: writer}
	}
	words := map[string]bool{}
	for _, c := range m.s.Checks {
		if c.ByWhom.OK() {
			words[c.ByWhom.Text] = true
		}
	}
	if len(words) == 1 && words["helper"] {
		return writer, performer{Function: ptr(concept("Home treatment")), Actor: helper()}
	}
	return writer, performer{Function: ptr(concept("Self-administered treatment")), Actor: writer}
}

// outcome sets status, reason and time. A session that did not take place has
// only its planned day.
func (m *mapper) outcome(resource *r4.Procedure) {
	switch m.s.Status {
	case session.Done:
		resource.Status = procedureCompleted
	case session.CutShort:
		resource.Status = procedureStopped
	case session.SkippedStatus:
		resource.Status = procedureNotDone
		resource.PerformedDateTime = ptr(r4.Date(m.s.Date.Time))
	}
	if m.s.Reason.OK() {
		resource.StatusReason = ptr(concept(m.s.Reason.Text))
	}
	if m.s.Status != session.SkippedStatus {
		resource.PerformedPeriod = m.treatmentPeriod()
	}
}

// order refers to the clinic's prescription by its own identifier; the
// prescription belongs to the clinic and is not sent.
func (m *mapper) order(resource *r4.Procedure) {
	p, ok := m.log.About.PrescriptionFor(m.s)
	if !ok || !p.OrderSystem.OK() || !p.OrderValue.OK() {
		return
	}
	resource.BasedOn = []r4.Reference{{
		Type:       ptr("ServiceRequest"),
		Identifier: &r4.Identifier{System: ptr(p.OrderSystem.Text), Value: ptr(p.OrderValue.Text)},
		Display:    ptr("Home haemodialysis prescription in force from " + r4.Date(p.ValidFrom.Time)),
	}}
}

// circumstances adds access, dialyser, needles, machine and symptoms.
func (m *mapper) circumstances(resource *r4.Procedure) []issue.Cell {
	var cells []issue.Cell
	access, known := m.log.About.AccessOn(m.s.Date.Time)
	if text, cell := m.accessText(access, known); text != "" {
		resource.BodySite = []r4.CodeableConcept{concept(text)}
		cells = append(cells, cell)
	}
	if dialyser, ok := m.dialyser(); ok {
		resource.UsedCode = append(resource.UsedCode, concept("Dialyser: "+dialyser.Text))
		cells = append(cells, dialyser.Cell)
	}
	if text, from := m.needles(access); text != "" {
		resource.UsedCode = append(resource.UsedCode, concept(text))
		cells = append(cells, from...)
	}
	if machine := m.deviceReference("machine"); machine != nil {
		resource.UsedReference = []r4.Reference{*machine}
	}
	resource.UsedReference = append(resource.UsedReference, m.used...)
	for _, e := range m.s.Events {
		if e.Kind.Text == "symptom" {
			resource.Complication = append(resource.Complication, symptomConcept(e.What.Text))
		}
	}
	return cells
}

func (m *mapper) accessText(access session.Access, known bool) (string, issue.Cell) {
	if used := m.s.Texts["access"]; used.OK() {
		return used.Text, used.Cell
	}
	if !known {
		return "", issue.Cell{}
	}
	var words []string
	for _, t := range []session.Text{access.Side, access.Site, access.Kind} {
		if t.OK() {
			words = append(words, t.Text)
		}
	}
	return strings.Join(words, " "), access.Kind.Cell
}

func (m *mapper) dialyser() (session.Text, bool) {
	if t := m.s.Texts["dialyser"]; t.OK() {
		return t, true
	}
	p, ok := m.log.About.PrescriptionFor(m.s)
	return p.Dialyser, ok && p.Dialyser.OK()
}

// needles are gauge and technique: those of the session if recorded, otherwise
// the usual ones.
func (m *mapper) needles(usual session.Access) (string, []issue.Cell) {
	gauge, technique := m.s.Texts["needle_gauge"], m.s.Texts["needling"]
	var cells []issue.Cell
	for _, own := range []session.Text{gauge, technique} {
		if own.OK() {
			cells = append(cells, own.Cell)
		}
	}
	if !gauge.OK() && usual.NeedleGauge.OK() {
		gauge = session.Text{Text: usual.NeedleGauge.Decimal.String(), Absence: session.Present}
	}
	if strings.Trim(gauge.Text, "0123456789") == "" && gauge.OK() {
		gauge.Text += " gauge"
	}
	if !technique.OK() {
		technique = usual.Needling
	}
	if parts := join(gauge, technique); parts != "" {
		return "Needles: " + parts, cells
	}
	return "", nil
}

// treatmentPeriod is the session's start and end; an unknown end is left out,
// never invented.
func (m *mapper) treatmentPeriod() *r4.Period {
	period := &r4.Period{}
	if m.s.Start.OK() {
		period.Start = ptr(r4.DateTime(m.s.Start.Time))
	} else if m.s.Date.OK() {
		period.Start = ptr(r4.Date(m.s.Date.Time))
	}
	if m.s.End.OK() {
		period.End = ptr(r4.DateTime(m.s.End.Time))
	}
	return period
}

// sentence is the session for a person to read.
func (m *mapper) sentence() string {
	if m.s.Status == session.SkippedStatus {
		return "Home haemodialysis planned for " + r4.Date(m.s.Date.Time) + ", not done"
	}
	text := "Home haemodialysis, " + string(m.s.Status)
	if m.s.Start.OK() && m.s.End.OK() {
		const layout = "2 January 2006 15:04 MST"
		minutes := int(m.s.End.Time.Sub(m.s.Start.Time).Minutes())
		text += fmt.Sprintf(", %s to %s, %d h %d min", m.s.Start.Time.Format(layout), m.s.End.Time.Format(layout), minutes/60, minutes%60)
	}
	return text
}
