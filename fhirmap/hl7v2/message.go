package hl7v2

import (
	"bytes"
	"cmp"
	"crypto/sha256"
	"encoding/base32"
	"fmt"
	"strconv"
	"strings"
	"time"

	"runsheet.example/fhirmap"
)

// Log is what all messages about a log have in common.
type Log struct {
	// ID is the UUID of the log.
	ID string
	// System and Value are the patient's identifier.
	System, Value string
}

// Record is what a message is about.
type Record struct {
	// Identity is that of the resource that heads the record: a Procedure, the
	// Observation that groups the weeks, or a DiagnosticReport.
	Identity string
	// Resources are those of the record; none if it was withdrawn.
	Resources []fhirmap.Resource
	// Later is nil for the first message about the record.
	Later *Later
}

// Later is what a later message about a record differs by.
type Later struct {
	// Number is the number of the message about the record, from 2.
	Number int
	At     time.Time
	Reason string
	// Corrected are the identities of the resources that are later versions of
	// a final one.
	Corrected map[string]bool
	// Before are the keys of the message before, by the identity of the
	// resource, see [Message.Keys].
	Before []Keyed
}

// Keyed are the keys of a resource.
type Keyed struct {
	Identity string
	Keys     []string
}

// Message is one message.
type Message struct {
	ID   string // MSH-10
	At   string // MSH-7
	Text []byte
	// Keys are what distinguishes the segments of a resource, by its identity:
	// OBX-3 without text, a bar, OBX-4. The only key of a Procedure is OBR-4.
	Keys map[string][]string
}

// writer writes the segments of a message from PID on.
type writer struct {
	Record
	devices    map[string]device // by reference
	start, end string            // of the record
	obx, nte   int               // numbers of the segments
	keys       map[string][]string
	body       bytes.Buffer // the segments after OBR
}

// New writes the message about a record.
func New(log Log, record Record) (Message, error) {
	w := writer{Record: record, devices: map[string]device{}, keys: map[string][]string{}}
	var resources []resource
	var head *resource
	for _, r := range record.Resources {
		parsed, err := parse(r)
		if err != nil {
			return Message{}, err
		}
		resources = append(resources, parsed)
	}
	at := ""
	for i := range resources {
		r := &resources[i]
		switch {
		case r.Identity == record.Identity:
			head = r
			w.start, w.end = r.when()
		case r.Type == "Device":
			w.device(r)
		}
		at = cmp.Or(r.Recorded, at, r.Issued) // the Provenance is the last
	}
	switch {
	case head == nil && (len(resources) > 0 || record.Later == nil):
		return Message{}, fmt.Errorf("the record %s has no resource that heads it", record.Identity)
	case record.Later != nil:
		at = record.Later.At.UTC().Format(time.RFC3339)
	}
	at = timestamp(cmp.Or(at, w.end, w.start))
	w.record(head, resources)
	return w.message(log, head, at)
}

// record writes the segments after OBR.
func (w *writer) record(head *resource, resources []resource) {
	if head != nil && head.Type == "Procedure" {
		w.procedure(head)
	}
	if w.Later != nil && w.Later.Reason != "" {
		w.note("Reason of the correction: " + w.Later.Reason)
	}
	for i := range resources {
		switch r := &resources[i]; r.Type {
		case "Observation":
			w.observation(r)
		case "MedicationAdministration":
			w.medicine(r)
		case "DiagnosticReport":
			w.report(r)
		}
	}
	w.withdrawn()
}

// message puts the header, PID and OBR before the rest.
func (w *writer) message(log Log, head *resource, at string) (Message, error) {
	number, order := 1, "" // OBR-4
	if head != nil {
		order = head.Code.coded("", head.Code.Text)
	}
	if w.Later != nil {
		number = w.Later.Number
		for _, b := range w.Later.Before {
			if head == nil && b.Identity == w.Identity && len(b.Keys) > 0 {
				order, _, _ = strings.Cut(b.Keys[0], "|")
			}
		}
	}
	if order == "" {
		return Message{}, fmt.Errorf("the code of the record %s is not known any more", w.Identity)
	}
	if head != nil && w.keys[w.Identity] == nil {
		w.keys[w.Identity] = []string{identified(order)}
	}
	pid := segment("PID", "1", "", escape(log.Value)+"^^^"+authority(log.System, "&"), "", "^^^^^^U")
	segments := func(at string) string {
		return pid + "\r" + w.order(head, order, at) + "\r" + w.body.String()
	}
	sum := sha256.Sum256([]byte(w.Identity + "\x1f" + strconv.Itoa(number) + "\x1f" + segments("")))
	id := idOf(sum)
	header := header("MSH", log, at) + segment("", "", "ORU^R01^ORU_R01", id, "P", "2.5.1", "", "", "", "", "", "UNICODE UTF-8")
	return Message{ID: id, At: at, Text: []byte(header + "\r" + segments(at)), Keys: w.keys}, nil
}

// idOf is an identifier of 20 characters.
func idOf(sum [sha256.Size]byte) string { return base32.StdEncoding.EncodeToString(sum[:])[:20] }

// header begins MSH or BHS, up to the seventh field.
func header(name string, log Log, at string) string {
	return name + delimiters + segment("", "RUNSHEET", "^"+escape(log.ID)+"^UUID", "", "", at)
}

// order is OBR.
func (w *writer) order(head *resource, code, at string) string {
	fields := make([]string, 30)
	fields[0], fields[1], fields[4] = "OBR", "1", code
	fields[3] = w.Identity + "^" + authority("urn:uuid:"+w.Identity, "^")
	fields[7], fields[8] = timestamp(w.start), timestamp(w.end)
	fields[22], fields[25] = at, w.status(head)
	if head != nil && len(head.BasedOn) > 0 {
		order := head.BasedOn[0].Identifier
		fields[29] = escape(order.Value) + "&" + authority(order.System, "&")
	}
	return segment(fields...)
}

// status is OBR-25.
func (w *writer) status(head *resource) string {
	switch {
	case head == nil || head.Status == "not-done":
		return "X"
	case w.Later != nil:
		return "C"
	case head.Status == "preliminary":
		return "P"
	default:
		return "F"
	}
}

// procedure writes what a session says beside its values.
func (w *writer) procedure(r *resource) {
	for _, n := range r.Note {
		w.note(n.Text)
	}
	w.say("Reason: ", r.StatusReason.words())
	for _, p := range r.Performer {
		w.say("", p.Function.words())
	}
	for _, site := range r.BodySite {
		w.say("Access: ", site.words())
	}
	for _, used := range r.UsedCode {
		w.say("", used.words())
	}
	for _, used := range r.UsedReference {
		w.say("Used: ", cmp.Or(used.Display, w.devices[used.Reference].name))
	}
	if len(r.BasedOn) > 0 {
		w.say("", r.BasedOn[0].Display)
	}
}

// note writes an NTE about the segment before.
func (w *writer) note(text string) {
	w.nte++
	w.body.WriteString(segment("NTE", strconv.Itoa(w.nte), "", escape(text)) + "\r")
}

// say writes a note with a text, if there is one.
func (w *writer) say(what, text string) {
	if text != "" {
		w.note(what + text)
	}
}
