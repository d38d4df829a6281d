package hl7v2

import (
	"crypto/sha256"
	"fmt"
	"io"
	"strings"
)

// medicineCodes are the codes of the parts of a medicine.
var medicineCodes = map[string]string{
	"medicine":       "medicine^Medicine given^L",
	"medicine-dose":  "medicine-dose^Dose of the medicine^L",
	"medicine-rate":  "medicine-rate^Rate of the infusion^L",
	"medicine-route": "medicine-route^Route of the medicine^L",
	"medicine-end":   "medicine-end^End of the infusion^L",
}

// medicine writes an administration. A medicine given at an unknown time of the
// session has its period, which is not the end of an infusion.
func (w *writer) medicine(r *resource) {
	part := func(name string, o obx) {
		o.code = medicineCodes[name]
		w.write(r, o)
	}
	part("medicine", obx{kind: "CWE", text: r.Medication.value()})
	if r.Status == "unknown" {
		w.note("It is not written down whether it was given.")
	}
	start, end := r.when()
	if end != "" && start == w.start && end == w.end {
		w.note(start + " to " + end)
		end = ""
	}
	for _, n := range r.Note {
		w.note(n.Text)
	}
	if r.Dosage.Dose != nil {
		part("medicine-dose", r.Dosage.Dose.obx(""))
	}
	if r.Dosage.RateQuantity != nil {
		part("medicine-rate", r.Dosage.RateQuantity.obx(""))
	}
	if r.Dosage.Route != nil {
		part("medicine-route", obx{kind: "CWE", text: r.Dosage.Route.value()})
	}
	if end != "" {
		part("medicine-end", obx{kind: "TS", text: timestamp(end)})
	}
}

// report writes the page of a report.
func (w *writer) report(r *resource) {
	for _, form := range r.PresentedForm {
		if form.ContentType == "application/pdf" {
			w.write(r, obx{code: r.Code.coded("", r.Code.Text), kind: "ED", text: "^application^PDF^Base64^" + form.Data})
		}
	}
}

// Batch is a file of messages: BHS, the messages, BTS.
type Batch struct {
	last, ids string
	count     int
}

// Add counts a message.
func (b *Batch) Add(m Message) {
	b.count++
	b.ids += m.ID
	b.last = max(b.last, m.At)
}

// Write writes the batch around the text of its messages. BHS-7 is the latest
// of their times; BHS-11 is made from their ids, like MSH-10.
func (b *Batch) Write(to io.Writer, log Log, messages func(io.Writer) error) error {
	head := header("BHS", log, b.last) + strings.Repeat("|", 4) + idOf(sha256.Sum256([]byte(b.ids)))
	if _, err := io.WriteString(to, head+"\r"); err != nil {
		return err
	}
	if err := messages(to); err != nil {
		return err
	}
	_, err := fmt.Fprintf(to, "BTS|%d\r", b.count)
	return err
}
