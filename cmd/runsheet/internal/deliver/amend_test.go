package deliver

import (
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"runsheet.example/cmd/runsheet/internal/deliver/receipt"
	"runsheet.example/fhirmap"
	"runsheet.example/testdata/oracle/servertest"
	"runsheet.example/validate"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/manifest"
)

// weightCorrected is the small log with one weight mended, and what follows
// from it.
func weightCorrected(t *testing.T) []Session {
	return mapped(t, edited(t, smallLog, "sessions.csv", "63.40,142", "63.50,142"), fhirmap.Options{})
}

// sessionWithdrawn is the small log without its third session.
func sessionWithdrawn(t *testing.T) []Session {
	return mapped(t, edited(t, smallLog,
		"sessions.csv", `c,2025-10-08,18:05,20:10,cut short,"alarm, blood clotted",,63.1,139,76,,not done,,,1.1,,,18.4,9.0,320,venous needle moved,20:40,`+"\n", "",
		"events.csv", "c,20:05,alarm,venous pressure high,stopped\n", "",
		"labs.csv", "c,18:00,before,urea,18.1,mmol/L,Example Laboratory\n", ""), fhirmap.Options{})
}

// An unchanged log sends nothing, not even a question.
func TestAmendUnchanged(t *testing.T) {
	s := servertest.Start(t)
	sessions := mapped(t, smallLog, fhirmap.Options{})
	s.Reset(t, nil, smallPatient)
	d := newDelivery(t, s, Transaction)
	d.mustSend(sessions)
	if plan := MakePlan(d.open(), sessions, nil, AmendOptions{}); !plan.Empty() {
		t.Errorf("plan %+v", plan)
	}
	// A new version of the program alone is no change: what was assembled by
	// the old one stays so.
	for i := range sessions {
		for j, r := range sessions[i].Resources {
			if r.Role == "device:software" {
				sessions[i].Resources[j].Identity = "11111111-2222-5333-8444-555555555555"
			}
		}
	}
	if plan := MakePlan(d.open(), sessions, nil, AmendOptions{}); !plan.Empty() {
		t.Errorf("plan after an upgrade %+v", plan)
	}
}

// One weight corrected: it and what is computed from it become new versions
// that say so, a Provenance names the versions they replace, and all else
// stays as it was; again, and nothing is sent.
func TestAmendCorrection(t *testing.T) {
	s := servertest.Start(t)
	for _, style := range []Style{Transaction, Batch, Single, Put} {
		t.Run(string(style), func(t *testing.T) {
			s.Reset(t, nil, smallPatient)
			d := newDelivery(t, s, style)
			d.mustSend(mapped(t, smallLog, fhirmap.Options{}))
			changed := weightCorrected(t)
			plan, err := d.amend(changed, "scales read wrongly")
			if err != nil {
				t.Fatal(err)
			}
			did := plan.Counts()
			if did.Created != 1 || did.Corrected < 2 || did.Amended != 0 || did.Withdrawn != 0 || len(plan.Sessions) != 1 {
				t.Errorf("plan: %+v", did)
			}
			d.same(changed, "Provenance ")
			weight := findRole(t, d, changed, "weight_before")
			if weight.Status != "corrected" || weight.Value.Value != "63.5" || weight.Meta.VersionID != "2" {
				t.Errorf("weight: %s", weight.raw)
			}
			if n := weight.Note[len(weight.Note)-1].Text; !strings.Contains(n, "scales read wrongly") {
				t.Errorf("note %q", n)
			}
			checkProvenance(t, s, 0, did.Corrected)
			d.valid()
			s.Faults(t)
			if plan, err := d.amend(changed, ""); err != nil || !plan.Empty() || writes(s.State(t)) != 0 {
				t.Errorf("amended again: %v, %+v", err, plan)
			}
		})
	}
}

func findRole(t *testing.T, d *delivery, sessions []Session, role string) stored {
	t.Helper()
	for _, session := range sessions {
		for _, r := range session.Resources {
			if r.Role != role {
				continue
			}
			e, _ := d.open().Of(r.Identity)
			for _, h := range holdings(t, d.server) {
				if h.ResourceType == e.Type && h.ID == e.ID {
					return h
				}
			}
		}
	}
	t.Fatalf("no %s", role)
	return stored{}
}

