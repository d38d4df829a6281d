package deliver

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"strings"

	"runsheet.example/cmd/runsheet/internal/deliver/receipt"
	"runsheet.example/cmd/runsheet/internal/deliver/server"
)

// Options are the person's choices for sending.
type Options struct {
	// Style is the form of sending; empty proposes one from what the server
	// says.
	Style Style
	// MaxEntries is the most entries a Bundle may hold; 0 for a whole session.
	MaxEntries int
	// Patient is the patient's literal reference at the server, such as
	// Patient/123; empty leaves it to the export.
	Patient string
	// Note is told, in words without values, what a person should know; may
	// be nil.
	Note func(string)
	// Progress is called after each session; may be nil.
	Progress func(done, of int)
}

// Sender sends sessions to one server and keeps the receipt true. It sends one
// request at a time.
type Sender struct {
	client   *server.Client
	receipt  *receipt.Receipt
	opts     Options
	rules    rules
	declares bool // the server declares conditional creates
	batches  bool // it declares batches, or transactions: at least one server does both and declares the one
	// singly is what the server refused to do many at once: a session's
	// corrections, searches, or reads.
	singly   struct{ corrections, searches, reads bool }
	targets  bool // it searches a Provenance by target
	proposal Proposal
	// searches is whether the server can be asked; unknown until it was.
	searches  answer
	honoured  bool // If-None-Exist was seen to work, or is not needed
	patientID string
	tally     Tally
	// askedPatient says that the server cannot be asked for the patient.
	askedPatient bool
	// person is the patient the sessions name, and confirmed the reference
	// under which the server was seen to have that patient.
	person    person
	confirmed string
	// undecided are those of a session that stand at the server and refer to
	// what was not found there.
	undecided []standing
	missing   *ErrEmptied // what a sample of the receipt lacks at the server
	dry       bool        // nothing is to be written down
}

type answer uint8

const (
	unknown answer = iota
	yes
	no
)

// Tally counts what became of resources, and the requests that stored them.
type Tally struct {
	Created, Present, Differs, Corrected, Amended, Withdrawn int
	// Outdated were sent before with other content than they have now;
	// Superseded were amended since, to other content than they have here.
	Outdated, Superseded int
	Stores               int
}

// NewSender asks the server what it can do and settles the style. A server
// that does not say gets the chosen style.
func NewSender(ctx context.Context, client *server.Client, r *receipt.Receipt, opts Options) (*Sender, error) {
	if opts.Note == nil {
		opts.Note = func(string) {}
	}
	if opts.Progress == nil {
		opts.Progress = func(int, int) {}
	}
	begun := opts.Style == "" && r.Style != ""
	if begun {
		opts.Style = Style(r.Style)
	}
	s := &Sender{client: client, receipt: r, opts: opts}
	capability, err := client.ReadCapability(ctx)
	var refusal *server.Refusal
	switch {
	case errors.As(err, &refusal) && refusal.Status == http.StatusNotFound && opts.Style != "":
		s.proposal = Proposal{Style: opts.Style, Reason: "chosen by you; the server does not say what it can do"}
	case err != nil:
		return nil, err
	case opts.Style != "":
		s.proposal = opts.Style.check(capability)
		if begun {
			s.proposal.Reason = "as it was begun, by the receipt"
		}
	default:
		s.proposal = Propose(capability)
	}
	s.rules = rules{style: s.proposal.Style, max: opts.MaxEntries}
	s.declares = capability.All(identified, func(t server.TypeCapability) bool { return t.ConditionalCreate })
	s.batches = capability.Batch || capability.Transaction
	s.targets = capability.Types["Provenance"].SearchesTargets
	if opts.Patient != "" {
		r.Patient, r.Named = opts.Patient, true
	}
	return s, nil
}

// Proposal is the style and why.
func (s *Sender) Proposal() Proposal { return s.proposal }

// Tally is what was done so far.
func (s *Sender) Tally() Tally { return s.tally }

// save keeps the receipt.
func (s *Sender) save() error {
	if s.dry {
		return nil
	}
	return s.receipt.Save()
}

// compare counts what was sent with other content than it has now: sending
// leaves it as it is. A Provenance tells what was then.
func (s *Sender) compare(session Session) {
	patient := session.patientIdentity()
	for _, r := range session.Resources {
		e, known := s.receipt.Of(r.Identity)
		if !known || r.Type == "Provenance" || r.shared() || e.SHA256 == Digest(r.JSON, patient) && e.Status != receipt.Withdrawn {
			continue
		}
		switch e.Status {
		case receipt.Corrected, receipt.Amended, receipt.Withdrawn:
			s.tally.Superseded++
		default:
			s.tally.Outdated++
		}
	}
}

// known reports whether the server has a resource, by the receipt.
func (s *Sender) known(identity string) bool {
	e, ok := s.receipt.Of(identity)
	return ok && e.ID != ""
}

// pending are the resources of a session that the receipt does not hold.
func (s *Sender) pending(session Session) []Resource {
	var out []Resource
	for _, r := range session.Resources {
		if !s.known(r.Identity) {
			out = append(out, r)
		}
	}
	return out
}

// errNoPatient is what the person must settle before anything is sent.
var errNoPatient = errors.New("the server has no patient with the log's identifier: ask the clinic which patient it is and give --patient Patient/ID, or, where the clinic wants that, export with --create-patient")

