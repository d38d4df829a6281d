//go:build interop

// Package interop sends a log to HAPI FHIR's JPA server and compares what the
// server has afterwards with the export: each resource once, with its content
// and its references, and nothing else. .ci/interop runs it.
package interop

import (
	"fmt"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
)

// run is what is done with one server.
type run struct {
	*server
	log, style string
	// createPatient lets the export bring the patient; else the server has one
	// with the log's identifier.
	createPatient bool
	want          expectation
	// said is the output of the last command, there what the server had after
	// the last step.
	said  string
	there record
}

// posted is the style of anyone who posts the files as they are.
const posted = "posted"

// TestDelivery sends the log in the folder LOG, with five sessions entered at
// one time, in each style to a server of its own.
func TestDelivery(t *testing.T) {
	for i, style := range []string{posted, "transaction", "batch", "single", "put"} {
		t.Run(style, func(t *testing.T) {
			r := &run{server: start(t), log: together(t, os.Getenv("LOG")), style: style, createPatient: i%2 == 0}
			out := r.export(r.log)
			r.want.before = r.want.now
			times := map[any]int{}
			for _, one := range r.want.now {
				if one.kind == "Provenance" {
					times[one.content["recorded"]]++
				}
			}
			if most := slices.Max(slices.Collect(maps.Values(times))); most != equal {
				t.Fatalf("%d Provenances have one time, want %d", most, equal)
			}
			r.patient()
			if style == posted {
				r.posted(out)
				return
			}
			out, receipt := r.sent(out)
			r.partial(out, receipt)
			r.wiped(out, receipt)
			first, second := r.another(receipt)
			r.conflict(receipt, first, second)
		})
	}
}

// posted sends the files as they are.
func (r *run) posted(out string) {
	post := func() {
		for _, file := range bundles(r.T, out) {
			text, err := os.ReadFile(file)
			must(r.T, err)
			r.mustDo("POST", "", text)
		}
	}
	r.step("each Bundle", 0, post)
	r.step("each again", 0, post)
}

// sent sends with the program, and amends. It returns the export of the amended
// log and the receipt.
func (r *run) sent(out string) (amendedOut, receipt string) {
	receipt = filepath.Join(r.TempDir(), "receipt.json")
	send := func() { r.mustCall(r.send(out, receipt)...) }
	const lost = 3 // in the middle of the first sessions
	r.step("send, an answer lost", lost, send)
	r.idle("send again", send)
	must(r.T, os.Remove(receipt))
	r.idle("send, receipt lost", send)
	if strings.Contains(r.said, "other content") {
		r.Errorf("what was sent before is taken for other content: %s", r.said)
	}
	now := r.want.now
	for _, mode := range []string{"put", "none"} {
		other := r.export(r.log, "--provenance", mode)
		r.want.now = now
		r.idle("send, receipt lost, --provenance "+mode, func() { r.mustCall(r.send(other, r.fresh())...) })
	}
	r.log = amended(r.T, r.log)
	out = r.export(r.log)
	amend := func() { r.mustCall(r.amend(r.log, receipt)...) }
	r.step("amend", 0, amend)
	r.idle("amend again", amend)
	r.verify("verify", out, receipt)
	return out, receipt
}

// step does one thing, counts what it asked of the server, and compares.
func (r *run) step(what string, lose int, do func()) {
	r.Helper()
	r.begin(lose)
	began := time.Now() //nolint:forbidigo // how long it took is shown
	do()
	took := time.Since(began)
	requests, writes := r.counted()
	there, differences := standing(r.T, r.base)
	r.there = there
	differences = append(differences, r.want.compare(there)...)
	held := map[string]int{}
	for _, one := range there {
		held[one.kind]++
	}
	r.Logf("%s: %d requests, %d writes, %.1f s, %v, %d differences", what, requests, writes, took.Seconds(), held, len(differences))
	const most = 10
	for i, d := range differences {
		if i == most {
			r.Errorf("%s: and %d more", what, len(differences)-most)
			break
		}
		r.Errorf("%s: %s", what, d)
	}
}

// idle is a step that must change nothing.
func (r *run) idle(what string, do func()) {
	r.Helper()
	writes := 0
	r.step(what, 0, func() {
		do()
		_, writes = r.counted()
	})
	if writes > 0 {
		r.Errorf("%s: %d writes, where all was there", what, writes)
	}
}

// fresh names a receipt that does not exist yet.
func (r *run) fresh() string { return filepath.Join(r.TempDir(), "receipt.json") }

func (r *run) send(out, receipt string, more ...string) []string {
	return append([]string{"send", out, "--receipt", receipt, "--to", r.base, "--style", r.style, "--yes"}, more...)
}

func (r *run) verify(what, out, receipt string) {
	r.Helper()
	r.idle(what, func() { r.mustCall("send", out, "--receipt", receipt, "--to", r.base, "--verify") })
	r.Log(r.said)
}

func (r *run) amend(log, receipt string) []string {
	return append(r.options("amend", log), "--receipts", receipt, "--to", r.base, "--reason", "scales read wrongly", "--yes")
}

// options are those an amendment shares with the export.
func (r *run) options(command, log string) []string {
	out := []string{command, log, "--claim-profiles"}
	if r.createPatient {
		out = append(out, "--create-patient")
	}
	return out
}

// export makes an export, which the server must have from now on.
func (r *run) export(log string, more ...string) (out string) {
	r.Helper()
	out = filepath.Join(r.TempDir(), "out")
	r.mustCall(append(append(r.options("export", log), "-o", out), more...)...)
	r.want.now = exported(r.T, out)
	return out
}

// program runs the program in RUNSHEET.
func program(arguments ...string) (said string, err error) {
	text, err := exec.Command(os.Getenv("RUNSHEET"), arguments...).CombinedOutput()
	said = strings.TrimSpace(string(text))
	if err != nil {
		err = fmt.Errorf("%s: %w\n%s", arguments[0], err, said)
	}
	return said, err
}

func (r *run) mustCall(arguments ...string) {
	r.Helper()
	var err error
	r.said, err = program(arguments...)
	must(r.T, err)
}

// patient creates the patient that the log names, unless the export brings it.
func (r *run) patient() {
	r.Helper()
	if r.createPatient {
		return
	}
	for _, one := range r.want.now {
		if subject, _ := one.content["subject"].(map[string]any); subject["identifier"] != nil {
			r.mustDo("POST", "/Patient", map[string]any{"resourceType": "Patient", "identifier": []any{subject["identifier"]}})
			return
		}
	}
	r.Fatal("no resource of the export names the patient's identifier")
}