// checkProvenance finds the one amendment and holds it to R4 and to what it
// must say.
func checkProvenance(t *testing.T, s *servertest.Server, created, corrected int) {
	t.Helper()
	var found []stored
	for _, h := range holdings(t, s) {
		if h.ResourceType == "Provenance" && strings.Contains(string(h.raw), `"UPDATE"`) {
			found = append(found, h)
		}
	}
	if len(found) != 1 {
		t.Fatalf("%d amendments", len(found))
	}
	var p struct {
		Target []struct{ Reference string }
		Entity []struct {
			Role string
			What struct{ Reference string }
		}
		Agent []json.RawMessage
	}
	if err := json.Unmarshal(found[0].raw, &p); err != nil {
		t.Fatal(err)
	}
	if len(p.Target) != created+corrected || len(p.Entity) != corrected || len(p.Agent) != 2 {
		t.Errorf("%d targets, %d entities, %d agents, want one target for each of %d created and %d corrected, an entity for each corrected, 2 agents: %s",
			len(p.Target), len(p.Entity), len(p.Agent), created, corrected, found[0].raw)
	}
	for i, e := range p.Entity {
		if e.Role != "revision" || !strings.HasPrefix(e.What.Reference, p.Target[created+i].Reference+"/_history/") {
			t.Errorf("entity %+v of %s", e, p.Target[created+i].Reference)
		}
	}
	for _, f := range validate.New(validate.Options{Schema: true}).Bytes(found[0].raw, "provenance.json") {
		if f.Severity == issue.Error {
			t.Errorf("%s at %s: %s", f.Rule, f.Expression, f.Details)
		}
	}
}

// One session withdrawn: its resources are marked as entered in error, none is
// deleted, and the others stay. Put back into the log, it comes back.
func TestAmendWithdrawal(t *testing.T) {
	s := servertest.Start(t)
	all := mapped(t, smallLog, fhirmap.Options{})
	for _, style := range []Style{Transaction, Put} {
		s.Reset(t, nil, smallPatient)
		d := newDelivery(t, s, style)
		d.mustSend(all)
		total := len(holdings(t, s))
		without := sessionWithdrawn(t)
		plan, err := d.amend(without, "")
		if err != nil {
			t.Fatal(err)
		}
		withdrawn := plan.Counts().Withdrawn
		expect := []string{"Provenance ", "Provenance "} // the session's own, and the amendment
		for _, r := range all[2].Resources {
			if r.Type == "Observation" || r.Type == "Procedure" {
				expect = append(expect, r.Type+" entered-in-error")
			}
		}
		if withdrawn != len(expect)-2 {
			t.Errorf("%d withdrawn, want %d", withdrawn, len(expect)-2)
		}
		d.same(without, expect...)
		d.valid()
		if n := len(holdings(t, s)); n != total+1 {
			t.Errorf("%d resources, want the %d there were and one Provenance", n, total)
		}
		if plan, err := d.amend(without, ""); err != nil || !plan.Empty() {
			t.Errorf("amended again: %v, %+v", err, plan)
		}
		d.later++ // another day
		if _, err := d.amend(all, ""); err != nil {
			t.Fatal(err)
		}
		d.same(all, "Provenance ", "Provenance ")
	}
}

// A reading added and one taken away, a device renamed, and a new session, all
// at once.
func TestAmendEverything(t *testing.T) {
	s := servertest.Start(t)
	all := mapped(t, smallLog, fhirmap.Options{})
	changed := mapped(t, edited(t, smallLog,
		"readings.csv", "a,18:30,131,74,72,-150,145,0.55\n", "a,18:30,131,74,,-150,145,0.55\na,19:00,128,72,70,-150,150,0.55\n",
		"log.toml", "kitchen-corner scales", "bathroom scales",
		"sessions.csv", "b,2025-10-07,", "z,2025-10-09,18:00,21:00,done,,,63.0,140,75,,61.8,130,70,1.3,,,,9.0,320,,,\nb,2025-10-07,"), fhirmap.Options{})
	s.Reset(t, nil, smallPatient)
	d := newDelivery(t, s, Transaction)
	d.mustSend(all)
	plan, err := d.amend(changed, "")
	if err != nil {
		t.Fatal(err)
	}
	if did := plan.Counts(); did.Created < 10 || did.Corrected == 0 || did.Withdrawn != 1 {
		t.Errorf("%+v", did)
	}
	amendments := 0
	for _, h := range holdings(t, s) {
		if strings.Contains(string(h.raw), `"UPDATE"`) {
			amendments++
		}
	}
	extra := []string{"Observation entered-in-error"}
	for range amendments {
		extra = append(extra, "Provenance ")
	}
	d.same(changed, extra...)
	d.valid()
	if plan, err := d.amend(changed, ""); err != nil || !plan.Empty() {
		t.Errorf("amended again: %v, %+v", err, plan)
	}
}

