package fhirmap

import (
	"fmt"
	"strings"

	"runsheet.example/fhirmap/r4"
	"runsheet.example/fhirmap/session"
	"runsheet.example/profiles"
	"runsheet.example/validate/issue"
)

// RoleSupply is the prefix of the role of a Device that belongs to a single
// session, so that it is amended and withdrawn with the session.
const RoleSupply = "supply"

// supply adds a dialyser, line set or batch with a recorded lot or date as a
// Device of this session. Its identity is the row's place in the session,
// so that a corrected lot is a later version of the same Device. A session not
// done has no supplies.
func (m *mapper) supply(c *session.Check) error {
	if m.s.Status == session.SkippedStatus || !c.IsSupply() {
		return nil
	}
	id := m.names.name(m.s.ID, RoleSupply, c.Ordinal)
	subject := m.subject()
	words := []string{sentenceCase(c.Kind.Name)}
	resource := &r4.Device{
		Id: m.resourceID(id), Identifier: identifier(id), Type: ptr(concept(words[0])), Patient: &subject,
	}
	cells := []issue.Cell{c.What.Cell}
	if dialyser, ok := m.dialyser(); ok && c.Kind.Name == "dialyser" {
		resource.DeviceName = []deviceName{{Name: dialyser.Text, Type: userFriendlyName}}
	}
	if c.Lot.OK() {
		resource.LotNumber = &c.Lot.Text
		words = append(words, "lot "+c.Lot.Text)
		cells = append(cells, c.Lot.Cell)
	}
	if !c.LastDay.IsZero() {
		date := r4.Date(c.LastDay)
		if c.OnlyMonth {
			date = date[:len("2006-01")]
		}
		resource.ExpirationDate = &date
		words = append(words, "may be used until "+date)
		cells = append(cells, c.Expires.Cell)
	}
	if c.ByWhom.OK() && !c.Says() { // otherwise it is part of the check
		resource.Note = []r4.Annotation{{Text: "By: " + c.ByWhom.Text}}
		cells = append(cells, c.ByWhom.Cell)
	}
	text := strings.Join(words, ", ")
	resource.Text = narrative(text)
	used := m.reference("Device", id)
	used.Display = &text
	m.used = append(m.used, used)
	return m.add("Device", id, RoleSupply, resource, cells...)
}

// check writes a check of the session. A number becomes the value, with
// the person's verdict beside it.
func (m *mapper) check(c *session.Check) error {
	if !c.Says() {
		return nil
	}
	field := string(c.Kind.Field)
	row, ok := profiles.Of(field, c.Value.Unit)
	if !ok {
		return fmt.Errorf("check in row %d: no code for %s in %q", c.Cell.Row, field, c.Value.Unit)
	}
	role := "check:" + strings.TrimPrefix(field, "check_")
	id := m.names.name(m.s.ID, role, c.Ordinal)
	text := row.Text
	if c.Kind.Field == session.OwnCheck || field == "check_supplies" {
		text = c.What.Text
	}
	o := m.observation(id, row.Category, row.Phase, concept(text, row.Codings...))
	atOrOn(c.At, m.s.Date).set(o)
	cells := []issue.Cell{c.What.Cell}
	if c.ByWhom.OK() {
		o.Performer = append(o.Performer, r4.Reference{Display: &c.ByWhom.Text}) // the patient states it
		cells = append(cells, c.ByWhom.Cell)
	}
	words := join(c.Result, c.Words)
	switch {
	case c.Value.OK():
		m.number(o, row, c.Value)
		if c.Result.OK() {
			o.Interpretation = []r4.CodeableConcept{concept(c.Result.Text)}
		}
	case words != "":
		value := concept(words)
		o.ValueCodeableConcept = &value
		o.Text = narrative(text + ": " + words)
	default:
		m.number(o, row, session.Value{Absence: c.Absence()})
	}
	for _, t := range []session.Text{c.Result, c.Words, {Cell: c.Value.Cell, Absence: c.Value.Absence}} {
		if t.OK() || saysAbsent(t.Absence) {
			cells = append(cells, t.Cell)
		}
	}
	return m.add("Observation", id, role, o, cells...)
}

// join joins the non-empty texts.
func join(texts ...session.Text) string {
	var words []string
	for _, t := range texts {
		if t.OK() {
			words = append(words, t.Text)
		}
	}
	return strings.Join(words, ", ")
}

func sentenceCase(text string) string {
	first := []rune(text)[:1]
	return strings.ToUpper(string(first)) + strings.TrimPrefix(text, string(first))
}
