package deliver

import (
	"encoding/json"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"runsheet.example/fhirmap"
	"runsheet.example/testdata/oracle/servertest"
	"runsheet.example/validate/manifest"
)

// A server that rounds, drops elements or stores another status is found out
// element by element, though each id and version is right.
func TestVerifyContent(t *testing.T) {
	s := servertest.Start(t)
	path := exportedFrom(t, smallLog, fhirmap.Options{})
	sessions := mapped(t, smallLog, fhirmap.Options{})
	for name, c := range map[string]struct {
		mangle map[string]any
		path   string
	}{
		"rounds":                    {map[string]any{"round": 0}, "valueQuantity.value"},
		"drops components":          {map[string]any{"drop": []string{"component"}}, "component"},
		"drops what is derived":     {map[string]any{"drop": []string{"derivedFrom"}}, "derivedFrom"},
		"drops notes":               {map[string]any{"drop": []string{"note"}}, "note"},
		"stores it as an error":     {map[string]any{"status": "entered-in-error"}, "status"},
		"drops narrative, and may":  {map[string]any{"drop": []string{"text"}}, ""},
		"rounds to what is written": {map[string]any{"round": 6}, ""},
	} {
		if name == "drops narrative, and may" {
			c.mangle["drop"] = []string{"div", "language"}
		}
		s.Reset(t, servertest.Switches{"mangle": c.mangle}, smallPatient)
		d := newDelivery(t, s, Transaction)
		d.mustSend(sessions)
		sender, err := d.sender(t.Context(), d.open())
		must(t, err)
		taken := 0
		drifted, err := sender.Verify(t.Context(), mustFolder(t, path), func(_ string, collection []byte) error {
			taken++
			if !json.Valid(collection) {
				t.Errorf("%s: handed %s", name, collection)
			}
			return nil
		})
		must(t, err)
		if taken != len(sessions) {
			t.Errorf("%s: %d sessions to be computed again, want %d", name, taken, len(sessions))
		}
		paths := map[string]bool{}
		for _, one := range drifted {
			for _, difference := range one.Differences {
				paths[difference.Path] = true
			}
		}
		if c.path == "" && len(drifted) > 0 || c.path != "" && !paths[c.path] {
			t.Errorf("%s: %d drifted, in %v", name, len(drifted), paths)
		}
	}
}

// A server put back to an older state, or one that lost some, is not said to
// have the record; repaired, it has it whole, each resource once, and every
// link leads to where the new ones stand.
func TestRepair(t *testing.T) {
	s := servertest.Start(t)
	path := exportedFrom(t, smallLog, fhirmap.Options{})
	sessions := mappedAll(t, smallLog, fhirmap.Options{})
	for name, lose := range map[string]func(d *delivery){
		"restored to the first session": func(*delivery) { s.Restore(t) },
		"lost a session's Procedure and a weight": func(d *delivery) {
			e, _ := d.open().Of(sessions[0].Identity)
			s.Delete(t, e.Reference(), "Observation/"+findRole(t, d, sessions, "weight_before").ID)
		},
		"lost the devices": func(d *delivery) {
			for _, e := range d.open().All() {
				if e.Type == "Device" {
					s.Delete(t, e.Reference())
				}
			}
		},
		"emptied": func(*delivery) { s.Reset(t, nil, smallPatient) },
	} {
		for _, style := range []Style{Transaction, Batch, Single, Put} {
			if name != "lost a session's Procedure and a weight" && style != Transaction && style != Put {
				continue // each loss in two styles, one in all
			}
			t.Run(fmt.Sprintf("%s, %s", name, style), func(t *testing.T) {
				s.Reset(t, nil, smallPatient)
				d := newDelivery(t, s, style)
				d.mustSend(sessions[:1])
				s.Save(t)
				d.mustSend(sessions)
				lose(d)
				d.t = t
				sender, err := d.sender(t.Context(), d.open())
				must(t, err)
				if err := sender.Folder(t.Context(), mustFolder(t, path)); err == nil {
					t.Error("sent, it is said")
				}
				sender, err = d.sender(t.Context(), d.open())
				must(t, err)
				drifted, err := sender.Verify(t.Context(), mustFolder(t, path), nil)
				must(t, err)
				must(t, sender.Repair(t.Context(), mustFolder(t, path), drifted))
				if left, _ := d.verified(path); left != nil {
					t.Errorf("after the repair: %q", left)
				}
				d.same(sessions)
			})
		}
	}
}

// Sessions that were all written down at one time have a Provenance each, in
// every style; one that was sent in another way before is recognised.
func TestProvenanceOfSessionsWrittenDownTogether(t *testing.T) {
	s := servertest.Start(t)
	log := edited(t, smallLog, "sessions.csv", `9.0,320,,,"Quiet`, `9.0,320,,2025-10-12T20:00,"Quiet`)
	text, err := os.ReadFile(log + "/sessions.csv")
	must(t, err)
	lines := strings.Split(string(text), "\n")
	for i, line := range lines {
		line = strings.Replace(line, ",20:40,", ",2025-10-12T20:00,", 1)
		if strings.HasPrefix(line, "b,") {
			line = strings.TrimSuffix(line, ",,") + ",2025-10-12T20:00,"
		}
		lines[i] = line
	}
	must(t, os.WriteFile(log+"/sessions.csv", []byte(strings.Join(lines, "\n")), 0o600))
	modes := []string{fhirmap.ConditionalProvenance, fhirmap.PutProvenance}
	for _, style := range []Style{Transaction, Batch, Single, Put} {
		for _, first := range modes {
			for _, search := range []bool{true, false} {
				s.Reset(t, servertest.Switches{"search": search}, smallPatient)
				for _, mode := range []string{first, modes[(slices.Index(modes, first)+1)%2]} {
					if mode != first && !search {
						continue // nobody can say what stands there
					}
					sessions := mapped(t, log, fhirmap.Options{Options: manifest.Options{Provenance: mode}})
					d := newDelivery(t, s, style)
					d.patient = "Patient/known"
					d.mustSend(sessions)
					recorded := map[string]int{}
					for _, h := range holdings(t, s) {
						if h.ResourceType == "Provenance" {
							recorded[h.Recorded]++
						}
					}
					if len(recorded) != 1 || recorded["2025-10-12T20:00:00+01:00"] != len(sessions) {
						t.Errorf("%s, %s after %s, search %t: %v", style, mode, first, search, recorded)
					}
				}
			}
		}
	}
}

// With the receipt lost, what stands there is looked for in few requests; and
// the patient is in no header, which servers log as they do URLs.
func TestFewSearchesAndNoPatientInHeaders(t *testing.T) {
	s := servertest.Start(t)
	for _, style := range []Style{Transaction, Batch, Single, Put} {
		for _, opts := range []fhirmap.Options{{}, {Options: manifest.Options{CreatePatient: true}}, {Options: manifest.Options{Patient: "Patient/known"}}} {
			s.Reset(t, nil, smallPatient)
			sessions := mapped(t, smallLog, opts)
			newDelivery(t, s, style).mustSend(sessions)
			for _, r := range s.State(t).Requests {
				if strings.Contains(r.Condition, "HHD-") || strings.Contains(r.Condition, "Patient") {
					t.Errorf("%s: a header says %q", style, r.Condition)
				}
			}
			d := newDelivery(t, s, style)
			d.mustSend(sessions)
			d.same(sessions)
			if n := d.client.Requests(); n > 8*len(sessions) || d.tally.Created > 0 {
				t.Errorf("%s: %d requests for %d sessions, %+v", style, n, len(sessions), d.tally)
			}
		}
	}
}
