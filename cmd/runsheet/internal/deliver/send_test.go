package deliver

import (
	"errors"
	"fmt"
	"os"
	"strings"
	"testing"
	"time"

	"runsheet.example/cmd/runsheet/internal/deliver/server"
	"runsheet.example/fhirmap"
	"runsheet.example/profiles"
	"runsheet.example/testdata/oracle/servertest"
	"runsheet.example/validate/manifest"
)

// Every style, whole or in parts of 8, gives the server the log, each resource
// once; sent again, nothing is written; with the receipt lost, all is found
// again and nothing created.
func TestSendEveryStyle(t *testing.T) {
	s := servertest.Start(t)
	sessions := supplied(t, "c,dialyser,L1,2027-03\nc,blood lines,L7,\n")
	for _, style := range []Style{Transaction, Batch, Single, Put} {
		for _, max := range []int{0, 8} {
			t.Run(fmt.Sprintf("%s in parts of %d", style, max), func(t *testing.T) {
				s.Reset(t, nil, smallPatient)
				d := newDelivery(t, s, style)
				d.max = max
				d.mustSend(sessions)
				d.same(sessions)
				s.Faults(t)
				d.mustSend(sessions)
				if n := writes(s.State(t)); n != 0 || d.tally != (Tally{}) {
					t.Errorf("sent again: %d writes, %+v", n, d.tally)
				}
				if err := os.Remove(d.receipt); err != nil {
					t.Fatal(err)
				}
				d.mustSend(sessions)
				d.same(sessions)
				if n := writes(s.State(t)); n != 0 || d.tally.Created != 0 || d.tally.Differs != 0 {
					t.Errorf("sent with the receipt lost: %d writes, %+v", n, d.tally)
				}
			})
		}
	}
}

// servers is what real servers were seen to be like, with the style proposed
// for each.
var servers = []struct {
	name     string
	switches servertest.Switches
	max      int
	style    Style
}{
	{"does everything", nil, 0, Transaction},
	{"takes 8 entries", servertest.Switches{"maxEntries": 8}, 8, Transaction},
	{"takes 8 entries and does not say so", servertest.Switches{"maxEntries": 8}, 0, Transaction},
	{"takes 8 entries with a condition", servertest.Switches{"libraryLimit": true}, 8, Transaction},
	{"has no transactions", servertest.Switches{"transactions": false}, 0, Batch},
	{"has no Bundles", servertest.Switches{"transactions": false, "batch": false}, 0, Single},
	{"has no conditions", servertest.Switches{"declareConditionalCreate": false, "honourIfNoneExist": false}, 0, Put},
	{"only searches", servertest.Switches{"declareConditionalCreate": false, "honourIfNoneExist": false, "updateCreate": false}, 0, Single},
	{"ignores If-None-Exist", servertest.Switches{"honourIfNoneExist": false}, 0, Transaction},
	{"ignores If-None-Exist, one by one", servertest.Switches{"honourIfNoneExist": false, "transactions": false, "batch": false}, 0, Single},
	{"does no chained searches", servertest.Switches{"chaining": false}, 0, Transaction},
	{"does not search", servertest.Switches{"search": false}, 0, Transaction},
	{"answers a search with everything", servertest.Switches{"ignoreUnknownSearch": true}, 0, Transaction},
}

// At each of these servers one of the first three writes is cut off before or
// after it was done, or fails; the end is the log, nothing twice.
func TestSendWhateverGoesWrong(t *testing.T) {
	s := servertest.Start(t)
	sessions := mapped(t, smallLog, fhirmap.Options{})
	for i, c := range servers {
		for k, kind := range []string{"", "cut-before", "cut-after", "500-before", "500-after", "429", "503", "409"} {
			for on := 1; on <= 3; on++ {
				if i > 0 && on != 1+(i+k)%3 {
					continue // each fault once at each server, at another place
				}
				t.Run(fmt.Sprintf("%s, %s at %d", c.name, kind, on), func(t *testing.T) {
					s.Reset(t, c.switches, smallPatient)
					s.Faults(t, servertest.Fault{On: on, Kind: kind})
					d := newDelivery(t, s, "")
					d.max = c.max
					d.mustSend(sessions)
					if got := Style(d.open().Style); got != c.style {
						t.Errorf("style %s was chosen, want %s", got, c.style)
					}
					d.style = c.style
					d.same(sessions)
					if kind == "429" && (len(d.waits) == 0 || d.waits[0] != time.Second) {
						t.Errorf("waited %v, want the second the server asked for", d.waits)
					}
				})
			}
		}
	}
}

