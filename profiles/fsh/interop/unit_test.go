//go:build interop

package interop

import (
	"bytes"
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"html"
	"maps"
	"math/rand/v2"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"runsheet.example/testdata/unit"
)

// receiver is a unit of forty people that receives and sends into one server.
type receiver struct {
	*run
	unit *unit.Unit
	work string
	// of is what the server has to have of each person, by their number, with
	// what was sent once and is gone from the log.
	of map[string]record
}

// TestUnit receives what a unit of forty people gets in a month, and sends it.
func TestUnit(t *testing.T) {
	t.Run("unit", func(t *testing.T) {
		r := newReceiver(t)
		r.receive("first", false)
		r.want.before = r.want.now
		r.receive("again", true)
		r.unit.Correct()
		r.receive("ten corrected logs", false)
		r.corrected()
		r.receive("again, corrected", true)
	})
	t.Run("killed", func(t *testing.T) {
		r := newReceiver(t)
		r.kill()
		r.receive("after the kills", false)
		r.want.before = r.want.now
		r.receive("again, after the kills", true)
	})
}

func newReceiver(t *testing.T) *receiver {
	root := t.TempDir()
	r := &receiver{
		run: &run{server: start(t)}, unit: unit.New(t, root, os.Getenv("RUNSHEET")),
		work: filepath.Join(root, "work"), of: map[string]record{},
	}
	for _, p := range r.unit.People {
		patient := map[string]any{"resourceType": "Patient", "identifier": []any{map[string]any{"system": unit.System, "value": p.Number}}}
		if p.Hospital != "" {
			patient["identifier"] = []any{map[string]any{"system": unit.HospitalSystem, "value": p.Hospital}}
		}
		if p.Reference == "" {
			r.mustDo("POST", "/Patient", patient)
			continue
		}
		patient["id"] = strings.TrimPrefix(p.Reference, "Patient/")
		r.mustDo("PUT", "/"+p.Reference, patient)
	}
	return r
}

func (r *receiver) command() *exec.Cmd {
	return exec.Command(os.Getenv("RUNSHEET"), "receive", r.unit.Inbox, "--roster", r.unit.Roster, "--identity", r.unit.Key, "-o", r.work, "--to", r.base, "--yes")
}

// receive is one run of the program, after which the server has to have what the
// exports hold and the status page has to name what was set aside.
func (r *receiver) receive(what string, nothingNew bool) {
	r.Helper()
	writes := 0
	r.step(what, 0, func() {
		began := time.Now() //nolint:forbidigo // how long it took is shown
		cmd := r.command()
		var said bytes.Buffer
		cmd.Stdout, cmd.Stderr = &said, &said
		must(r.T, cmd.Start())
		ended := make(chan error)
		go func() { ended <- cmd.Wait() }()
		err, most := memory(cmd.Process.Pid, ended)
		var exit *exec.ExitError
		if !errors.As(err, &exit) || exit.ExitCode() != exitIncomplete { // something is set aside
			r.Fatalf("%v\n%s", err, said.String())
		}
		r.Logf("%s: receive took %.1f s and %s", what, time.Since(began).Seconds(), most)
		_, writes = r.counted()
		r.expect()
	})
	if nothingNew && writes > 0 {
		r.Errorf("%s: %d writes, where all was there", what, writes)
	}
	r.counts(what)
	r.status(what, nothingNew)
}

// memory waits for the end of a process, and returns the most that it used. The
// usage that the system keeps for the parent counts the parent's own memory too.
func memory(pid int, ended chan error) (err error, most string) {
	for {
		status, _ := os.ReadFile(fmt.Sprintf("/proc/%d/status", pid)) // empty elsewhere
		if _, line, ok := strings.Cut(string(status), "VmHWM:"); ok {
			most, _, _ = strings.Cut(strings.TrimSpace(line), "\n")
		}
		select {
		case err = <-ended:
			return err, most
		case <-time.After(50 * time.Millisecond):
		}
	}
}

// expect reads the exports in the work folder.
func (r *receiver) expect() {
	r.want.now = record{}
	folders, err := filepath.Glob(filepath.Join(r.work, "people", "*", "*", "export"))
	must(r.T, err)
	for _, folder := range folders {
		log := exported(r.T, folder)
		p := r.owner(folder, log)
		known := "Patient " + cmp.Or(p.Hospital, p.Number)
		for key, one := range log {
			log[key] = renamed(r.T, one, "Patient "+p.Number, known)
		}
		maps.Copy(r.want.now, log)
		if r.of[p.Number] == nil {
			r.of[p.Number] = record{}
		}
		maps.Copy(r.of[p.Number], log)
	}
	if len(folders) != len(r.unit.People) {
		r.Errorf("%d exports of %d people", len(folders), len(r.unit.People))
	}
}

// owner is the person whom all of an export is about.
func (r *receiver) owner(folder string, log record) unit.Person {
	numbers := map[string]bool{}
	for _, one := range log {
		if subject, ok := one.content["subject"].(map[string]any); ok {
			numbers[asText(subject["reference"])] = true
		}
	}
	for _, p := range r.unit.People {
		if len(numbers) == 1 && numbers["Patient "+p.Number] {
			return p
		}
	}
	r.Fatalf("%s is about %v", folder, numbers)
	return unit.Person{}
}

// renamed is a resource with references to another patient.
func renamed(t *testing.T, one resource, from, to string) resource {
	t.Helper()
	text, err := json.Marshal(one.content)
	must(t, err)
	one.content = nil
	must(t, decode([]byte(strings.ReplaceAll(string(text), `"reference":"`+from+`"`, `"reference":"`+to+`"`)), &one.content))
	return one
}

