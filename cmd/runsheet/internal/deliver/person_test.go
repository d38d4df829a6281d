package deliver

import (
	"errors"
	"os"
	"strings"
	"testing"
	"time"

	"runsheet.example/cmd/runsheet/internal/deliver/receipt"
	"runsheet.example/fhirmap"
	"runsheet.example/testdata/oracle/servertest"
)

var monthsLater = time.Date(2025, 12, 1, 9, 0, 0, 0, time.UTC)

const patientSystem = "urn:oid:2.25.331383638406541845489215601853980652438"

// renamed is the small log with another patient's identifier: the log's own
// corrected, or a copied folder.
func renamed(t *testing.T) string {
	return edited(t, smallLog, "log.toml", "HHD-00007", "HHD-00008")
}

// patients are two at the server: the one of the small log, and the other.
func patients() []map[string]any {
	other := servertest.Patient(patientSystem, "HHD-00008")
	other["id"] = "other"
	return []map[string]any{smallPatient, other}
}

// A receipt is of one patient: nothing of another's goes where the first one's
// went, in any style, sent, amended or verified. The identifier itself does not
// stand in the receipt.
func TestReceiptIsOfOnePatient(t *testing.T) {
	s := servertest.Start(t)
	wrong := mapped(t, renamed(t), fhirmap.Options{})
	for _, style := range []Style{Transaction, Batch, Single, Put} {
		s.Reset(t, nil, patients()...)
		d := newDelivery(t, s, style)
		d.mustSend(mapped(t, smallLog, fhirmap.Options{}))
		text, err := os.ReadFile(d.receipt)
		must(t, err)
		if strings.Contains(string(text), "HHD-00007") || d.open().Person == "" {
			t.Errorf("%s: the receipt has the identifier, or no digest of it", style)
		}
		before := len(holdings(t, s))
		s.Faults(t)
		if err := d.send(wrong); !errors.Is(err, ErrAnotherPerson) {
			t.Errorf("%s: sent: %v", style, err)
		}
		if _, err := d.amend(wrong, ""); !errors.Is(err, ErrAnotherPerson) {
			t.Errorf("%s: amended: %v", style, err)
		}
		path := exportedFrom(t, renamed(t), fhirmap.Options{})
		sender, err := d.sender(t.Context(), d.open())
		must(t, err)
		if _, err := sender.Verify(t.Context(), mustFolder(t, path), nil); !errors.Is(err, ErrAnotherPerson) {
			t.Errorf("%s: verified: %v", style, err)
		}
		if n := writes(s.State(t)); n != 0 || len(holdings(t, s)) != before {
			t.Errorf("%s: %d writes", style, n)
		}
	}
}

// The patient at the server is read before anything is written: who has
// another identifier by now, or none, or is gone, gets nothing. A receipt of
// the first programs does not say whose it is, so only this tells.
func TestPatientAtTheServerIsConfirmed(t *testing.T) {
	s := servertest.Start(t)
	sessions := mapped(t, smallLog, fhirmap.Options{})
	none := map[string]any{"resourceType": "Patient", "id": "known"}
	for name, c := range map[string]struct {
		patient, words string
		now            map[string]any
	}{
		"another identifier":                {now: servertest.Patient(patientSystem, "HHD-00009"), words: "has another identifier"},
		"another identifier, named by hand": {now: servertest.Patient(patientSystem, "HHD-00009"), patient: "Patient/known", words: "has another identifier"},
		"no identifier":                     {now: none, words: "no longer has the identifier"},
		"no identifier, named by hand":      {now: none, patient: "Patient/known"},
		"gone":                              {words: "has no Patient/known"},
	} {
		for _, later := range []string{"send", "amend"} {
			s.Reset(t, nil, smallPatient)
			d := newDelivery(t, s, Transaction)
			d.patient = c.patient
			d.mustSend(sessions[:2])
			r := d.open()
			r.Person = "" // as the first programs left it
			must(t, r.Save())
			if c.now == nil {
				s.Delete(t, "Patient/known")
			} else {
				s.Edit(t, c.now)
			}
			s.Faults(t)
			var err error
			if later == "send" {
				err = d.send(sessions)
			} else {
				_, err = d.amend(weightCorrected(t), "")
			}
			if c.words == "" && err != nil || c.words != "" && (err == nil || !strings.Contains(err.Error(), c.words)) {
				t.Errorf("%s, %s: %v", name, later, err)
			}
			if n := writes(s.State(t)); c.words != "" && n != 0 {
				t.Errorf("%s, %s: %d writes", name, later, n)
			}
		}
	}
}

// What was filed under the wrong patient is withdrawn there, with the devices,
// and a Provenance of each session that names neither patient as its author;
// then the record is filed under the right one.
func TestRefile(t *testing.T) {
	s := servertest.Start(t)
	wrong, right := mapped(t, smallLog, fhirmap.Options{}), mapped(t, renamed(t), fhirmap.Options{})
	for _, style := range []Style{Transaction, Single} {
		s.Reset(t, nil, patients()...)
		d := newDelivery(t, s, style)
		d.mustSend(wrong)
		r := d.open()
		sender, err := d.sender(t.Context(), r)
		must(t, err)
		opts := AmendOptions{Reason: "misfiled", Refile: true, Now: monthsLater, Software: softwareOf(right)}
		must(t, sender.Amend(t.Context(), RefilePlan(r, opts), opts))
		r.Person, r.Patient = "", ""
		must(t, r.Save())
		d.mustSend(right)
		told := 0
		for _, h := range holdings(t, s) {
			text := string(h.raw)
			switch {
			case strings.Contains(text, `"UPDATE"`):
				told++
				if strings.Contains(text, "Patient/") || !strings.Contains(text, "misfiled") {
					t.Errorf("%s: the Provenance says %s", style, text)
				}
			case h.ResourceType == "Patient" || h.ResourceType == "Provenance":
			case strings.Contains(text, "Patient/known") && h.Status != string(receipt.Withdrawn):
				t.Errorf("%s: still filed under the wrong patient: %s", style, text)
			case strings.Contains(text, "Patient/other") && h.Status == string(receipt.Withdrawn):
				t.Errorf("%s: withdrawn under the right patient: %s", style, text)
			}
		}
		if told != len(wrong) {
			t.Errorf("%s: %d Provenances tell of it, want %d", style, told, len(wrong))
		}
		if plan := MakePlan(d.open(), right, nil, AmendOptions{}); !plan.Empty() {
			t.Errorf("%s: left to do: %+v", style, plan.Counts())
		}
		d.valid()
	}
}