// A server that says it does conditional creates, does not, and cannot be
// asked: one software Device stands there twice, and nothing of the patient was
// sent.
func TestSendRefusesToDouble(t *testing.T) {
	s := servertest.Start(t)
	sessions := mapped(t, smallLog, fhirmap.Options{})
	s.Reset(t, servertest.Switches{"honourIfNoneExist": false, "search": false}, smallPatient)
	d := newDelivery(t, s, "")
	err := d.send(sessions)
	if !errors.Is(err, errIgnoresConditions) {
		t.Fatalf("send: %v", err)
	}
	for _, h := range holdings(t, s) {
		if h.ResourceType != "Device" && h.ResourceType != "Patient" {
			t.Errorf("%s was sent", h.ResourceType)
		}
	}
	s.Reset(t, servertest.Switches{"declareConditionalCreate": false, "search": false, "updateCreate": false}, smallPatient)
	d = newDelivery(t, s, "")
	d.patient = "Patient/known"
	if err := d.send(sessions); err == nil || !strings.Contains(err.Error(), "could double the record") {
		t.Errorf("send: %v", err)
	}
	if n := len(holdings(t, s)); n != 1 {
		t.Errorf("%d resources at the server, want the Patient alone", n)
	}
}

// What a server says no to ends the run, with plain words; run again once the
// server agrees, it goes on where it stopped.
func TestSendStopsAndGoesOn(t *testing.T) {
	s := servertest.Start(t)
	sessions := mapped(t, smallLog, fhirmap.Options{})
	for _, style := range []Style{Transaction, Batch, Single, Put} {
		for kind, words := range map[string]string{
			"412": "a condition does not hold",
			"422": "refuses the record by its own rules",
			"403": "does not allow it",
			"401": "does not accept the token",
		} {
			if kind == "422" && (style == Single || style == Put) {
				continue // of one resource: see TestReceiverKeepsPart
			}
			t.Run(string(style)+" "+kind, func(t *testing.T) {
				s.Reset(t, nil, smallPatient)
				s.Faults(t, servertest.Fault{On: 2, Kind: kind})
				d := newDelivery(t, s, style)
				err := d.send(sessions)
				var refusal *server.Refusal
				if !errors.As(err, &refusal) || fmt.Sprint(refusal.Status) != kind || !strings.Contains(err.Error(), words) {
					t.Fatalf("send: %v", err)
				}
				if strings.Contains(err.Error(), "12345") {
					t.Errorf("the server's text was repeated: %v", err)
				}
				if n := writes(s.State(t)); n != 2 {
					t.Errorf("%d writes, want none after the refusal", n)
				}
				before := len(d.open().All())
				if before == 0 {
					t.Error("nothing of the first write is in the receipt")
				}
				d.mustSend(sessions)
				d.same(sessions)
			})
		}
	}
}

// A server that is down, or says that somebody else writes the same, for longer
// than we try leaves a receipt that is true, and the next run sends the rest.
func TestSendGivesUpAndResumes(t *testing.T) {
	s := servertest.Start(t)
	sessions := mapped(t, smallLog, fhirmap.Options{})
	for kind, words := range map[string]string{"cut-before": server.ErrUnknownOutcome.Error(), "409": "somebody else is changing the same record"} {
		s.Reset(t, nil, smallPatient)
		var down []servertest.Fault
		for on := 2; on < 20; on++ {
			down = append(down, servertest.Fault{On: on, Kind: kind})
		}
		s.Faults(t, down...)
		d := newDelivery(t, s, Transaction)
		if err := d.send(sessions); err == nil || !strings.Contains(err.Error(), words) {
			t.Fatalf("send: %v", err)
		}
		if want := []time.Duration{500 * time.Millisecond, time.Second, 2 * time.Second}; fmt.Sprint(d.waits) != fmt.Sprint(want) {
			t.Errorf("waited %v, want %v", d.waits, want)
		}
		d.same(sessions[:1])
		s.Faults(t)
		d.mustSend(sessions)
		d.same(sessions)
	}
}