// An amendment that is cut off anywhere is completed by the same command: each
// change once, one Provenance that names them all. Sent together, the
// corrections stand there with their Provenance or not at all.
func TestAmendCutAnywhere(t *testing.T) {
	s := servertest.Start(t)
	all := mapped(t, smallLog, fhirmap.Options{})
	changed := mapped(t, edited(t, smallLog, "sessions.csv", "63.40,142", "63.50,142",
		"readings.csv", "a,18:30,131,74,72,-150,145,0.55\n", "a,18:30,131,74,72,-150,145,0.55\na,19:00,128,72,70,,,\n",
		"labs.csv", "c,18:00,before,urea,18.1,mmol/L,Example Laboratory\n", ""), fhirmap.Options{})
	kinds := []string{"cut-after", "cut-before", "403", "500-after"}
	for _, style := range []Style{Transaction, Single} {
		writes := 3 // of new readings, the session's corrections, and the other session's
		if style == Single {
			writes = 12
		}
		for on := 1; on <= writes; on++ {
			for k, kind := range kinds {
				if style == Single && k != on%len(kinds) {
					continue // each fault at some places
				}
				t.Run(fmt.Sprintf("%s, %s at %d", style, kind, on), func(t *testing.T) {
					s.Reset(t, nil, smallPatient)
					d := newDelivery(t, s, style)
					d.mustSend(all)
					s.Faults(t, servertest.Fault{On: on, Kind: kind})
					_, err := d.amend(changed, "")
					if err != nil {
						if style == Transaction {
							wholeOrNot(t, s)
						}
						if _, err = d.amend(changed, ""); err != nil {
							t.Fatal(err)
						}
					}
					d.same(changed, append(slices.Repeat([]string{"Observation entered-in-error"}, 5), "Provenance ", "Provenance ")...)
					for _, h := range holdings(t, s) {
						if h.Meta.VersionID != "1" && h.Meta.VersionID != "2" {
							t.Errorf("version %s of %s", h.Meta.VersionID, h.ResourceType)
						}
					}
					if len(d.open().Amending) != 0 {
						t.Error("an amendment still stands in the receipt")
					}
					d.valid()
				})
			}
		}
	}
}

// wholeOrNot holds a session's corrections to be there with the Provenance that
// tells of them.
func wholeOrNot(t *testing.T, s *servertest.Server) {
	t.Helper()
	told := map[string]bool{}
	for _, h := range holdings(t, s) {
		var p struct{ Target []struct{ Reference string } }
		must(t, json.Unmarshal(h.raw, &p))
		for _, target := range p.Target {
			if strings.Contains(string(h.raw), `"UPDATE"`) {
				told[target.Reference] = true
			}
		}
	}
	for _, h := range holdings(t, s) {
		if h.Meta.VersionID != "1" && !told[h.ResourceType+"/"+h.ID] {
			t.Errorf("%s is %s, and no Provenance tells why", h.ResourceType, h.Status)
		}
	}
}

