package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"log"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"time"
)

// run is what is done with one server.
type run struct {
	program, log, work, style string
	// createPatient lets the export bring the patient; else the server has one
	// with the log's identifier.
	createPatient bool
	server        *server
	before, now   record
	// restored allows a second creation under an id that was deleted.
	restored bool
	said     string
	steps    []step
}

func (r *run) all() error {
	if err := os.MkdirAll(r.work, 0o700); err != nil {
		return err
	}
	caughtUp := filepath.Join(r.work, "log")
	if err := together(r.log, caughtUp); err != nil {
		return err
	}
	r.log = caughtUp
	if err := r.export(r.log, "out"); err != nil {
		return err
	}
	r.before = r.now
	if !r.createPatient {
		if err := r.patient(); err != nil {
			return err
		}
	}
	if r.style == posted {
		return r.posted()
	}
	return r.sent()
}

// posted sends the files as they are, as anyone may.
func (r *run) posted() error {
	files, err := bundles(filepath.Join(r.work, "out"))
	if err != nil {
		return err
	}
	post := func() error {
		for _, file := range files {
			text, err := os.ReadFile(file)
			if err != nil {
				return err
			}
			if err := r.post("", text); err != nil {
				return fmt.Errorf("%s: %w", filepath.Base(file), err)
			}
		}
		return nil
	}
	if err := r.step("each Bundle", 0, post); err != nil {
		return err
	}
	return r.step("each again", 0, post)
}

// sent sends with the program, and amends.
func (r *run) sent() error {
	out, receipt := filepath.Join(r.work, "out"), filepath.Join(r.work, "out.receipt.json")
	send := func() error {
		return r.call("send", out, "--to", r.server.base, "--style", r.style, "--yes")
	}
	const lost = 3 // the write whose answer is lost: in the midst of the first sessions
	if err := r.step("send, an answer lost", lost, send); err != nil {
		return err
	}
	if err := r.step("send again", 0, send); err != nil {
		return err
	}
	r.noWrites()
	if err := os.Remove(receipt); err != nil {
		return err
	}
	if err := r.step("send, receipt lost", 0, send); err != nil {
		return err
	}
	r.noWrites()
	if strings.Contains(r.said, "other content") {
		r.differs("what was sent before is taken for other content: " + r.said)
	}
	changed := filepath.Join(r.work, "changed")
	if err := amended(r.log, changed); err != nil {
		return err
	}
	if err := r.export(changed, "expected"); err != nil {
		return err
	}
	amend := func() error {
		return r.call(append(r.options("amend", changed),
			"--receipts", receipt, "--to", r.server.base, "--reason", "scales read wrongly", "--yes")...)
	}
	if err := r.step("amend", 0, amend); err != nil {
		return err
	}
	if err := r.step("amend again", 0, amend); err != nil {
		return err
	}
	r.noWrites()
	if err := r.step("verify", 0, func() error {
		return r.call("send", filepath.Join(r.work, "expected"), "--receipt", receipt, "--to", r.server.base, "--verify")
	}); err != nil {
		return err
	}
	r.noWrites()
	return r.troubled(changed, receipt)
}

// step does one thing, counts what it asked of the server, and compares.
func (r *run) step(what string, lose int, do func() error) error {
	r.server.begin(lose)
	began := time.Now() //nolint:forbidigo // how long it took is what the table is for
	failed := do()
	s := step{style: r.style, what: what, took: time.Since(began), counts: map[string]int{}}
	s.requests, s.writes = r.server.counted()
	there, twice, err := standing(r.server.base)
	if err != nil {
		return err
	}
	for _, stored := range there {
		s.counts[stored.kind]++
	}
	s.differences = append(twice, compare(there, r.now, r.before, r.restored)...)
	r.steps = append(r.steps, s)
	log.Printf("%s: %s: %d differences", r.style, what, len(s.differences))
	if failed != nil {
		return fmt.Errorf("%s: %w", what, failed)
	}
	return nil
}

func (r *run) differs(text string) {
	last := &r.steps[len(r.steps)-1]
	last.differences = append(last.differences, text)
}

// noWrites holds that the last step changed nothing.
func (r *run) noWrites() {
	if n := r.steps[len(r.steps)-1].writes; n > 0 {
		r.differs(fmt.Sprintf("%d writes, where all was there", n))
	}
}

// options are those an amendment shares with the export.
func (r *run) options(command, log string) []string {
	out := []string{command, log, "--claim-profiles"}
	if r.createPatient {
		out = append(out, "--create-patient")
	}
	return out
}

// export makes an export; it is what the server must hold from now on.
func (r *run) export(log, name string) error {
	folder := filepath.Join(r.work, name)
	if err := r.call(append(r.options("export", log), "-o", folder)...); err != nil {
		return err
	}
	var err error
	r.now, err = exported(folder)
	return err
}

// call runs the program.
func (r *run) call(arguments ...string) error {
	said, err := exec.Command(r.program, arguments...).CombinedOutput()
	if r.said = string(bytes.TrimSpace(said)); err != nil {
		return fmt.Errorf("%s: %w\n%s", arguments[0], err, r.said)
	}
	return nil
}

// patient creates the patient the log names, as a clinic would have it.
func (r *run) patient() error {
	for _, key := range r.now {
		subject, _ := key.content["subject"].(map[string]any)
		if subject["identifier"] == nil {
			continue
		}
		text, err := json.Marshal(map[string]any{"resourceType": "Patient", "identifier": []any{subject["identifier"]}})
		if err != nil {
			return err
		}
		return r.post("/Patient", text)
	}
	return fmt.Errorf("no resource of the export names the patient's identifier")
}

func (r *run) post(path string, text []byte) error {
	response, err := http.Post(r.server.base+path, "application/fhir+json", bytes.NewReader(text))
	if err != nil {
		return err
	}
	defer response.Body.Close()
	answer, err := io.ReadAll(response.Body)
	if err != nil {
		return err
	}
	if !slices.Contains([]int{http.StatusOK, http.StatusCreated}, response.StatusCode) {
		const most = 600
		return fmt.Errorf("%s: %s", response.Status, answer[:min(len(answer), most)])
	}
	return nil
}
