package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
)

// exitIncomplete is the exit code of a command that left the record incomplete.
const exitIncomplete = 3

// refused runs the program and holds that it ends with another exit code than 0,
// or with the one given, and says some words.
func (r *run) refused(code int, words string, arguments ...string) error {
	err := r.call(arguments...)
	var exit *exec.ExitError
	if !errors.As(err, &exit) || code != 0 && exit.ExitCode() != code || !strings.Contains(r.said, words) {
		r.differs(fmt.Sprintf("%v ended with %v and did not say %q: %s", arguments, err, words, r.said))
	}
	return nil
}

// empty starts the server anew, with the patient where the clinic has one.
func (r *run) empty() error {
	if err := r.server.wipe(); err != nil || r.createPatient {
		return err
	}
	return r.patient()
}

// race lets two senders send the same at once, each with a receipt of its own;
// one that is refused is called again.
func (r *run) race(out string) error {
	const tries = 5
	send := func(receipt string) (err error) {
		for range tries {
			said, failed := exec.Command(r.program, "send", out, "--to", r.server.base, "--style", r.style,
				"--receipt", filepath.Join(r.work, receipt), "--yes").CombinedOutput()
			if err = failed; err == nil {
				return nil
			}
			err = fmt.Errorf("%w\n%s", failed, said)
		}
		return err
	}
	return r.step("a second patient, two senders at once", 0, func() error {
		var errs [2]error
		var group sync.WaitGroup
		for i := range errs {
			group.Go(func() { errs[i] = send(fmt.Sprintf("racer%d.json", i)) })
		}
		group.Wait()
		return errors.Join(errs[:]...)
	})
}

// troubled is what befalls a record that was sent and amended.
func (r *run) troubled(log, receipt string) error {
	out := filepath.Join(r.work, "expected")
	for _, do := range []func(log, out, receipt string) error{r.partial, r.wiped, r.another, r.conflict} {
		if err := do(log, out, receipt); err != nil {
			return err
		}
	}
	return nil
}

func (r *run) repair(out, receipt string) error {
	return r.call("send", out, "--receipt", receipt, "--to", r.server.base, "--style", r.style, "--repair", "--yes")
}

// partial deletes some of the record, which is noticed and put right.
func (r *run) partial(_, out, receipt string) error {
	there, _, err := standing(r.server.base)
	if err != nil {
		return err
	}
	// A server may refuse to delete what another resource refers to, so each
	// Provenance goes before what it is about.
	deleted := 0
	for _, kind := range []string{"Provenance", "Observation"} {
		for i, key := range slices.Sorted(maps.Keys(there)) {
			ours, isNow := r.now[key]
			if there[key].kind != kind || !isNow || kind == "Observation" && (i%3 > 0 || ours.content["hasMember"] != nil) {
				continue
			}
			request, err := http.NewRequest(http.MethodDelete, r.server.base+"/"+there[key].place, nil)
			if err != nil {
				return err
			}
			response, err := http.DefaultClient.Do(request)
			if err != nil {
				return err
			}
			response.Body.Close()
			if response.StatusCode < http.StatusMultipleChoices {
				deleted++
			}
		}
	}
	if deleted == 0 {
		return errors.New("the server let nothing be deleted")
	}
	if err := r.refused(exitIncomplete, "no longer has", "send", out, "--receipt", receipt, "--to", r.server.base, "--style", r.style, "--yes"); err != nil {
		return err
	}
	r.restored = true
	return r.step(fmt.Sprintf("repair, %d lost", deleted), 0, func() error { return r.repair(out, receipt) })
}

// wiped empties the server and sends all of it again.
func (r *run) wiped(_, out, receipt string) error {
	if err := r.empty(); err != nil {
		return err
	}
	if err := r.refused(0, "it was emptied or set up anew", "send", out, "--receipt", receipt, "--to", r.server.base, "--style", r.style, "--yes"); err != nil {
		return err
	}
	r.before = r.now
	if err := r.step("repair, emptied", 0, func() error { return r.repair(out, receipt) }); err != nil {
		return err
	}
	return r.step("verify again", 0, func() error {
		return r.call("send", out, "--receipt", receipt, "--to", r.server.base, "--verify")
	})
}