// A session's corrections and the Provenance take one request that reads and
// one that stores; a server that refuses them together gets them one by one.
func TestAmendTogether(t *testing.T) {
	s := servertest.Start(t)
	all, changed := mapped(t, smallLog, fhirmap.Options{}), weightCorrected(t)
	for _, c := range []struct {
		name             string
		switches         servertest.Switches
		requests, writes int
	}{
		{"together", nil, 5, 1}, // what it can do, a probe, the patient, one that reads, one that stores
		{"no updates in transactions", servertest.Switches{"updatesInTransactions": false}, 10, 5},
		{"heeds no version in transactions", servertest.Switches{"honourIfMatchInBundles": false}, 5, 1},
		{"reads no batches", servertest.Switches{"batch": false}, 13, 1},
	} {
		t.Run(c.name, func(t *testing.T) {
			s.Reset(t, c.switches, smallPatient)
			d := newDelivery(t, s, Transaction)
			d.mustSend(all)
			s.Faults(t)
			if _, err := d.amend(changed, ""); err != nil {
				t.Fatal(err)
			}
			if n := writes(s.State(t)); n != c.writes || d.client.Requests() != c.requests {
				t.Errorf("%d requests, %d that store, want %d and %d", d.client.Requests(), n, c.requests, c.writes)
			}
			d.same(changed, "Provenance ")
			checkProvenance(t, s, 0, 3)
		})
	}
}

// Somebody changes a resource between our reading it and our update: the server
// refuses the transaction, nothing is overwritten, and the rest goes one by one;
// a server that does not heed the version is found out by its counting.
func TestAmendRace(t *testing.T) {
	s := servertest.Start(t)
	all, changed := mapped(t, smallLog, fhirmap.Options{}), weightCorrected(t)
	for heeds, words := range map[bool]string{true: "", false: "look at its history"} {
		s.Reset(t, servertest.Switches{"honourIfMatchInBundles": heeds}, smallPatient)
		d := newDelivery(t, s, Transaction)
		d.mustSend(all)
		s.Faults(t, servertest.Fault{On: 1, Kind: "race"})
		_, err := d.amend(changed, "")
		var conflicts *ErrConflicts
		if errors.As(err, &conflicts) != heeds || heeds && len(conflicts.References()) != 1 {
			t.Errorf("heeds versions %t: %v", heeds, err)
		}
		if said := strings.Join(d.notes, "\n"); !strings.Contains(said, words) {
			t.Errorf("heeds versions %t: said %q", heeds, said)
		}
		kept := 0
		for _, h := range holdings(t, s) {
			if strings.Contains(string(h.raw), `"language":"en"`) {
				kept++
			}
		}
		if heeds && kept != 1 {
			t.Error("the clinic's change was overwritten")
		}
	}
}

// An amendment's Provenance goes the way of the record's: under our own id, or
// not at all.
func TestAmendProvenanceModes(t *testing.T) {
	s := servertest.Start(t)
	changedLog := edited(t, smallLog, "sessions.csv", "63.40,142", "63.50,142")
	for mode, extra := range map[string][]string{fhirmap.PutProvenance: {"Provenance "}, fhirmap.NoProvenance: nil} {
		s.Reset(t, nil, smallPatient)
		d := newDelivery(t, s, Transaction)
		d.provenance = mode
		d.mustSend(mapped(t, smallLog, fhirmap.Options{Options: manifest.Options{Provenance: mode}}))
		changed := mapped(t, changedLog, fhirmap.Options{Options: manifest.Options{Provenance: mode}})
		if _, err := d.amend(changed, ""); err != nil {
			t.Fatal(err)
		}
		d.same(changed, extra...)
		for _, e := range d.open().All() {
			if e.Type == "Provenance" && e.ID != e.Identity {
				t.Errorf("%s: the Provenance stands under %s", mode, e.ID)
			}
		}
		if len(d.open().Amending) != 0 {
			t.Errorf("%s: the amendment still stands in the receipt", mode)
		}
	}
}

