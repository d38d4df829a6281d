package fhirmap

import (
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"html"
	"strings"

	"github.com/google/uuid"

	"runsheet.example/fhirmap/r4"
	"runsheet.example/fhirmap/session"
	"runsheet.example/profiles"
)

// dialysisNote is the kind of document: LOINC 87238-2, seen with this text in
// the value set 2.16.840.1.113883.11.20.9.68. The nurse's note (87266-3) would
// be wrong for what a patient wrote.
var dialysisNote = profiles.Coding{System: profiles.LOINC, Code: "87238-2", Display: "Dialysis Note"}

// documentSafety is the first section of every document.
const documentSafety = "Values were entered by the patient or helper and calculated by software; they are not verified by a clinician. Not a medical device and not for changing treatment: follow the prescription, local policy and the care team."

// Document is the month as a FHIR R4 document, for portals and for receivers
// without an API: a Composition with a readable section for each session, then
// every resource once. Its identifier is derived from its content, and its
// time is the latest time at which an entry was closed, so that the same log
// gives the same bytes (bdl-9, bdl-10, bdl-11).
func (m *Month) Document() (json.RawMessage, error) {
	if len(m.Sessions) == 0 {
		return nil, errors.New("a document needs a session")
	}
	composition, err := m.composition()
	if err != nil {
		return nil, err
	}
	text, err := r4.Marshal(composition)
	if err != nil {
		return nil, err
	}
	bundle := r4.Bundle{Type: "document", Timestamp: composition.Date}
	content := sha256.New()
	add := func(id string, resource json.RawMessage) {
		content.Write(resource)
		bundle.Entry = append(bundle.Entry, r4.Entry{FullURL: EntryURL(id), Resource: resource})
	}
	add(m.compositionID(), text)
	for _, r := range m.distinct() {
		add(r.Identity, r.JSON)
	}
	bundle.Identifier = &identifier(uuid.NewSHA1(namespace, content.Sum([]byte("document"+unitSeparator))).String())[0]
	return r4.Marshal(&bundle)
}

// compositionID is the same for all documents of a log with the same first
// session: a newer one is a version of it.
func (m *Month) compositionID() string {
	return namer{logID: m.Sessions[0].ID}.name("", "composition", 0)
}

func (m *Month) composition() (*r4.Composition, error) {
	first, last := m.Sessions[0], m.Sessions[len(m.Sessions)-1]
	person, err := subjectOf(first)
	if err != nil {
		return nil, err
	}
	out := &r4.Composition{
		Text:       narrative(documentSafety),
		Identifier: &identifier(m.compositionID())[0],
		Status:     "final",
		Type:       concept("", dialysisNote),
		Subject:    &person,
		Author:     []r4.Reference{person},
		Title:      "Home haemodialysis sessions from " + r4.Date(first.Session.Date.Time) + " to " + r4.Date(last.Session.Date.Time),
		Section:    []r4.Section{{Title: "About this document", Text: narrative(documentSafety)}},
	}
	latest := first.Recorded()
	for _, s := range m.Sessions {
		if at := s.Recorded(); at.After(latest) {
			latest = at
		}
	}
	for _, s := range m.Records() {
		section, err := recordSection(s)
		if err != nil {
			return nil, err
		}
		out.Section = append(out.Section, section)
	}
	out.Date = r4.DateTime(latest)
	first.opts.adapt(out)
	return out, nil
}

// subjectOf is the patient reference of the session's Procedure.
func subjectOf(s SessionRecord) (r4.Reference, error) {
	var procedure struct{ Subject r4.Reference }
	for _, r := range s.Resources {
		if r.Type == "Procedure" {
			err := json.Unmarshal(r.JSON, &procedure)
			return procedure.Subject, err
		}
	}
	return procedure.Subject, fmt.Errorf("session %s has no Procedure", s.ID)
}

// recordSection lists the narratives of a record's resources, and refers to
// each.
func recordSection(s SessionRecord) (r4.Section, error) {
	title := map[string]string{WeeksLabel: "Weeks, calculated", ReportLabel: "Report for the visit", LogLabel: "Log as received"}[s.label]
	if s.Session != nil {
		title = "Session of " + r4.Date(s.Session.Date.Time)
		if s.Session.Status == session.SkippedStatus {
			title += ": not done"
		}
	}
	section := r4.Section{Title: title}
	var items strings.Builder
	for _, r := range s.Resources {
		if r.Type == "Device" || r.Type == "Patient" {
			continue
		}
		section.Entry = append(section.Entry, r4.Reference{Reference: ptr(EntryURL(r.Identity)), Type: ptr(r.Type)})
		words, err := narrativeOf(r)
		if err != nil {
			return section, err
		}
		items.WriteString("<li>" + words + "</li>")
	}
	section.Text = &r4.Narrative{
		Status: narrativeGenerated,
		Div:    `<div xmlns="http://www.w3.org/1999/xhtml"><p>` + html.EscapeString(title) + "</p><ul>" + items.String() + "</ul></div>",
	}
	return section, nil
}

// narrativeOf returns the content of a resource's narrative, which is already
// XHTML.
func narrativeOf(r Resource) (string, error) {
	var resource struct{ Text struct{ Div string } }
	if err := json.Unmarshal(r.JSON, &resource); err != nil {
		return "", err
	}
	_, inner, _ := strings.Cut(resource.Text.Div, ">")
	return strings.TrimSuffix(inner, "</div>"), nil
}