var identifierValue = regexp.MustCompile(`(?m)^identifier_value = "[^"]*"`)

// another copies the log for another patient, under the same log id: nothing of
// it goes where the first one's went, and with receipts of their own two
// senders file all of it under the other.
func (r *run) another(log, _, receipt string) error {
	copied, out := filepath.Join(r.work, "other"), filepath.Join(r.work, "other-out")
	if err := os.CopyFS(copied, os.DirFS(log)); err != nil {
		return err
	}
	about := filepath.Join(copied, "log.toml")
	text, err := os.ReadFile(about)
	if err != nil {
		return err
	}
	if err := os.WriteFile(about, identifierValue.ReplaceAll(text, []byte(`identifier_value = "ANOTHER-1"`)), 0o600); err != nil {
		return err
	}
	first := r.now
	if err := r.export(copied, "other-out"); err != nil {
		return err
	}
	other := r.now
	if !r.createPatient {
		if err := r.patient(); err != nil {
			return err
		}
	}
	r.now, r.before = first, first
	if err := r.step("wrong patient", 0, func() error {
		return r.refused(0, "a patient with another identifier", "send", out, "--receipt", receipt, "--to", r.server.base, "--style", r.style, "--yes")
	}); err != nil {
		return err
	}
	r.noWrites()
	both := maps.Clone(first)
	maps.Copy(both, other)
	r.now, r.before = both, both
	return r.race(out)
}

// conflict lets the clinic change a weight that the log changes too: it stays,
// and so does all that is derived from it.
func (r *run) conflict(log, _, receipt string) error {
	again := filepath.Join(r.work, "again")
	if err := amended(log, again); err != nil {
		return err
	}
	first := r.now
	if err := r.export(again, "again-out"); err != nil {
		return err
	}
	there, _, err := standing(r.server.base)
	if err != nil {
		return err
	}
	touched := ""
	for _, key := range slices.Sorted(maps.Keys(r.now)) {
		ours := r.now[key]
		if ours.content["valueQuantity"] != nil && ours.content["derivedFrom"] == nil && difference("", first[key].content, ours.content) != "" {
			touched = key
		}
	}
	if touched == "" {
		return errors.New("the amended log changes no measurement")
	}
	if err := r.edit(there[touched].place); err != nil {
		return err
	}
	if err := r.refused(exitIncomplete, "derived from it", append(r.options("amend", again),
		"--receipts", receipt, "--to", r.server.base, "--yes")...); err != nil {
		return err
	}
	now, _, err := standing(r.server.base)
	if err != nil {
		return err
	}
	for _, key := range slices.Sorted(maps.Keys(now)) {
		from, err := json.Marshal(now[key].content["derivedFrom"])
		if err != nil {
			return err
		}
		if strings.Contains(string(from), touched) && now[key].version != there[key].version {
			r.differs(key + " was changed, though the clinic had changed what it is derived from")
		}
	}
	value, err := json.Marshal(now[touched].content["valueQuantity"])
	if err != nil || !bytes.Contains(value, []byte(`"value":99.9`)) {
		r.differs("the clinic's value was overwritten: " + string(value))
	}
	return nil
}

// edit changes a value as somebody at the clinic would.
func (r *run) edit(place string) error {
	var resource map[string]any
	if err := get(r.server.base+"/"+place, &resource); err != nil {
		return err
	}
	quantity, _ := resource["valueQuantity"].(map[string]any)
	quantity["value"] = json.Number("99.9")
	text, err := json.Marshal(resource)
	if err != nil {
		return err
	}
	request, err := http.NewRequest(http.MethodPut, r.server.base+"/"+place, bytes.NewReader(text))
	if err != nil {
		return err
	}
	request.Header.Set("Content-Type", "application/fhir+json")
	response, err := http.DefaultClient.Do(request)
	if err != nil {
		return err
	}
	defer response.Body.Close()
	if response.StatusCode != http.StatusOK {
		return fmt.Errorf("edited as the clinic: %s", response.Status)
	}
	return nil
}