// A server that does not find all it has, as where its index lags behind: what
// refers to what was missed is ours all the same, and nothing stands there
// twice.
func TestSendWhereASearchMisses(t *testing.T) {
	s := servertest.Start(t)
	sessions := mapped(t, smallLog, fhirmap.Options{})
	for _, style := range []Style{Transaction, Batch, Single} {
		s.Reset(t, nil, smallPatient)
		newDelivery(t, s, style).mustSend(sessions)
		const missed = 20
		s.Switch(t, servertest.Switches{"missed": missed})
		d := newDelivery(t, s, style)
		d.mustSend(sessions)
		d.same(sessions)
		if d.tally.Created != 0 || d.tally.Differs != 0 || d.tally.Present != len(d.open().All()) {
			t.Errorf("%s: %+v", style, d.tally)
		}
	}
}

// What is sent again after a cut is, byte for byte, what was sent before.
func TestSendAgainSendsTheSameBytes(t *testing.T) {
	s := servertest.Start(t)
	sessions := mapped(t, smallLog, fhirmap.Options{})
	s.Reset(t, nil, smallPatient)
	s.Faults(t, servertest.Fault{On: 2, Kind: "cut-before"})
	d := newDelivery(t, s, Transaction)
	d.mustSend(sessions)
	var sizes []int
	for _, r := range s.State(t).Requests {
		if r.Write {
			sizes = append(sizes, r.Bytes)
		}
	}
	if len(sizes) != 4 || sizes[1] != sizes[2] {
		t.Errorf("sizes of the writes: %v", sizes)
	}
}

// The three ways to name the patient.
func TestSendPatient(t *testing.T) {
	s := servertest.Start(t)
	for _, style := range []Style{Transaction, Batch, Single, Put} {
		t.Run(string(style), func(t *testing.T) {
			s.Reset(t, nil, smallPatient)
			d := newDelivery(t, s, style)
			known := mapped(t, smallLog, fhirmap.Options{Options: manifest.Options{Patient: "Patient/known"}})
			d.mustSend(known)
			d.same(known)

			s.Reset(t, nil, smallPatient)
			d = newDelivery(t, s, style)
			d.patient = "Patient/known"
			sessions := mapped(t, smallLog, fhirmap.Options{})
			d.mustSend(sessions)
			d.same(sessions)

			s.Reset(t, nil)
			d = newDelivery(t, s, style)
			if err := d.send(sessions); err == nil {
				t.Error("sent for a patient the server does not have")
			}
			if n := len(holdings(t, s)); n != 0 {
				t.Errorf("%d resources at a server without the patient", n)
			}
			created := mapped(t, smallLog, fhirmap.Options{Options: manifest.Options{CreatePatient: true}})
			d = newDelivery(t, s, style)
			d.mustSend(created)
			d.same(created)
			// The patient is the one there, when there is one.
			s.Reset(t, nil, smallPatient)
			d = newDelivery(t, s, style)
			d.mustSend(created)
			d.same(created)
		})
	}
}

// Nothing of the patient is in a URL, which servers and proxies write down, or
// in what is said.
func TestSendKeepsThePatientOutOfLogs(t *testing.T) {
	s := servertest.Start(t)
	sessions := mapped(t, smallLog, fhirmap.Options{})
	for _, style := range []Style{Transaction, Batch, Single, Put} {
		s.Reset(t, nil, smallPatient)
		s.Faults(t, servertest.Fault{On: 1, Kind: "cut-after"}, servertest.Fault{On: 3, Kind: "500-after"}, servertest.Fault{On: 4, Kind: "422"})
		d := newDelivery(t, s, style)
		d.auth = server.FixedToken("very-secret")
		err := d.send(sessions)
		said := strings.Join(d.notes, "\n") + fmt.Sprint(err) + fmt.Sprintf("%+v", d.auth)
		for _, r := range s.State(t).Requests {
			said += r.URL + "\n"
		}
		for _, secret := range []string{"HHD-00007", "331383638406541845489215601853980652438", "very-secret", "63.40", "evening"} {
			if strings.Contains(said, secret) {
				t.Errorf("%s: %q was said in\n%s", style, secret, said)
			}
		}
	}
}