// What somebody at the clinic changed is not overwritten, and nothing that is
// derived from it is changed or created, over any number of steps: it would
// contradict the clinic's value. That holds for an input that the log does not
// correct, too. Both values and the cause are told; the rest is done.
func TestAmendConflict(t *testing.T) {
	s := servertest.Start(t)
	changed := mapped(t, edited(t, smallLog, "sessions.csv", "63.40,142", "63.50,144"), fhirmap.Options{})
	for _, c := range []struct {
		style     Style
		switches  servertest.Switches
		touched   string
		corrected int
	}{
		{Transaction, nil, "weight_before", 1},
		{Transaction, servertest.Switches{"honourIfMatchInBundles": false}, "weight_before", 1},
		{Single, nil, "weight_before", 1},
		{Transaction, nil, "weight_after", 2}, // the weight before and the blood pressure
		{Put, nil, "weight_after", 2},
	} {
		s.Reset(t, c.switches, smallPatient)
		d := newDelivery(t, s, c.style)
		all := mapped(t, smallLog, fhirmap.Options{})
		d.mustSend(all)
		weight := findRole(t, d, all, c.touched)
		var edit map[string]any
		must(t, json.Unmarshal(weight.raw, &edit))
		edit["valueQuantity"].(map[string]any)["value"] = 63.6
		s.Edit(t, edit)
		_, err := d.amend(changed, "")
		var conflicts *ErrConflicts
		if !errors.As(err, &conflicts) || fmt.Sprint(conflicts.References()) != "[Observation/"+weight.ID+"]" {
			t.Fatalf("%s, %s: amend: %v", c.style, c.touched, err)
		}
		told := conflicts.Conflicts[0]
		if len(told.HeldBack) < 2 || len(told.Differences) != 1 || told.Differences[0].Theirs != "63.6" || told.Differences[0].Path != "valueQuantity.value" {
			t.Errorf("%s, %s: told %+v", c.style, c.touched, told)
		}
		for _, r := range told.HeldBack {
			if now := findRole(t, d, all, r.Role); now.Meta.VersionID != "1" {
				t.Errorf("%s, %s: %s was changed", c.style, c.touched, r.Role)
			}
		}
		if now := findRole(t, d, all, c.touched); now.Value.Value != "63.6" {
			t.Errorf("%s: the clinic's value was overwritten: %s", c.style, now.raw)
		}
		checkProvenance(t, s, 0, c.corrected)
		s.Faults(t)
		if _, err := d.amend(changed, ""); !errors.As(err, &conflicts) || writes(s.State(t)) != 0 {
			t.Errorf("%s, %s: again: %d writes, %v", c.style, c.touched, writes(s.State(t)), err)
		}
	}
}

// firstWeek is the month to the first session of its second week, without
// readings.
func firstWeek(t *testing.T) string {
	folder := edited(t, "../../../../testdata/month")
	files, err := filepath.Glob(filepath.Join(folder, "*.csv"))
	must(t, err)
	for _, file := range files {
		text, err := os.ReadFile(file)
		must(t, err)
		var kept strings.Builder
		for line := range strings.Lines(string(text)) {
			if strings.HasPrefix(line, "session,") || !strings.HasSuffix(file, "readings.csv") && strings.HasPrefix(line, "2025-10-2") && line < "2025-10-28" {
				kept.WriteString(line)
			}
		}
		must(t, os.WriteFile(file, []byte(kept.String()), 0o600))
	}
	return folder
}

// The values of the weeks are derived from those of the sessions: where the
// clinic changed one of these, they are held back too.
func TestAmendConflictHoldsTheWeeks(t *testing.T) {
	s := servertest.Start(t)
	log := firstWeek(t)
	monthPatient := servertest.Patient("urn:oid:2.25.331383638406541845489215601853980652438", "HHD-00042")
	before := mappedAll(t, log, fhirmap.Options{})
	changed := mappedAll(t, edited(t, log, "sessions.csv", "18:20,71.6,148,83,141,80,72,", "18:20,71.9,148,83,141,80,73,"), fhirmap.Options{})
	for _, c := range []struct {
		style   Style
		touched string
		held    bool
	}{{Transaction, "weight_before", true}, {Single, "weight_before", true}, {Transaction, "pulse_before", false}} {
		s.Reset(t, nil, monthPatient)
		d := newDelivery(t, s, c.style)
		d.mustSend(before)
		weeks := before[len(before)-1]
		var edit map[string]any
		must(t, json.Unmarshal(findRole(t, d, before, c.touched).raw, &edit))
		edit["issued"] = "2025-12-24T08:00:00Z"
		s.Edit(t, edit)
		_, err := d.amend(changed, "")
		var conflicts *ErrConflicts
		if !errors.As(err, &conflicts) || len(conflicts.Conflicts) != 1 {
			t.Fatalf("%s, %s: amend: %v", c.style, c.touched, err)
		}
		corrected := 0
		for _, r := range weeks.Resources {
			if e, _ := d.open().Of(r.Identity); e.Status != receipt.Created && !r.Shared() {
				corrected++
			}
		}
		named := slices.ContainsFunc(conflicts.Conflicts[0].HeldBack, func(r fhirmap.Resource) bool {
			return slices.ContainsFunc(weeks.Resources, func(w fhirmap.Resource) bool { return w.Identity == r.Identity })
		})
		if named != c.held || (corrected == 0) != c.held {
			t.Errorf("%s, %s: %d values of the weeks are corrected; named as held back: %t", c.style, c.touched, corrected, named)
		}
	}
}

