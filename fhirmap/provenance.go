package fhirmap

import (
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"net/url"
	"time"

	"runsheet.example/fhirmap/r4"
	"runsheet.example/fhirmap/session"
	"runsheet.example/profiles"
	"runsheet.example/validate/manifest"
)

// provenance records that the patient is the author of the session, which
// software assembled the record, and the source entry: its SHA-256, as a name
// of RFC 6920.
//
// Decision 3. Provenance has no identifier in R4, and several sessions can be
// written down at the same time. Its condition is the recorded time (when the
// entry was closed, else the latest time written in the session) and the
// session's Procedure, by identifier or by the id it has at the server; it
// names no patient. Receivers that cannot search this way take --provenance
// put or none.
func (m *mapper) provenance() error {
	if m.opts.Provenance == NoProvenance {
		return nil
	}
	id := m.names.name(m.s.ID, "provenance", 0)
	software := m.reference("Device", softwareName(m.opts.Tool))
	recorded := m.recorded()
	resource := &r4.Provenance{
		Text:     narrative("Written down by the patient or helper; assembled by " + m.opts.Tool.Name + " " + m.opts.Tool.Version),
		Recorded: r4.DateTime(recorded),
		Activity: ptr(concept("", profiles.Coding{System: profiles.DataOperation, Code: "CREATE", Display: "create"})),
		Agent: []agent{
			{Type: participant("author", "Author"), Who: m.subject()},
			{Type: participant("assembler", "Assembler"), Who: software, OnBehalfOf: ptr(m.person())},
		},
		Entity: []entity{{Role: sourceRole, What: r4.Reference{
			Identifier: &r4.Identifier{System: ptr(profiles.RecordIdentifier), Value: ptr("ni:///sha-256;" + m.entryDigest())},
			Display:    ptr("The session's entry in the patient's log"),
		}}},
	}
	if m.s.Status != session.SkippedStatus {
		resource.OccurredPeriod = m.treatmentPeriod()
	}
	for _, r := range m.resources {
		if r.Type != "Device" && r.Type != "Patient" {
			resource.Target = append(resource.Target, m.reference(r.Type, r.Identity))
		}
	}
	if m.opts.Provenance == PutProvenance || m.opts.References == ByTypeID {
		resource.Id = &id
	}
	if err := m.add("Provenance", id, "provenance", resource, m.s.Cell); err != nil {
		return err
	}
	m.resources[len(m.resources)-1].Condition = m.provenanceCondition(recorded)
	return nil
}

func participant(code, display string) *r4.CodeableConcept {
	return ptr(concept("", profiles.Coding{System: profiles.ParticipantType, Code: code, Display: display}))
}

// provenanceCondition is a search for the Provenance with the recorded time of
// the session and its Procedure as target or, without one, the first target.
// Several sessions may have one recorded time, so patient and time do not
// distinguish them, and servers log conditions, so the patient is not in it.
// The condition begins with a plain parameter name, or HAPI FHIR does not take
// it for a query. The time is in UTC, because a plus sign in a query means a
// space. It is empty if the Provenance is put under its own id.
func (m *mapper) provenanceCondition(recorded time.Time) string {
	if m.opts.Provenance == PutProvenance {
		return ""
	}
	condition, about := "recorded="+url.QueryEscape(r4.InstantUTC(recorded)), ""
	for _, r := range m.resources {
		if r.Type == "Device" || r.Type == "Patient" || r.Type == "Provenance" {
			continue
		}
		if about == "" || r.Type == "Procedure" {
			about = "&target:" + r.Type + ".identifier=" + token(profiles.RecordIdentifier, "urn:uuid:"+r.Identity)
		}
	}
	return condition + about
}

// recorded is when the person closed the entry or, if not recorded, the latest
// time in the session: the entry cannot be earlier, and this time is the same
// at every export.
func (m *mapper) recorded() time.Time {
	if m.s.EnteredAt.OK() && !m.s.EnteredAt.DateOnly {
		return m.s.EnteredAt.Time
	}
	latest := m.s.Date.Time
	later := func(moments ...session.Moment) {
		for _, moment := range moments {
			if moment.OK() && moment.Time.After(latest) {
				latest = moment.Time
			}
		}
	}
	later(m.s.Start, m.s.End, m.s.BeforeAt, m.s.AfterAt)
	for _, c := range m.s.Checks {
		later(c.At)
	}
	for _, r := range m.s.Readings {
		later(r.At)
	}
	for _, med := range m.s.Medicines {
		later(med.At, med.Until)
	}
	for _, lab := range m.s.Labs {
		later(lab.Drawn)
	}
	for _, e := range m.s.Events {
		later(e.At)
	}
	return latest
}

// Recorded is when the entry of a session was closed, or else the latest time
// in it.
func (s SessionRecord) Recorded() time.Time { return (&mapper{s: s.Session}).recorded() }

// entryDigest is the SHA-256 of the session's entry, as base64url without
// padding. See [session.Session.Entry] for its text.
func (m *mapper) entryDigest() string {
	sum := sha256.Sum256([]byte(m.computedSession.Entry()))
	return base64.RawURLEncoding.EncodeToString(sum[:])
}

// Amendment is a change of resources that a receiver has.
type Amendment struct {
	Recorded string // a FHIR instant
	Sentence string // what was done
	Reason   string // in the person's words; may be empty
	// Author is the reference of the patient who made the change; empty if
	// somebody else did. Software is that of the program; if it is empty, the
	// program is named only where there is no author: a Provenance needs an agent.
	Author, Software string
	// Targets are the resources, Replaced the versions they had before.
	Targets, Replaced []r4.Reference
	// Tags are those of the record, see [manifest.Options].
	Tags string
}

// Provenance records who amended resources, by which program, and which
// versions the new ones replace (activity UPDATE, entity.role revision).
func (a Amendment) Provenance() (json.RawMessage, error) {
	p := &r4.Provenance{
		Text: narrative(a.Sentence), Target: a.Targets, Recorded: a.Recorded,
		Activity: ptr(concept("", profiles.Coding{System: profiles.DataOperation, Code: "UPDATE"})),
	}
	if a.Reason != "" {
		p.Reason = []r4.CodeableConcept{concept(a.Reason)}
	}
	var author *r4.Reference
	if a.Author != "" {
		author = &r4.Reference{Reference: &a.Author, Type: ptr("Patient")}
		p.Agent = append(p.Agent, agent{Type: participant("author", ""), Who: *author})
	}
	if a.Software != "" {
		p.Agent = append(p.Agent, agent{Type: participant("assembler", ""), Who: r4.Reference{Reference: &a.Software, Type: ptr("Device")}, OnBehalfOf: author})
	}
	if len(p.Agent) == 0 {
		p.Agent = []agent{{Type: participant("assembler", ""), Who: r4.Reference{Type: ptr("Device"), Display: ptr("runsheet")}}}
	}
	for _, version := range a.Replaced {
		p.Entity = append(p.Entity, entity{Role: revisionRole, What: version})
	}
	Options{Options: manifest.Options{Tags: a.Tags}}.adapt(p)
	return r4.Marshal(p)
}
