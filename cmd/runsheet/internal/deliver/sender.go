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
	"runsheet.example/fhirmap"
)

// Options are the person's choices for sending.
type Options struct {
	// Style is the style of sending; empty selects one from the server's
	// capabilities.
	Style Style
	// MaxEntries limits the entries of a Bundle; 0 for a whole session.
	MaxEntries int
	// Patient is the patient's literal reference at the server, such as
	// Patient/123; empty uses that of the export.
	Patient string
	// Note receives messages for the person, in words without values; may be
	// nil.
	Note func(string)
	// Progress is called after each session; may be nil.
	Progress func(done, of int)
}

// Sender sends sessions to one server and updates the receipt. It sends one
// request at a time.
type Sender struct {
	client   *server.Client
	receipt  *receipt.Receipt
	opts     Options
	rules    rules
	declares bool // the server declares conditional creates
	batches  bool // it declares batches or transactions: at least one server supports both and declares one
	// singly records what the server refused to do in one request: a session's
	// corrections, searches, or reads.
	singly   struct{ corrections, searches, reads bool }
	targets  bool // it can search a Provenance by target
	proposal Proposal
	// searches is whether the server can be searched; unknown until tried.
	searches  answer
	honoured  bool // If-None-Exist is tested or not needed
	patientID string
	tally     Tally
	// askedPatient reports that the server cannot be asked for the patient.
	askedPatient bool
	// person is the patient of the sessions; confirmed is the reference under
	// which the server has that patient.
	person    person
	confirmed string
	// undecided are the resources of a session that exist at the server and
	// refer to others not found there.
	undecided []standing
	notKept   []receipt.NotKept // in this run
	gone      map[string]bool   // of those, the identities of which the server kept nothing
	missing   *ErrEmptied       // resources of a sample of the receipt missing at the server
	dry       bool              // write nothing
}

type answer uint8

const (
	unknown answer = iota
	yes
	no
)

// Tally counts the results for resources, and the requests that stored them.
type Tally struct {
	Created, Present, Differs, Corrected, Amended, Withdrawn int
	// Outdated were sent earlier with different content; Superseded were
	// amended since, to different content.
	Outdated, Superseded int
	// NotKept were refused by the server, or kept in part.
	NotKept int
	Stores  int
}

// NewSender reads the server's capabilities and selects the style. A server
// without a capability statement gets the chosen style.
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

// Proposal returns the style and the reason for it.
func (s *Sender) Proposal() Proposal { return s.proposal }

// Tally returns the counts so far.
func (s *Sender) Tally() Tally { return s.tally }

// save keeps the receipt.
func (s *Sender) save() error {
	if s.dry {
		return nil
	}
	return s.receipt.Save()
}

// compare counts resources sent earlier with different content, which sending
// does not change. A Provenance describes an earlier event.
func (s *Sender) compare(session Session) {
	patient := session.patientIdentity()
	for _, r := range session.Resources {
		e, known := s.receipt.Of(r.Identity)
		if !known || r.Type == "Provenance" || r.Shared() || e.SHA256 == Digest(r.JSON, patient) && e.Status != receipt.Withdrawn {
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

// known reports whether the server has a resource, according to the receipt.
func (s *Sender) known(identity string) bool {
	e, ok := s.receipt.Of(identity)
	return ok && e.ID != ""
}

// pending are the resources of a session that are not in the receipt.
func (s *Sender) pending(session Session) []fhirmap.Resource {
	var out []fhirmap.Resource
	for _, r := range session.Resources {
		if !s.known(r.Identity) {
			out = append(out, r)
		}
	}
	return out
}

// errNoPatient reports what the person must decide before anything is sent.
var errNoPatient = errors.New("the server has no patient with the log's identifier: ask the clinic which patient it is and give --patient Patient/ID, or, where the clinic wants that, export with --create-patient")

// settlePatient finds the patient's literal reference, so that nothing is sent
// for a patient that the server lacks, and compares the patient there with the
// log. Only a transaction can leave the search to a server that we cannot
// search.
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

// findReference reads the patient's reference from the session: a literal one
// given at export, otherwise a search.
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
	hit, err := s.findPatient(ctx, fhirmap.Resource{Type: "Patient", Condition: condition})
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

// prepare makes a resource ready for the server: it resolves references, sets
// the condition, and sets an id if the resource is put under ours.
func (s *Sender) prepare(r fhirmap.Resource, inside map[string]bool) (entry, error) {
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

// content resolves a resource's references.
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

// record stores the server's answer for a resource and counts it.
func (s *Sender) record(session Session, r fhirmap.Resource, id, version string, status receipt.Status) {
	e := entryOf(session, r, id, version, status, s.patientID)
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

// entryOf is the entry of a resource in a receipt.
func entryOf(session Session, r fhirmap.Resource, id, version string, status receipt.Status, patient string) receipt.Entry {
	now := factsOf(r)
	e := receipt.Entry{
		Identity: r.Identity, Type: r.Type, ID: id, Version: version, Status: status,
		SHA256: Digest(r.JSON, patient), Session: session.Identity, Label: session.Label, Role: r.Role,
		State: now.State, Method: now.Method, Result: now.Result,
	}
	if r.Shared() {
		e.Session, e.Label = "", "" // sessions share them
	}
	return e
}

// present records a resource that already existed at the server, and whether
// it has our content. If it refers to a resource not known to exist, which a
// search may have missed, this is decided at the end of the session.
func (s *Sender) present(session Session, r fhirmap.Resource, hit *found) {
	status := receipt.Differs
	ours, err := s.content(r.JSON, nil)
	if r.Type == "Patient" || err == nil && contains(hit.raw, ours) {
		status = receipt.Present
	} else if err != nil {
		s.undecided = append(s.undecided, standing{r, hit})
	}
	s.record(session, r, hit.ID, hit.version(), status)
}

// standing is one of our resources with the version at the server.
type standing struct {
	ours fhirmap.Resource
	hit  *found
}

// decide compares what [Sender.present] could not, now that all references are
// known.
func (s *Sender) decide(session Session) {
	late := s.undecided
	s.undecided = nil
	s.tally.Differs -= len(late)
	for _, one := range late {
		s.present(session, one.ours, one.hit)
	}
}

// ErrIncomplete ends a delivery before its end; the receipt has what arrived.
type ErrIncomplete struct {
	File string
	Err  error
}

func (e *ErrIncomplete) Error() string {
	return fmt.Sprintf("%s: %v", e.File, e.Err)
}

func (e *ErrIncomplete) Unwrap() error { return e.Err }
