package deliver

import (
	"context"
	"slices"

	"github.com/google/uuid"

	"runsheet.example/cmd/runsheet/internal/deliver/receipt"
	"runsheet.example/fhirmap"
	"runsheet.example/fhirmap/r4"
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
	if len(changes) == 0 || !opts.hasProvenance() {
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

// amendmentProvenance records that the patient changed the record, by which
// program, and which versions the new ones replace.
func (s *Sender) amendmentProvenance(a receipt.Amendment, changes []receipt.Change, opts AmendOptions) (fhirmap.Resource, error) {
	sentence := "Changed by the patient or helper in the log the record was made from."
	if a.Recomputed {
		sentence = "Computed again by another version of the method; the log the record was made from is as it was."
	}
	if a.Refiled {
		sentence = "Filed under this patient in error, and withdrawn: the record is another patient's."
	}
	p := fhirmap.Amendment{Recorded: a.Recorded, Sentence: because(sentence, a.Reason), Reason: a.Reason, Tags: opts.Tags}
	if !a.Refiled { // that patient wrote nothing, and the other one is not named here
		p.Author = s.receipt.Patient
	}
	if opts.Software != nil {
		p.Software = "urn:uuid:" + opts.Software.Identity
	}
	reference := func(to string, e receipt.Entry) r4.Reference { return r4.Reference{Reference: &to, Type: &e.Type} }
	for _, c := range changes {
		e, _ := s.receipt.Of(c.Identity)
		p.Targets = append(p.Targets, reference("urn:uuid:"+c.Identity, e))
		if c.OldVersion != "" {
			p.Replaced = append(p.Replaced, reference(e.Reference()+"/_history/"+c.OldVersion, e))
		}
	}
	text, err := p.Provenance()
	resource := fhirmap.Resource{
		Type: "Provenance", Role: amendmentRole, JSON: text,
		Condition: "recorded=" + a.Recorded, Identity: amendmentIdentity(a.Session, a.Recorded),
	}
	if opts.Provenance == fhirmap.PutProvenance {
		resource.Condition = ""
	}
	return resource, err
}
