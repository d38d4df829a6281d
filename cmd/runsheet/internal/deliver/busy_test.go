package deliver

import (
	"fmt"
	"os"
	"testing"

	"runsheet.example/fhirmap"
	"runsheet.example/testdata/oracle/servertest"
	"runsheet.example/validate/manifest"
)

// busy lets a server refuse one entry of a Bundle and do the rest, so often.
func busy(kind Style, entry, status, times int) servertest.Switches {
	return servertest.Switches{"busy": map[string]any{"type": kind, "entry": entry, "status": status, "times": times}}
}

// An entry that a server refuses because it is busy is asked for again, like a
// single request: when what it has is looked for, read, and written.
func TestBusyEntries(t *testing.T) {
	s := servertest.Start(t)
	sessions := mapped(t, smallLog, fhirmap.Options{})
	path := exportedFrom(t, smallLog, fhirmap.Options{})
	for _, status := range []int{429, 500, 503} {
		t.Run(fmt.Sprint(status), func(t *testing.T) {
			s.Reset(t, nil, smallPatient)
			d := newDelivery(t, s, Transaction)
			d.mustSend(sessions)

			must(t, os.Remove(d.receipt))
			s.Switch(t, busy(Batch, 1, status, 1))
			s.Faults(t)
			d.mustSend(sessions)
			if n := writes(s.State(t)); n != 0 || d.tally.Created != 0 || d.tally.Differs != 0 {
				t.Errorf("searches: %d writes, %+v", n, d.tally)
			}

			s.Switch(t, busy(Batch, 1, status, 1))
			if drifted, _ := d.verified(path); drifted != nil {
				t.Errorf("reads: %v", drifted)
			}

			s.Reset(t, busy(Batch, 1, status, 12), smallPatient)
			d = newDelivery(t, s, Batch)
			d.mustSend(sessions)
			d.same(sessions)
		})
	}
}

// A busy entry does not hide that the server lost a resource.
func TestBusyEntryAndLostResource(t *testing.T) {
	s := servertest.Start(t)
	path := exportedFrom(t, smallLog, fhirmap.Options{})
	sessions := mapped(t, smallLog, fhirmap.Options{})
	s.Reset(t, nil, smallPatient)
	d := newDelivery(t, s, Transaction)
	d.mustSend(sessions)
	e, _ := d.open().Of(sessions[0].Identity)
	s.Delete(t, e.Reference())
	s.Switch(t, busy(Batch, 1, 503, 1))
	sender, err := d.sender(t.Context(), d.open())
	must(t, err)
	if err := sender.Folder(t.Context(), mustFolder(t, path)); err == nil {
		t.Error("sent, it is said")
	}
}

// A busy entry is no proof that a server ignores conditions.
func TestBusyWhileConditionIsTried(t *testing.T) {
	s := servertest.Start(t)
	sessions := mapped(t, smallLog, fhirmap.Options{Options: manifest.Options{CreatePatient: true}})
	switches := busy(Batch, 0, 503, 1)
	switches["search"] = false
	s.Reset(t, switches)
	d := newDelivery(t, s, Transaction)
	d.mustSend(sessions)
	d.same(sessions)
}

// A server that does a transaction in part does not get the rest recorded as
// done.
func TestBusyEntryOfCorrections(t *testing.T) {
	s := servertest.Start(t)
	before := mapped(t, smallLog, fhirmap.Options{})
	changed := mapped(t, edited(t, smallLog, "sessions.csv", "63.40,142", "63.50,144"), fhirmap.Options{})
	for _, status := range []int{412, 429, 503} {
		for entry := range 2 {
			s.Reset(t, nil, smallPatient)
			d := newDelivery(t, s, Transaction)
			d.mustSend(before)
			s.Switch(t, busy(Transaction, entry, status, 1))
			if _, err := d.amend(changed, ""); err != nil {
				t.Errorf("%d at %d: %v", status, entry, err)
			}
			d.same(changed, "Provenance ")
		}
	}
}