// settlePatient finds the patient's literal reference, so that nothing is sent
// for one the server does not have, and holds the patient there against the
// log. Only a transaction can leave the search to the server, where we cannot
// ask.
func (s *Sender) settlePatient(ctx context.Context, session Session) error {
	if err := s.admit(session); err != nil {
		return err
	}
	s.patientID = session.patientIdentity()
	if s.receipt.Patient == "" && s.patientID == "" {
		if err := s.findReference(ctx, session); err != nil {
			return err
		}
	}
	if err := s.confirmPatient(ctx); err != nil {
		return err
	}
	s.bind()
	return nil
}

// findReference takes the patient's reference from the session: a literal one
// was named at export, else it is a search.
func (s *Sender) findReference(ctx context.Context, session Session) error {
	for _, r := range session.Resources {
		match := toPatient.Find(r.JSON)
		if match == nil {
			continue
		}
		reference := strings.TrimSuffix(strings.TrimPrefix(string(match), `"reference":"`), `"`)
		condition, isSearch := strings.CutPrefix(reference, "Patient?")
		if isSearch {
			return s.searchPatient(ctx, condition)
		}
		s.receipt.Patient, s.receipt.Named = reference, true
		return nil
	}
	return nil
}

func (s *Sender) searchPatient(ctx context.Context, condition string) error {
	if s.askedPatient {
		return nil
	}
	hit, err := s.findPatient(ctx, Resource{Type: "Patient", Condition: condition})
	var refusal *server.Refusal
	switch {
	case s.rules.style == Transaction && (errors.Is(err, errCannotSearch) || errors.As(err, &refusal) && refusal.Status == http.StatusForbidden):
		s.askedPatient = true
		return nil
	case errors.Is(err, errCannotSearch):
		return errors.New("the server cannot be asked for the patient by identifier: give --patient Patient/ID")
	case err != nil:
		return err
	case hit == nil:
		return errNoPatient
	}
	s.receipt.Patient = "Patient/" + hit.ID
	s.confirmed = s.receipt.Patient
	return nil
}

// prepare makes a resource ready for the server: its references as the server
// knows them, the condition, and an id where it is put under ours.
func (s *Sender) prepare(r Resource, inside map[string]bool) (entry, error) {
	content, err := s.content(r.JSON, inside)
	if err != nil {
		return entry{}, err
	}
	e := entry{fullURL: link(r.Identity), resource: content, method: http.MethodPost, url: r.Type, condition: r.Condition}
	if s.ownID(r) {
		e.method, e.url, e.condition = http.MethodPut, r.Type+"/"+r.Identity, ""
		e.resource, err = withID(content, r.Identity)
		return e, err
	}
	if target, ok := s.targetOf(r); ok && r.Type == "Provenance" && (s.targets || r.Role == amendmentRole) {
		recorded, _, _ := strings.Cut(r.Condition, "&")
		e.condition = recorded + "&target=" + url.QueryEscape(target)
	}
	return e, nil
}

// content writes a resource's references as the server knows them.
func (s *Sender) content(resource []byte, inside map[string]bool) ([]byte, error) {
	out, err := resolve(resource, func(identity string) (string, bool) {
		if e, ok := s.receipt.Of(identity); ok {
			return e.Reference(), true
		}
		return link(identity), inside[identity]
	})
	if err != nil {
		return nil, err
	}
	return withPatient(out, s.receipt.Patient), nil
}

// record notes what the server has of a resource and counts it.
func (s *Sender) record(session Session, r Resource, id, version string, status receipt.Status) {
	e := receipt.Entry{
		Identity: r.Identity, Type: r.Type, ID: id, Version: version, Status: status,
		SHA256: Digest(r.JSON, s.patientID), Session: session.Identity, Label: session.Label, Role: r.Role,
	}
	now := factsOf(r)
	e.State, e.Method, e.Result = now.State, now.Method, now.Result
	if r.shared() {
		e.Session, e.Label = "", "" // sessions share them
	}
	switch status {
	case receipt.Created:
		s.tally.Created++
	case receipt.Present:
		s.tally.Present++
	case receipt.Differs:
		e.SHA256, e.State, e.Method, e.Result = "", "", "", ""
		s.tally.Differs++
	case receipt.Corrected:
		s.tally.Corrected++
	case receipt.Amended:
		s.tally.Amended++
	}
	s.receipt.Put(e)
}

// present records a resource that stood at the server before, and whether with
// our content. Where it refers to what is not known to stand there, which a
// search may have missed, that is decided at the end of the session.
func (s *Sender) present(session Session, r Resource, hit *found) {
	status := receipt.Differs
	ours, err := s.content(r.JSON, nil)
	if r.Type == "Patient" || err == nil && contains(hit.JSON, ours) {
		status = receipt.Present
	} else if err != nil {
		s.undecided = append(s.undecided, standing{r, hit})
	}
	s.record(session, r, hit.ID, hit.Version, status)
}

// standing is a resource of ours and what stands at the server of it.
type standing struct {
	ours Resource
	hit  *found
}

// decide compares what [Sender.present] could not: all it refers to is known.
func (s *Sender) decide(session Session) {
	late := s.undecided
	s.undecided = nil
	s.tally.Differs -= len(late)
	for _, one := range late {
		s.present(session, one.ours, one.hit)
	}
}

// ErrIncomplete ends a delivery that did not come to its end; what arrived is
// in the receipt.
type ErrIncomplete struct {
	File string
	Err  error
}

func (e *ErrIncomplete) Error() string {
	return fmt.Sprintf("%s: %v", e.File, e.Err)
}

func (e *ErrIncomplete) Unwrap() error { return e.Err }
