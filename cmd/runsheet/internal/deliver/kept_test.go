package deliver

import (
	"slices"
	"strings"
	"testing"

	"runsheet.example/cmd/runsheet/internal/deliver/receipt"
	"runsheet.example/fhirmap"
	"runsheet.example/testdata/oracle/servertest"
)

// refusing is a server that has no place for some resources.
func refusing(match string, status int) servertest.Switches {
	return servertest.Switches{"refuse": map[string]any{"match": match, "status": status}}
}

const medicine = `"resourceType":"MedicationAdministration"`

// What a receiver refuses is named, the rest is kept, and the next run sends
// only what is missing.
func TestReceiverKeepsPart(t *testing.T) {
	s := servertest.Start(t)
	sessions := mapped(t, smallLog, fhirmap.Options{})
	wanted, all := 0, 0
	for _, session := range sessions {
		for _, r := range session.Resources {
			all++
			if r.Type == "MedicationAdministration" {
				wanted++
			}
		}
	}
	for _, style := range []Style{Batch, Single, Put} {
		t.Run(string(style), func(t *testing.T) {
			s.Reset(t, refusing(medicine, 422), smallPatient)
			d := newDelivery(t, s, style)
			d.mustSend(sessions)
			notKept := d.open().NotKept
			if len(notKept) != wanted || wanted == 0 || d.tally.NotKept != wanted {
				t.Fatalf("%d not kept, want %d: %+v", len(notKept), wanted, notKept)
			}
			for _, n := range notKept {
				if n.Type != "MedicationAdministration" || n.Label == "" || n.Why != "422 processing" || n.Part {
					t.Errorf("%+v", n)
				}
			}
			first := s.State(t)
			for _, raw := range first.Resources {
				if strings.Contains(string(raw), `"reference":"urn:`) {
					t.Errorf("leads nowhere: %s", raw)
				}
			}
			d.mustSend(sessions) // offered again, and refused again
			if n := len(d.open().NotKept); n != wanted || d.tally.Created != 0 {
				t.Errorf("%d not kept, %+v", n, d.tally)
			}
			s.Switch(t, servertest.Switches{"refuse": nil})
			d.mustSend(sessions)
			if n := d.tally; n.Created != wanted || n.NotKept != 0 || len(d.open().NotKept) != 0 {
				t.Errorf("then: %+v, %+v", n, d.open().NotKept)
			}
			d.same(sessions)
		})
	}
}

// What refers to something that was not kept is not sent either, and is named;
// other sessions are.
func TestReceiverRefusesASession(t *testing.T) {
	s := servertest.Start(t)
	sessions := mapped(t, smallLog, fhirmap.Options{})
	refused := sessions[1]
	for _, status := range []int{403, 404, 422} {
		s.Reset(t, refusing(`"resourceType":"Procedure"`, status), smallPatient)
		s.Switch(t, refusing("urn:uuid:"+refused.Identity, status))
		d := newDelivery(t, s, Batch)
		d.mustSend(sessions)
		var missing []string
		for _, n := range d.open().NotKept {
			missing = append(missing, n.Identity)
		}
		for _, session := range sessions {
			for _, r := range session.Resources {
				_, there := d.open().Of(r.Identity)
				if named := slices.Contains(missing, r.Identity); named == there || named != (session.Identity == refused.Identity && r.Type != "Device") {
					t.Errorf("%d: %s %s %s: in the receipt %t, not kept %t", status, session.Label, r.Type, r.Role, there, named)
				}
			}
		}
	}
}

// A server that accepts a resource with a warning is read back: what it kept in
// part is named with the elements.
func TestReceiverKeepsElements(t *testing.T) {
	s := servertest.Start(t)
	sessions := mapped(t, smallLog, fhirmap.Options{})
	s.Reset(t, servertest.Switches{"warn": true, "mangle": map[string]any{"drop": []string{"method"}}}, smallPatient)
	d := newDelivery(t, s, Batch)
	d.mustSend(sessions)
	notKept := d.open().NotKept
	if len(notKept) == 0 || d.tally.NotKept != len(notKept) {
		t.Fatalf("%+v", d.tally)
	}
	for _, n := range notKept {
		if !n.Part || n.Why != "201 not-supported; other or missing there: method" {
			t.Errorf("%+v", n)
		}
		if e, ok := d.open().Of(n.Identity); !ok || e.Status != receipt.Created {
			t.Errorf("not in the receipt: %+v", n)
		}
	}
	d.mustSend(sessions)
	if n := len(d.open().NotKept); n != len(notKept) || d.tally.Created != 0 {
		t.Errorf("again: %d not kept, %+v", n, d.tally)
	}
}
