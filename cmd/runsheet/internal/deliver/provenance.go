package deliver

import (
	"context"
	"encoding/json"
	"errors"
	"html"
	"slices"
	"strings"

	"github.com/google/uuid"

	"runsheet.example/cmd/runsheet/internal/deliver/receipt"
	"runsheet.example/fhirmap"
	"runsheet.example/profiles"
)

// amendmentRole is the role of the Provenance of an amendment.
const amendmentRole = "amendment"

// completeAmendments sends the Provenance of the unfinished amendments of a
// session, or of all, and removes them from the receipt.
func (s *Sender) completeAmendments(ctx context.Context, opts AmendOptions, session string) error {
	begun := s.receipt.Amending
	for i, a := range begun {
		if session != "" && a.Session != session {
			continue
		}
		if err := s.completeAmendment(ctx, a, opts); err != nil {
			return err
		}
		s.receipt.Amending = slices.DeleteFunc(slices.Clone(s.receipt.Amending), func(one receipt.Amendment) bool {
			return one.Session == begun[i].Session && one.Recorded == begun[i].Recorded
		})
		if err := s.save(); err != nil {
			return err
		}
	}
	return nil
}

// completeAmendment sends the Provenance of an amendment, if it changed
// anything.
func (s *Sender) completeAmendment(ctx context.Context, a receipt.Amendment, opts AmendOptions) error {
	changes := done(s.receipt, a)
	if len(changes) == 0 || !opts.tells() {
		return nil
	}
	if err := s.settleLiteralPatient(ctx, a.Session); err != nil {
		return err
	}
	resource, err := s.amendmentProvenance(a, changes, opts)
	if err != nil {
		return err
	}
	resources := []fhirmap.Resource{resource}
	if opts.Software != nil {
		resources = []fhirmap.Resource{*opts.Software, resource}
	}
	return s.Session(ctx, Session{Identity: a.Session, Label: s.labelOf(a.Session), Resources: resources})
}

// amendmentIdentity is the identity of the Provenance of an amendment.
func amendmentIdentity(session, recorded string) string {
	return uuid.NewSHA1(uuid.MustParse(session), []byte("amendment\x1f"+recorded)).String()
}

// done are the changes of an amendment that were made; conflicts are not.
func done(r *receipt.Receipt, a receipt.Amendment) []receipt.Change {
	var out []receipt.Change
	seen := map[string]bool{}
	for _, c := range a.Changes {
		e, ok := r.Of(c.Identity)
		if !ok || seen[c.Identity] || c.OldVersion != "" && e.Version == c.OldVersion {
			continue
		}
		seen[c.Identity] = true
		out = append(out, c)
	}
	return out
}

func (s *Sender) labelOf(session string) string {
	e, _ := s.receipt.Of(session)
	return e.Label
}

// The parts of a Provenance, as FHIR R4 names them.
type (
	reference struct {
		Reference string `json:"reference"`
		Type      string `json:"type,omitempty"`
	}
	coding struct {
		System string `json:"system"`
		Code   string `json:"code"`
	}
	concept struct {
		Coding []coding `json:"coding,omitempty"`
		Text   string   `json:"text,omitempty"`
	}
	agent struct {
		Type       concept    `json:"type"`
		Who        reference  `json:"who"`
		OnBehalfOf *reference `json:"onBehalfOf,omitempty"`
	}
	entity struct {
		Role string    `json:"role"`
		What reference `json:"what"`
	}
	narrative struct {
		Status string `json:"status"`
		Div    string `json:"div"`
	}
	provenance struct {
		ResourceType string      `json:"resourceType"`
		Text         narrative   `json:"text"`
		Target       []reference `json:"target"`
		Recorded     string      `json:"recorded"`
		Reason       []concept   `json:"reason,omitempty"`
		Activity     concept     `json:"activity"`
		Agent        []agent     `json:"agent"`
		Entity       []entity    `json:"entity,omitempty"`
	}
)

// amendmentProvenance records that the patient changed the record, by which
// program, and which versions the new ones replace (activity UPDATE,
// entity.role revision).
func (s *Sender) amendmentProvenance(a receipt.Amendment, changes []receipt.Change, opts AmendOptions) (fhirmap.Resource, error) {
	patient := reference{s.receipt.Patient, "Patient"}
	sentence := "Changed by the patient or helper in the log the record was made from."
	if a.Recomputed {
		sentence = "Computed again by another version of the method; the log the record was made from is as it was."
	}
	if a.Refiled {
		sentence = "Filed under this patient in error, and withdrawn: the record is another patient's."
	}
	sentence = because(sentence, a.Reason)
	p := provenance{
		ResourceType: "Provenance", Recorded: a.Recorded,
		Text:     narrative{"generated", `<div xmlns="http://www.w3.org/1999/xhtml">` + html.EscapeString(sentence) + `</div>`},
		Activity: concept{Coding: []coding{{profiles.DataOperation, "UPDATE"}}},
	}
	if !a.Refiled { // that patient wrote nothing, and the other one is not named here
		p.Agent = []agent{{Type: participant("author"), Who: patient}}
	}
	if a.Reason != "" {
		p.Reason = []concept{{Text: a.Reason}}
	}
	if opts.Software != nil {
		who := reference{"urn:uuid:" + opts.Software.Identity, "Device"}
		assembler := agent{Type: participant("assembler"), Who: who}
		if !a.Refiled {
			assembler.OnBehalfOf = &patient
		}
		p.Agent = append(p.Agent, assembler)
	}
	for _, c := range changes {
		e, _ := s.receipt.Of(c.Identity)
		p.Target = append(p.Target, reference{"urn:uuid:" + c.Identity, e.Type})
		if c.OldVersion != "" {
			p.Entity = append(p.Entity, entity{"revision", reference{e.Reference() + "/_history/" + c.OldVersion, e.Type}})
		}
	}
	var out strings.Builder
	encoder := json.NewEncoder(&out)
	encoder.SetEscapeHTML(false)
	if err := encoder.Encode(p); err != nil {
		return fhirmap.Resource{}, errors.New("the Provenance could not be written")
	}
	resource := fhirmap.Resource{
		Type: "Provenance", Role: amendmentRole, JSON: []byte(strings.TrimSuffix(out.String(), "\n")),
		Condition: "recorded=" + a.Recorded, Identity: amendmentIdentity(a.Session, a.Recorded),
	}
	if opts.Provenance == fhirmap.PutProvenance {
		resource.Condition = ""
	}
	return resource, nil
}

func participant(code string) concept {
	return concept{Coding: []coding{{profiles.ParticipantType, code}}}
}