// counts asks the server for the number of resources of each person, by the
// identifier of the patient.
func (r *receiver) counts(what string) {
	r.Helper()
	all := map[string]int{}
	for _, p := range r.unit.People {
		system, number := unit.System, p.Number
		if p.Hospital != "" {
			system, number = unit.HospitalSystem, p.Hospital
		}
		want := map[string]int{}
		for _, one := range r.of[p.Number] {
			want[one.kind]++
		}
		for _, kind := range []string{"Procedure", "Observation", "MedicationAdministration"} {
			var found struct{ Total int }
			get(r.T, r.base+"/"+kind+"?_summary=count&subject:Patient.identifier="+url.QueryEscape(system+"|"+number), &found)
			if all[kind] += found.Total; found.Total != want[kind] {
				r.Errorf("%s: %d %s of %s at the server, %d in the export", what, found.Total, kind, p.Number, want[kind])
			}
		}
	}
	r.Logf("%s: found by the numbers of %d patients: %v", what, len(r.unit.People), all)
}

// status holds the status page against what the inbox holds.
func (r *receiver) status(what string, nothingNew bool) {
	r.Helper()
	text, err := os.ReadFile(filepath.Join(r.work, "status.json"))
	must(r.T, err)
	var status struct {
		Rows []struct {
			Number, Item, Server string
			Sessions, LeftOut    int
			Failed               bool
		}
		SetAside []struct{ Item, Reason string }
	}
	must(r.T, json.Unmarshal(text, &status))
	for i, p := range r.unit.People {
		row := status.Rows[i]
		if row.Number != p.Number || row.Item != cmp.Or(p.Corrected, p.Item) || row.Sessions != p.Sessions || row.LeftOut != p.LeftOut || row.Failed || nothingNew && row.Server != "has all of it" {
			r.Errorf("%s: the row is %+v of %+v", what, row, p)
		}
	}
	reasons := map[string]string{}
	for _, a := range status.SetAside {
		reasons[a.Item] = a.Reason
	}
	for item, reason := range r.unit.Aside {
		if !strings.Contains(reasons[item], reason) {
			r.Errorf("%s: %s is set aside with %q in place of %q", what, item, reasons[item], reason)
		}
	}
	page, err := os.ReadFile(filepath.Join(r.work, "status.html"))
	must(r.T, err)
	for _, item := range slices.Concat(slices.Collect(maps.Keys(r.unit.Aside)), slices.Collect(maps.Keys(r.unit.Same))) {
		if n := strings.Count(string(page), "<li><b>"+html.EscapeString(item)+"</b>"); n != 1 {
			r.Errorf("%s: %s stands %d times on the status page", what, item, n)
		}
	}
	if n := strings.Count(string(page), "<li>"); n != len(r.unit.Aside)+len(r.unit.Same) {
		r.Errorf("%s: %d files on the status page, expected %d set aside and %d that came twice", what, n, len(r.unit.Aside), len(r.unit.Same))
	}
	r.Logf("%s: %d rows, %d set aside, %d the same again", what, len(status.Rows), len(status.SetAside), len(r.unit.Same))
}

// corrected looks at the status of each value that a corrected log changes.
func (r *receiver) corrected() {
	r.Helper()
	statuses := map[string]int{}
	for key, was := range r.want.before {
		now, ok := r.want.now[key]
		if was.kind != "Observation" && was.kind != "Procedure" || ok && difference("", was.content, now.content) == "" {
			continue
		}
		status, want := asText(r.there[key].content["status"]), []string{"entered-in-error"}
		if ok {
			want = []string{asText(now.content["status"])}
		}
		if ok && was.kind == "Observation" && want[0] == "final" && was.content["status"] == "final" {
			want = []string{"corrected", "amended"}
		}
		statuses[was.kind+" "+status]++
		if !slices.Contains(want, status) {
			r.Errorf("%s: its status is %s after the correction, expected %v", key, status, want)
		}
	}
	r.Logf("statuses of what was corrected: %v", statuses)
	if len(statuses) == 0 {
		r.Error("nothing was corrected")
	}
}

// kill starts the program and kills it (signal 9) at random moments of the first
// load, RUNSHEET_KILLS times.
func (r *receiver) kill() {
	r.Helper()
	kills, err := strconv.Atoi(cmp.Or(os.Getenv("RUNSHEET_KILLS"), "50"))
	must(r.T, err)
	random := rand.New(rand.NewPCG(1, 2))
	began, ended := time.Now(), 0 //nolint:forbidigo // how long it took is shown
	for done := 0; done < kills; {
		cmd := r.command()
		must(r.T, cmd.Start())
		time.Sleep(time.Duration(random.IntN(15_000)) * time.Millisecond)
		_ = cmd.Process.Signal(syscall.SIGKILL)
		var exit *exec.ExitError
		if err := cmd.Wait(); errors.As(err, &exit) && exit.Sys().(syscall.WaitStatus).Signaled() {
			done++
			continue
		}
		if ended++; ended > 3 {
			r.Fatalf("the first load ended after %d kills", done)
		}
	}
	_, writes := r.counted()
	r.Logf("%d kills in %.0f s, with %d writes", kills, time.Since(began).Seconds(), writes)
	if writes == 0 {
		r.Error(fmt.Sprint("nothing was sent before the last kill"))
	}
}
