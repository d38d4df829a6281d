package deliver

import (
	"fmt"
	"strconv"

	"runsheet.example/cmd/runsheet/internal/deliver/receipt"
	"runsheet.example/fhirmap"
	"runsheet.example/fhirmap/hl7v2"
)

// AsMessages is the server in the receipt of HL7 v2 messages. An interface
// engine transmits them, so the receipt says what was written, not what
// arrived.
const AsMessages = "hl7v2"

// FirstMessages collects the entries of the first messages about records.
type FirstMessages struct {
	receipt *receipt.Receipt
	entries []receipt.Entry
}

// NewFirstMessages begins to collect entries for a receipt.
func NewFirstMessages(r *receipt.Receipt) *FirstMessages { return &FirstMessages{receipt: r} }

// Begin discards the entries so far.
func (f *FirstMessages) Begin() { f.entries = nil }

// Keep adds the entries of a record. It refuses a record with a message of
// other content, which needs a correction: a receiver of two final messages
// cannot tell which is right.
func (f *FirstMessages) Keep(record fhirmap.SessionRecord, m hl7v2.Message) error {
	s, err := asSession(record)
	if err != nil {
		return err
	}
	there := entriesAbout(f.receipt, s.Identity)
	p, _ := planSession(f.receipt, s, there, map[string]bool{})
	switch number := nextNumber(there); {
	case number == 1:
		f.entries = append(f.entries, p.message(m, number)...)
	case number > 2 || len(p.New)+len(p.Correct)+len(p.Withdraw) > 0:
		return fmt.Errorf("%s was written as a message before, with other content: write a correction with 'runsheet amend LOG --as hl7v2 --receipts FILE -o OUT', or delete the receipt if nobody has taken those messages", s.Label)
	}
	return nil
}

// Save writes the entries into the receipt.
func (f *FirstMessages) Save() error {
	for _, e := range f.entries {
		f.receipt.Put(e)
	}
	return f.receipt.Save()
}

// Message is a message about a record that changed.
type Message struct {
	hl7v2.Message
	Identity, Label string
	entries         []receipt.Entry
}

// Messages are the messages of a plan. [Written] notes them in the receipt.
func Messages(plan Plan, r *receipt.Receipt, log hl7v2.Log, opts AmendOptions) ([]Message, error) {
	var out []Message
	for _, p := range plan.Sessions {
		there := entriesAbout(r, p.Session.Identity)
		record := hl7v2.Record{Identity: p.Session.Identity, Resources: p.Session.Resources}
		number := nextNumber(there)
		if number > 1 {
			record.Later = p.later(there)
			record.Later.Number, record.Later.At, record.Later.Reason = number, opts.Now, opts.Reason
		}
		m, err := hl7v2.New(log, record)
		if err != nil {
			return nil, err
		}
		out = append(out, Message{m, record.Identity, p.Label, p.message(m, number)})
	}
	return out, nil
}

// Written notes messages in the receipt.
func Written(r *receipt.Receipt, messages []Message) error {
	for _, m := range messages {
		for _, e := range m.entries {
			r.Put(e)
		}
	}
	return r.Save()
}

func entriesAbout(r *receipt.Receipt, session string) []receipt.Entry {
	var out []receipt.Entry
	for _, e := range r.All() {
		if e.Session == session {
			out = append(out, e)
		}
	}
	return out
}

// nextNumber is the number of the next message about a session, from 1. The
// version of an entry is the number of the message that last changed it.
func nextNumber(there []receipt.Entry) int {
	last := 0
	for _, e := range there {
		number, _ := strconv.Atoi(e.Version)
		last = max(last, number)
	}
	return last + 1
}

// later is the difference to the message before.
func (p SessionPlan) later(there []receipt.Entry) *hl7v2.Later {
	out := &hl7v2.Later{Corrected: map[string]bool{}}
	for _, e := range there {
		if e.Status != receipt.Withdrawn {
			out.Before = append(out.Before, hl7v2.Keyed{Identity: e.Identity, Keys: e.Keys})
		}
		out.Corrected[e.Identity] = e.Status == receipt.Corrected || e.Status == receipt.Amended
	}
	for _, c := range p.Correct {
		out.Corrected[c.Identity] = !c.Completes
	}
	return out
}

// message returns the entries that a message changes.
func (p SessionPlan) message(m hl7v2.Message, number int) []receipt.Entry {
	var out []receipt.Entry
	patient, version := p.Session.patientIdentity(), strconv.Itoa(number)
	put := func(r fhirmap.Resource, status receipt.Status) {
		e := entryOf(p.Session, r, r.Identity, version, status, patient)
		e.Keys = m.Keys[r.Identity]
		out = append(out, e)
	}
	for _, r := range p.New {
		put(r, receipt.Created)
	}
	for _, c := range p.Correct {
		put(c.Resource, c.Kind)
	}
	for _, e := range p.Withdraw {
		e.Version, e.Status = version, receipt.Withdrawn
		out = append(out, e)
	}
	return out
}
