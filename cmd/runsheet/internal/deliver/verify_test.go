package deliver

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"runsheet.example/cmd/runsheet/internal/deliver/receipt"
	"runsheet.example/fhirmap"
	"runsheet.example/testdata/oracle/servertest"
	"runsheet.example/validate/manifest"
)

// verified lists what drifted as "drift type role", and how many requests were
// made beside the one for what the server can do.
func (d *delivery) verified(path string) (drifted []string, requests int) {
	d.t.Helper()
	s, err := d.sender(d.t.Context(), d.open())
	must(d.t, err)
	found, err := s.Verify(d.t.Context(), mustFolder(d.t, path), nil)
	must(d.t, err)
	for _, f := range found {
		drifted = append(drifted, fmt.Sprintf("%s %s %s", f.Drift, f.Type, f.Role))
	}
	return drifted, d.client.Requests() - 1
}

// Verifying finds what was deleted, what was changed, and what stands there in
// the place of ours, and nothing else; in few requests where the server takes
// batches, one by one where it does not, and in parts where it takes few
// entries.
func TestVerify(t *testing.T) {
	s := servertest.Start(t)
	path := exported(t)
	sessions := mapped(t, smallLog, fhirmap.Options{Options: manifest.Options{NoNotes: true}})
	for _, c := range []struct {
		name     string
		switches servertest.Switches
		max      int
		requests func(entries int) (least, most int)
	}{
		{"batches", nil, 0, func(n int) (int, int) { return 1, n/usualReads + 1 }},
		{"batches of 10", nil, 10, func(n int) (int, int) { return n / 10, n/10 + 1 }},
		{"takes 10 and does not say so", servertest.Switches{"maxEntries": 10}, 0, func(n int) (int, int) { return n / 10, n/6 + 5 }},
		{"no Bundles", servertest.Switches{"batch": false, "transactions": false}, 0, func(n int) (int, int) { return n, n }},
	} {
		t.Run(c.name, func(t *testing.T) {
			s.Reset(t, c.switches, smallPatient)
			d := newDelivery(t, s, Single)
			d.max = c.max
			d.mustSend(sessions)
			least, most := c.requests(len(d.open().All()))
			if got, n := d.verified(path); got != nil || n < least || n > most {
				t.Errorf("right after sending: %q, %d requests, want %d to %d", got, n, least, most)
			}
			weight, uf := findRole(t, d, sessions, "weight_before"), findRole(t, d, sessions, "uf_removed")
			provenance := findRole(t, d, sessions, "provenance")
			s.Edit(t, json.RawMessage(strings.Replace(string(weight.raw), "63.4", "63.6", 1)))
			s.Delete(t, "Observation/"+uf.ID, "Provenance/"+provenance.ID)
			s.Edit(t, map[string]any{
				"resourceType": "Provenance", "id": provenance.ID, "recorded": "2025-10-06T21:00:00Z",
				"target": []any{map[string]any{"reference": "Observation/of-somebody-else"}},
				"agent":  []any{map[string]any{"who": map[string]any{"display": "somebody"}}},
			})
			want := []string{"missing Observation uf_removed", "changed Observation weight_before", "another resource Provenance provenance"}
			got, _ := d.verified(path)
			slices.Sort(got)
			slices.Sort(want)
			if !slices.Equal(got, want) {
				t.Errorf("found %q, want %q", got, want)
			}
		})
	}
}

// A server that was emptied, with or without others' records under the same
// ids, is noticed before anything is sent, in two requests; one record that is
// gone is no reason to stop.
func TestProbe(t *testing.T) {
	s := servertest.Start(t)
	path := exported(t)
	s.Reset(t, nil, smallPatient)
	d := newDelivery(t, s, Transaction)
	send := func() (*Sender, error) {
		t.Helper()
		folder, err := OpenFolder(path)
		if err != nil {
			t.Fatal(err)
		}
		s, err := d.sender(t.Context(), d.open())
		if err != nil {
			t.Fatal(err)
		}
		return s, s.Folder(t.Context(), folder)
	}
	if _, err := send(); err != nil {
		t.Fatal(err)
	}
	if _, err := send(); err != nil || d.client.Requests() != 2 {
		t.Errorf("sent again: %v, %d requests, want what it can do and one record", err, d.client.Requests())
	}
	var last receipt.Entry
	for _, e := range d.open().All() {
		if e.Type == "Procedure" {
			last = e
		}
	}
	s.Delete(t, last.Reference())
	var emptied *ErrEmptied
	if _, err := send(); !errors.As(err, &emptied) || !emptied.Partly() || emptied.Missing != 1 {
		t.Errorf("one record gone: %v", err)
	}
	for _, reused := range []bool{false, true} {
		s.Reset(t, nil, smallPatient)
		if reused {
			for _, e := range d.open().All() {
				switch e.Type {
				case "Device":
					s.Edit(t, map[string]any{"resourceType": e.Type, "id": e.ID})
				case "Procedure":
					s.Edit(t, map[string]any{"resourceType": e.Type, "id": e.ID, "status": "completed", "subject": map[string]any{"reference": "Patient/other"}})
				}
			}
		}
		s.Faults(t)
		sender, err := send()
		if !errors.As(err, &emptied) || emptied.Partly() {
			t.Errorf("emptied, ids used again %t: %v", reused, err)
		}
		if n := writes(s.State(t)); n != 0 || d.client.Requests() != 2 {
			t.Errorf("%d writes, %d requests, want 2", n, d.client.Requests())
		}
		if _, err := sender.Rows(t.Context(), mustFolder(t, path)); !errors.As(err, &emptied) {
			t.Errorf("what would be sent: %v", err)
		}
	}
}