// Two of the same identifier at the server are a person's to mend.
func TestSendStopsAtDoubles(t *testing.T) {
	s := servertest.Start(t)
	sessions := mapped(t, smallLog, fhirmap.Options{})
	s.Reset(t, servertest.Switches{"honourIfNoneExist": false}, smallPatient)
	d := newDelivery(t, s, Transaction)
	d.mustSend(sessions)
	procedure := map[string]any{
		"resourceType": "Procedure", "id": "twin", "status": "completed", "subject": map[string]any{"reference": "Patient/known"},
		"identifier": []any{map[string]any{"system": profiles.RecordIdentifier, "value": "urn:uuid:" + sessions[0].Identity}},
	}
	s.Edit(t, procedure)
	other := newDelivery(t, s, Transaction)
	if err := other.send(sessions); err == nil || !strings.Contains(err.Error(), "must merge them") {
		t.Errorf("send: %v", err)
	}
	if n := writes(s.State(t)); n != 3 {
		t.Errorf("%d writes, want the three of the first run", n)
	}
}

// A server that does not say what it can do is sent to in the style that was
// chosen, and in none when none was.
func TestSendWithoutCapability(t *testing.T) {
	s := servertest.Start(t)
	sessions := mapped(t, smallLog, fhirmap.Options{})
	s.Reset(t, servertest.Switches{"metadata": false}, smallPatient)
	if err := newDelivery(t, s, "").send(sessions); err == nil || !strings.Contains(err.Error(), "does not say what it can do") {
		t.Errorf("send: %v", err)
	}
	if n := len(holdings(t, s)); n != 1 {
		t.Errorf("%d resources at the server, want the Patient alone", n)
	}
	d := newDelivery(t, s, Single)
	d.mustSend(sessions)
	d.same(sessions)
	s.Reset(t, servertest.Switches{"fhirVersion": "5.0.0"}, smallPatient)
	if err := newDelivery(t, s, Single).send(sessions); err == nil || !strings.Contains(err.Error(), "FHIR 5.0.0") {
		t.Errorf("another release: %v", err)
	}
}

// This is why the links in a Bundle are not our identities: the server that is
// not ours replaces every text that equals a fullUrl, an identifier too, and
// what was sent so could never be found again.
func TestServerReplacesMoreThanReferences(t *testing.T) {
	s := servertest.Start(t)
	s.Reset(t, nil)
	const own = "urn:uuid:0fe284f2-49f6-5f03-b080-94c5e9324563"
	resource := []byte(`{"resourceType":"Device","identifier":[{"system":"urn:ietf:rfc:3986","value":"` + own + `"}]}`)
	target, err := server.ParseTarget(s.Base)
	if err != nil {
		t.Fatal(err)
	}
	client := server.NewClient(target, server.Options{})
	for fullURL, kept := range map[string]bool{own: false, link(strings.TrimPrefix(own, "urn:uuid:")): true} {
		s.Reset(t, nil)
		text := bundle(Transaction, []entry{{fullURL, resource, "POST", "Device", "identifier=urn:ietf:rfc:3986|" + own, ""}})
		if _, err := client.Do(t.Context(), server.Request{Method: "POST", Body: text}); err != nil {
			t.Fatal(err)
		}
		if h := holdings(t, s); len(h) != 1 || (h[0].Identifier[0].Value == own) != kept {
			t.Errorf("with the fullUrl %s the server holds %s, kept %t", fullURL, h[0].raw, kept)
		}
	}
}

// A receipt that was lost and content that is another: what stands there is
// left, and said.
func TestSendLeavesWhatDiffers(t *testing.T) {
	s := servertest.Start(t)
	s.Reset(t, nil, smallPatient)
	d := newDelivery(t, s, Transaction)
	d.mustSend(mapped(t, smallLog, fhirmap.Options{}))
	changed := mapped(t, edited(t, smallLog, "sessions.csv", "63.40,142", "63.50,142"), fhirmap.Options{})
	other := newDelivery(t, s, Transaction)
	other.mustSend(changed)
	if other.tally.Created != 0 || other.tally.Differs == 0 {
		t.Errorf("tally %+v", other.tally)
	}
	plan, err := other.amend(changed, "")
	if err != nil || plan.Empty() {
		t.Fatalf("amend: %v, %+v", err, plan)
	}
	other.same(changed, "Provenance ")
}
