//go:build interop

package interop

import (
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"net/http"
	"os/exec"
	"slices"
	"strings"
	"sync"
)

// exitIncomplete is the exit code of a command that left the record incomplete.
const exitIncomplete = 3

// refused runs the program, which must end with an exit code other than 0, or
// with the one given, and say some words.
func (r *run) refused(code int, arguments []string, words ...string) {
	r.Helper()
	var err error
	r.said, err = program(arguments...)
	var exit *exec.ExitError
	if !errors.As(err, &exit) || code != 0 && exit.ExitCode() != code {
		r.Errorf("%v ended with %v", arguments, err)
	}
	for _, one := range words {
		if !strings.Contains(r.said, one) {
			r.Errorf("%v did not say %q: %s", arguments, one, r.said)
		}
	}
}

// partial deletes a part of the record; sending reports that, and repair sends
// it again.
func (r *run) partial(out, receipt string) {
	there, _ := standing(r.T, r.base)
	// A server may refuse to delete what another resource refers to, so each
	// Provenance goes before what it is about.
	deleted := 0
	for _, kind := range []string{"Provenance", "Observation"} {
		for i, key := range slices.Sorted(maps.Keys(there)) {
			ours, isNow := r.want.now[key]
			if there[key].kind != kind || !isNow || kind == "Observation" && (i%3 > 0 || ours.content["hasMember"] != nil) {
				continue
			}
			if status, _ := r.do(http.MethodDelete, "/"+there[key].place, nil); status < http.StatusMultipleChoices {
				deleted++
			}
		}
	}
	if deleted == 0 {
		r.Fatal("the server let nothing be deleted")
	}
	r.refused(exitIncomplete, r.send(out, receipt), "no longer has")
	r.want.restored = true
	r.step(fmt.Sprintf("repair, %d lost", deleted), 0, func() { r.mustCall(r.send(out, receipt, "--repair")...) })
}

// wiped empties the server and sends all of it again.
func (r *run) wiped(out, receipt string) {
	r.wipe()
	r.patient()
	r.refused(0, r.send(out, receipt), "it was emptied or set up anew")
	r.want = expectation{now: r.want.now, before: r.want.now}
	r.step("repair, emptied", 0, func() { r.mustCall(r.send(out, receipt, "--repair")...) })
	r.verify("verify again", out, receipt)
}

// another sends the log of another patient under the same log id: nothing of it
// goes where the first one's went, and with receipts of their own two senders
// at once file all of it under the other. It returns what each has.
func (r *run) another(receipt string) (first, second record) {
	log, first := another(r.T, r.log), r.want.now
	out := r.export(log, "--provenance", "put")
	second = r.want.now
	r.patient()
	r.want.now = first
	r.idle("wrong patient", func() { r.refused(0, r.send(out, receipt), "a patient with another identifier") })
	both := maps.Clone(first)
	maps.Copy(both, second)
	r.want = expectation{now: both, before: both}
	r.step("a second patient, --provenance put, two senders at once", 0, func() {
		var errs [2]error
		var group sync.WaitGroup
		for i := range errs {
			arguments := r.send(out, r.fresh())
			group.Go(func() {
				// One that is refused is called again.
				for tries := 0; tries == 0 || errs[i] != nil && tries < 5; tries++ {
					_, errs[i] = program(arguments...)
				}
			})
		}
		group.Wait()
		must(r.T, errors.Join(errs[:]...))
	})
	out = r.export(log)
	r.want.now = both
	r.idle("the second patient, receipt lost, --provenance conditional", func() { r.mustCall(r.send(out, r.fresh())...) })
	return first, second
}

// conflict lets the clinic change a weight that the log changes too: it stays,
// and so does all that depends on it, while the rest is amended.
func (r *run) conflict(receipt string, first, second record) {
	r.log = amended(r.T, r.log)
	r.export(r.log)
	now, edited := r.want.now, ""
	for key, ours := range now {
		if ours.content["valueQuantity"] != nil && ours.content["derivedFrom"] == nil && difference("", first[key].content, ours.content) != "" {
			edited = key
		}
	}
	if edited == "" {
		r.Fatal("the amended log changes no measurement")
	}
	there, _ := standing(r.T, r.base)
	theirs := there[edited]
	r.edit(theirs.place)
	theirs.content["valueQuantity"].(map[string]any)["value"] = json.Number(clinics)

	held := dependents(now, edited)
	expected := maps.Clone(now)
	maps.DeleteFunc(expected, func(key string, _ resource) bool { return held[key] })
	for key, one := range first {
		if held[key] {
			expected[key] = one
		}
	}
	expected[edited] = theirs
	maps.Copy(expected, second)
	before := maps.Clone(first)
	maps.Copy(before, second)
	r.want = expectation{now: expected, before: before, edited: edited}

	ours := now[edited].content["valueQuantity"].(map[string]any)["value"].(json.Number)
	amend := func() {
		r.refused(exitIncomplete, r.amend(r.log, receipt), "derived from it", theirs.place, clinics, ours.String())
	}
	r.step(fmt.Sprintf("amend, the clinic changed a weight, %d held back", len(held)), 0, amend)
	r.idle("amend again, the clinic changed a weight", amend)
}

// clinics is the value that the clinic writes.
const clinics = "99.9"

// edit changes a value as somebody at the clinic would.
func (r *run) edit(place string) {
	r.Helper()
	var resource map[string]any
	get(r.T, r.base+"/"+place, &resource)
	resource["valueQuantity"].(map[string]any)["value"] = json.Number(clinics)
	r.mustDo(http.MethodPut, "/"+place, resource)
}

// dependents are the keys of what is derived, directly or indirectly, from a
// resource.
func dependents(all record, key string) map[string]bool {
	found := map[string]bool{key: true}
	for before := 0; before < len(found); {
		before = len(found)
		for key, one := range all {
			inputs, _ := one.content["derivedFrom"].([]any)
			for _, input := range inputs {
				// The weeks name what is in another Bundle by its identifier.
				input := input.(map[string]any)
				identifier, _ := input["identifier"].(map[string]any)
				if found[asText(input["reference"])] || found[asText(input["type"])+" "+asText(identifier["value"])] {
					found[key] = true
				}
			}
		}
	}
	delete(found, key)
	return found
}