func mustFolder(t *testing.T, path string) *Folder {
	t.Helper()
	folder, err := OpenFolder(path)
	if err != nil {
		t.Fatal(err)
	}
	return folder
}

// onlyWhileSending are what a server can only be found out to be by sending:
// how many requests it takes is not known before.
var onlyWhileSending = map[string]bool{
	"takes 8 entries and does not say so": true,
	"does no chained searches":            true,
	"answers a search with everything":    true,
}

// What is said before sending is what is then done: at every kind of server,
// from nothing, from half, with the receipt lost, with other content there, and
// when all is sent.
func TestPlanIsResult(t *testing.T) {
	s := servertest.Start(t)
	path := exported(t)
	sessions := mapped(t, smallLog, fhirmap.Options{Options: manifest.Options{NoNotes: true}})
	begin := map[string]func(d *delivery){
		"nothing": func(*delivery) {},
		"half":    func(d *delivery) { d.mustSend(sessions[:1]) },
		"receipt lost": func(d *delivery) {
			d.mustSend(sessions[:2])
			must(t, os.Remove(d.receipt))
		},
		"other content": func(d *delivery) {
			d.mustSend(mapped(t, edited(t, smallLog, "sessions.csv", "63.40,142", "63.50,142"), fhirmap.Options{}))
			must(t, os.Remove(d.receipt))
		},
		"all sent, then changed": func(d *delivery) { d.mustSend(mapped(t, smallLog, fhirmap.Options{})) },
	}
	for _, c := range servers {
		for name, first := range begin {
			t.Run(c.name+", "+name, func(t *testing.T) {
				s.Reset(t, c.switches, smallPatient)
				d := newDelivery(t, s, "")
				d.max = c.max
				first(d)
				if _, err := os.Stat(d.receipt); err != nil && name != "nothing" && c.switches["search"] == false {
					return // such a server says only while it stores what it has
				}
				s.Faults(t)
				plan := d.rows(t.Context(), path)
				if n := writes(s.State(t)); n != 0 {
					t.Fatalf("%d writes while planning", n)
				}
				sender, err := d.sender(t.Context(), d.open())
				must(t, err)
				must(t, sender.Folder(t.Context(), mustFolder(t, path)))
				got := sender.Tally()
				if onlyWhileSending[c.name] {
					plan.Stores = got.Stores
				}
				if got != plan {
					t.Errorf("planned %+v, done %+v", plan, got)
				}
			})
		}
	}
	s.Reset(t, nil)
	d := newDelivery(t, s, "")
	sender, err := d.sender(t.Context(), d.open())
	must(t, err)
	if _, err := sender.Rows(t.Context(), mustFolder(t, path)); !errors.Is(err, errNoPatient) {
		t.Errorf("without the patient: %v", err)
	}
}

// rows is the plan, summed up as the tally of what is done.
func (d *delivery) rows(ctx context.Context, path string) Tally {
	d.t.Helper()
	s, err := d.sender(ctx, d.open())
	must(d.t, err)
	rows, err := s.Rows(ctx, mustFolder(d.t, path))
	must(d.t, err)
	sum := Tally{Outdated: s.Tally().Outdated, Superseded: s.Tally().Superseded}
	for _, r := range rows {
		sum.Created, sum.Present, sum.Differs, sum.Stores = sum.Created+r.Create, sum.Present+r.Present, sum.Differs+r.Differs, sum.Stores+r.Stores
	}
	return sum
}

// Whatever a server answers to a batch of reads, it is taken apart or refused.
func FuzzParseReads(f *testing.F) {
	f.Add([]byte(`{"resourceType":"Bundle","type":"batch-response","entry":[{"resource":{"resourceType":"Device","id":"1"},"response":{"status":"200 OK"}},{"response":{"status":"404"}}]}`))
	f.Add([]byte(`{"type":"batch-response","entry":[{"response":{"status":"200"}},{"response":{"status":"500"}}]}`))
	part := []receipt.Entry{{Identity: "a", Type: "Device", ID: "1"}, {Identity: "b", Type: "Procedure", ID: "2"}}
	f.Fuzz(func(t *testing.T, body []byte) {
		answers, err := parseAnswers(body, len(part))
		if err != nil {
			return
		}
		there, err := parseReads(answers, part, func(receipt.Entry) (*found, error) { return nil, nil })
		if err != nil {
			return
		}
		for i, r := range there {
			if r != nil && r.ResourceType != part[i].Type {
				t.Errorf("%s in the place of %s", r.ResourceType, part[i].Type)
			}
		}
	})
}