// A session with mistakes now is no session withdrawn, and a log that would
// turn the record over is another log.
func TestPlanDoubts(t *testing.T) {
	r, err := receipt.Open(t.TempDir()+"/receipt.json", "https://fhir.example", "")
	if err != nil {
		t.Fatal(err)
	}
	sessions := mapped(t, smallLog, fhirmap.Options{})
	for _, session := range sessions {
		for i, resource := range session.Resources {
			s := &Sender{receipt: r}
			s.record(session, resource, fmt.Sprint("x", i), "1", receipt.Created)
		}
	}
	plan := MakePlan(r, sessions[:2], []string{"c"}, AmendOptions{})
	if !plan.Empty() || fmt.Sprint(plan.Kept) != "[c]" {
		t.Errorf("a session with mistakes: %+v", plan)
	}
	if plan := MakePlan(r, sessions[:2], nil, AmendOptions{}); plan.Doubt() != nil {
		t.Errorf("one session of three gone: %v", plan.Doubt())
	}
	if plan := MakePlan(r, sessions[1:2], nil, AmendOptions{}); plan.Doubt() == nil {
		t.Error("two sessions of three gone: no doubt")
	}
	other := mapped(t, smallLog, fhirmap.Options{Options: manifest.Options{Patient: "Patient/7"}})
	if plan := MakePlan(r, other, nil, AmendOptions{}); !plan.Empty() {
		t.Errorf("the patient is referred to in another way: %+v", plan)
	}
	bare := mapped(t, smallLog, fhirmap.Options{Options: manifest.Options{NoComputed: true}})
	if plan := MakePlan(r, bare, nil, AmendOptions{}); plan.Empty() {
		t.Error("computed values left out: nothing to withdraw")
	}
}

// supplied is the small log with rows of what its sessions used up.
func supplied(t *testing.T, rows string) []Session {
	t.Helper()
	folder := edited(t, smallLog)
	text := "session,what,lot,expires\n" + rows
	if err := os.WriteFile(filepath.Join(folder, "checks.csv"), []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	return mapped(t, folder, fhirmap.Options{})
}

// A corrected lot is a new version of the session's own Device; a supply taken
// out of the log is withdrawn with it, and the Procedure no longer names it.
func TestAmendSupply(t *testing.T) {
	s := servertest.Start(t)
	s.Reset(t, nil, smallPatient)
	log := func(rows string) []Session { return supplied(t, rows) }
	d := newDelivery(t, s, Transaction)
	d.mustSend(log("c,dialyser,L1,2027-03\nc,blood lines,L7,\n"))
	changed := log("c,dialyser,L2,2027-03\nc,blood lines,L7,\n")
	plan, err := d.amend(changed, "")
	if did := plan.Counts(); err != nil || did.Corrected == 0 || did.Withdrawn != 0 || did.Created != 0 && did.Created != 1 {
		t.Fatalf("%v: %+v", err, plan.Counts())
	}
	d.same(changed, "Provenance ")
	if device := findRole(t, d, changed, fhirmap.RoleSupply); !strings.Contains(string(device.raw), `"lotNumber":"L2"`) || device.Meta.VersionID != "2" {
		t.Errorf("device %s", device.raw)
	}
	plan, err = d.amend(log("c,dialyser,L2,2027-03\n"), "")
	if did := plan.Counts(); err != nil || did.Withdrawn != 1 {
		t.Fatalf("%v: %+v", err, plan.Counts())
	}
	d.valid()
}
