package deliver

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/url"

	"runsheet.example/cmd/runsheet/internal/deliver/receipt"
	"runsheet.example/cmd/runsheet/internal/deliver/server"
	"runsheet.example/fhirmap"
)

// person is the patient's identifier, which every subject of a record has
// beside the reference.
type person struct {
	System string `json:"system"`
	Value  string `json:"value"`
}

// ErrAnotherPerson means that a receipt and a record belong to different
// patients.
var ErrAnotherPerson = errors.New("the receipt is of a patient with another identifier than the log names now: nothing was sent. If the log is another patient's, name another file with --receipt; if the identifier in the log was wrong and is corrected, 'runsheet send --refile' withdraws what was filed under the earlier patient and files it under this one")

// person returns the identifier that all subjects of a session have; the zero
// value if the session has no subject.
func (s Session) person() (person, error) {
	var all person
	for _, r := range s.Resources {
		resource, err := elementsOf(r.JSON)
		if err != nil {
			return all, fmt.Errorf("the %s cannot be read", r.Type)
		}
		now := resource.Subject.Identifier
		if now == (person{}) || now == all {
			continue
		}
		if all != (person{}) {
			return all, fmt.Errorf("session %s holds records of two patients: nothing of it is sent", s.Label)
		}
		all = now
	}
	return all, nil
}

// Person returns the identifier of the patient that all records of an export are
// of. Two patients are an error.
func (f *Folder) Person() (system, value string, err error) {
	var s Sender
	s.receipt = new(receipt.Receipt)
	for i := range f.Files {
		session, err := f.Session(i)
		if err == nil {
			err = s.admit(session)
		}
		if err != nil {
			return "", "", err
		}
	}
	return s.person.System, s.person.Value, nil
}

// UseNumber files the record under the only patient that the server has with a
// number other than the log's.
func (s *Sender) UseNumber(ctx context.Context, system, value string) error {
	hit, err := s.findPatient(ctx, fhirmap.Resource{Condition: "identifier=" + url.QueryEscape(system+"|"+value)})
	switch {
	case err != nil:
		return err
	case hit == nil:
		return errors.New("the server has no patient with the hospital's number")
	}
	reference := "Patient/" + hit.ID
	if err := samePatient(s.receipt, reference, false); err != nil {
		return err
	}
	s.receipt.Patient, s.receipt.Named = reference, true
	return nil
}

// Fits refuses sessions of a patient other than the receipt's. A copied log
// has the log id of the original: only the identifier distinguishes them.
func Fits(r *receipt.Receipt, sessions ...Session) error {
	s := Sender{receipt: r}
	for _, session := range sessions {
		if err := s.admit(session); err != nil {
			return err
		}
	}
	return nil
}

// admit refuses a session of a patient other than the receipt's, or than that
// of earlier sessions.
func (s *Sender) admit(session Session) error {
	now, err := session.person()
	if err != nil || now == (person{}) || now == s.person {
		return err
	}
	if s.person != (person{}) {
		return fmt.Errorf("session %s is of another patient than those before it: nothing of it is sent", session.Label)
	}
	if !s.receipt.Fits(now.System, now.Value) {
		return ErrAnotherPerson
	}
	s.person = now
	return nil
}

// unreadable are the answers of a server that does not let us read patients.
var unreadable = map[int]bool{http.StatusForbidden: true, http.StatusMethodNotAllowed: true, http.StatusNotImplemented: true}

// confirmPatient reads the patient at the server once before the first write.
// The patient must have the identifier of the log: a receipt may be old, a
// patient merged, an id reused after a restore. A patient named by hand may
// lack an identifier of that system but must not have another one.
func (s *Sender) confirmPatient(ctx context.Context) error {
	reference := s.receipt.Patient
	if e, ok := s.receipt.Of(s.patientID); ok && reference == "" {
		reference = e.Reference()
	}
	if s.person == (person{}) || reference == "" || reference == s.confirmed {
		return nil
	}
	reply, err := s.client.Do(ctx, server.Request{Method: http.MethodGet, Path: reference})
	var refusal *server.Refusal
	switch {
	case errors.As(err, &refusal) && unreadable[refusal.Status]:
		s.opts.Note("the server does not let the patient be read: that the record goes to the right one is by the receipt and the identifier alone")
		s.confirmed = reference
		return nil
	case errors.As(err, &refusal) && gone[refusal.Status]:
		return fmt.Errorf("the server has no %s (any more): nothing was sent. Ask the clinic which patient it is, and give --patient Patient/ID --other-options", reference)
	case err != nil:
		return err
	}
	there, err := parseRead(reply.Body, "Patient")
	if err != nil {
		return err
	}
	if err := s.samePerson(there, reference); err != nil {
		return err
	}
	s.confirmed = reference
	return nil
}

func (s *Sender) samePerson(there *found, reference string) error {
	if there.has(s.person.System, s.person.Value) {
		return nil
	}
	for _, i := range there.Identifier {
		if i.System == s.person.System {
			return fmt.Errorf("%s has another identifier at the server than the log names: nothing was sent. Look at identifier_value in the log, and ask the clinic which patient it is", reference)
		}
	}
	if !s.receipt.Named {
		return fmt.Errorf("%s no longer has the identifier the log names: nothing was sent. Ask the clinic which patient it is, and give --patient Patient/ID --other-options", reference)
	}
	s.opts.Note(reference + ", named by hand, has no identifier of the log's system at the server: that it is the right patient is not checked")
	return nil
}

// bind assigns the receipt to the patient, before the first write.
func (s *Sender) bind() {
	if !s.dry && s.receipt.Person == "" && s.person != (person{}) {
		s.receipt.Bind(s.person.System, s.person.Value)
	}
}
