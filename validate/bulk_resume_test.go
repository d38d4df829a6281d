package validate_test

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"runsheet.example/validate"
	"runsheet.example/validate/report"
)

// mixed is a folder with all that is read and most that can be wrong: sessions
// with faults, one of them again, NDJSON whose values stand lines apart from
// their inputs, broken documents, a manifest above and one below.
func mixed(t *testing.T) string {
	t.Helper()
	sound := session(t)
	faulty := strings.Replace(sound, `"value": 71`, `"value": 710`, 1)
	files := map[string]string{
		"a.json":         faulty,
		"b.json":         renamed(strings.ReplaceAll(sound, "2025-10-29", "2025-10-31")),
		"c.json":         strings.Replace(sound, `"kg"`, `"KG"`, 1),
		"broken.json":    `{"resourceType":"Obs`,
		"empty.ndjson":   "",
		"lines.ndjson":   scattered(),
		"below/d.json":   sound,
		"below/e.ndjson": "{}\n\n" + strings.Repeat(`{"resourceType":"Nothing"}`+"\n", 300) + "[",
	}
	below := map[string]string{"d.json": sound}
	files["below/manifest.json"] = manifest(below, "")
	files["manifest.json"] = manifest(map[string]string{"a.json": faulty, "gone.json": "{}"}, "")
	return folder(t, files)
}

// scattered is NDJSON of many parts in which every value computed has its inputs
// hundreds of lines before or behind it. Half of the values are wrong.
func scattered() string {
	const many = 250
	var weights, removed, treated, computed []string
	input := func(id, code, value, unit string) string {
		return fmt.Sprintf(`{"resourceType":"Observation","id":%q,"status":"final","subject":{"reference":"Patient/1"},"code":{"coding":[%s]},"effectiveDateTime":"2026-01-05","valueQuantity":{"value":%s,"unit":%q,"system":"http://unitsofmeasure.org","code":%q}}`, id, code, value, unit, unit)
	}
	for i := range many {
		weights = append(weights, input(fmt.Sprint("a", i), `{"system":"http://loinc.org","code":"29463-7"},{"system":"http://loinc.org","code":"8344-4"}`, "70.0", "kg"))
		removed = append(removed, input(fmt.Sprint("b", i), `{"system":"http://loinc.org","code":"99741-1"}`, "2.1", "L"))
		treated = append(treated, input(fmt.Sprint("c", i), `{"system":"urn:oid:2.25.335990940244883323309943966314996822642","code":"treatment-time-delivered"}`, "180", "min"))
		// 2100 mL / 3 h / 70 kg = 10.0 mL/kg/h
		value := [...]string{"10.0", "9.9"}[i%2]
		computed = append(computed, fmt.Sprintf(`{"resourceType":"Observation","id":"d%d","status":"final","subject":{"reference":"Patient/1"},"code":{"coding":[{"system":"urn:oid:2.25.335990940244883323309943966314996822642","code":"uf-rate-per-kg"}]},"method":{"coding":[{"system":"urn:oid:2.25.126534698663615512692703441983600176732","code":"uf-rate-per-kg-1"}]},"valueQuantity":{"value":%s,"unit":"mL/kg/h","system":"http://unitsofmeasure.org","code":"mL/kg/h"},"derivedFrom":[{"reference":"Observation/a%d"},{"reference":"Observation/b%d"},{"reference":"Observation/c%d"}]}`, i, value, i, i, i))
	}
	lines := append(append(append(weights, computed...), removed...), treated...)
	return strings.Join(lines, "\n")
}

// rendered is all that a report says.
func rendered(t *testing.T, r *validate.Report) string {
	t.Helper()
	var out bytes.Buffer
	if err := report.Print(&out, report.JSON, r.Findings, report.Options{NotChecked: r.NotChecked}); err != nil {
		t.Fatal(err)
	}
	fmt.Fprintln(&out, r.Files, r.Resources, r.Dropped, r.DroppedErrors, r.Counts)
	return out.String()
}

// TestJobsChangeNothing holds that any number of jobs gives the same report,
// also where not all findings are kept.
func TestJobsChangeNothing(t *testing.T) {
	dir := mixed(t)
	for _, most := range []int{0, 7} {
		opts := validate.Options{Jobs: 1, MaxFindings: most, Schema: true}
		paths := []string{dir, filepath.Join(dir, "a.json"), filepath.Join(dir, "lines.ndjson")}
		one := rendered(t, check(t, opts, paths...))
		if most == 0 {
			for _, rule := range []string{"calc-value-differs", "month-record-repeat", "month-manifest-missing", "json-syntax", "clin-record-impossible"} {
				if !strings.Contains(one, rule) {
					t.Fatalf("%s is not in the report", rule)
				}
			}
		}
		for _, jobs := range []int{2, 3, 8} {
			opts.Jobs = jobs
			if diff := cmp.Diff(one, rendered(t, check(t, opts, paths...))); diff != "" {
				t.Errorf("%d jobs, %d findings kept:\n%s", jobs, most, diff)
			}
		}
	}
}

// states checks paths to the end and returns every state on the way, as it is
// after being written and read.
func states(t *testing.T, dir string) (all []*validate.State, final string) {
	t.Helper()
	opts := validate.Options{Jobs: 2, Resumable: true, Watch: func(p validate.Progress) error {
		all = append(all, written(t, p.State()))
		return nil
	}}
	final = rendered(t, check(t, opts, dir))
	return all, final
}

func written(t *testing.T, s *validate.State) *validate.State {
	t.Helper()
	text, err := json.Marshal(s)
	if err != nil {
		t.Fatal(err)
	}
	var again validate.State
	if err := json.Unmarshal(text, &again); err != nil {
		t.Fatal(err)
	}
	return &again
}

// TestResumeAnywhere holds that a check interrupted after any part and gone on
// with comes to what it comes to without interruption, what is compared across
// documents included.
func TestResumeAnywhere(t *testing.T) {
	dir := mixed(t)
	all, want := states(t, dir)
	if len(all) < 15 {
		t.Fatalf("only %d parts", len(all))
	}
	for i, s := range all {
		if complete := i == len(all)-1; s.Complete != complete {
			t.Errorf("state %d: complete is %v", i, s.Complete)
		}
		var last *validate.State
		got := check(t, validate.Options{Jobs: 1 + i%3, Resume: s, Watch: func(p validate.Progress) error {
			if p.Ended {
				last = written(t, p.State())
			}
			return nil
		}}, dir)
		if diff := cmp.Diff(want, rendered(t, got)); diff != "" {
			t.Errorf("from state %d (%s byte %d):\n%s", i, s.File, s.Offset, diff)
		}
		if diff := cmp.Diff(all[len(all)-1], last); diff != "" {
			t.Errorf("from state %d, the last state:\n%s", i, diff)
		}
	}
}

// TestResumeAfterChange holds that what was done may not change, and that what
// was not done yet may.
func TestResumeAfterChange(t *testing.T) {
	changes := map[string]func(t *testing.T, path string){
		"a byte": func(t *testing.T, path string) {
			text, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			text[len(text)/3] ^= 1
			if err := os.WriteFile(path, text, 0o600); err != nil {
				t.Fatal(err)
			}
		},
		"taken away": func(t *testing.T, path string) {
			if err := os.Remove(path); err != nil {
				t.Fatal(err)
			}
		},
		"renamed": func(t *testing.T, path string) {
			if err := os.Rename(path, strings.Replace(path, ".json", "2.json", 1)); err != nil {
				t.Fatal(err)
			}
		},
		"one before": func(t *testing.T, path string) {
			if err := os.WriteFile(filepath.Join(filepath.Dir(path), "0.json"), []byte("{}"), 0o600); err != nil {
				t.Fatal(err)
			}
		},
	}
	for name, change := range changes {
		t.Run(name, func(t *testing.T) {
			dir := folder(t, map[string]string{"a.json": session(t), "b.json": renamed(session(t)), "c.json": "{}"})
			all, _ := states(t, dir)
			change(t, filepath.Join(dir, "b.json"))
			for i, isDone := range []bool{false, true, true, true} {
				isDone = isDone || name == "one before"
				_, err := validate.Paths(context.Background(), []string{dir}, nil, validate.Options{Resume: all[i]})
				if got := errors.Is(err, validate.ErrChanged); got != isDone {
					t.Errorf("after part %d (%s): error %v", i+1, all[i].File, err)
				}
			}
		})
	}
	dir := folder(t, map[string]string{"a.json": "{}"})
	all, _ := states(t, dir)
	if err := os.WriteFile(filepath.Join(dir, "b.json"), []byte("{}"), 0o600); err != nil {
		t.Fatal(err)
	}
	_, err := validate.Paths(context.Background(), []string{dir}, nil, validate.Options{Resume: all[len(all)-1]})
	if !errors.Is(err, validate.ErrChanged) {
		t.Errorf("a file after all was done: error %v", err)
	}
}

// TestStopAnywhere holds that a stopped check ends with the error of its context
// and a state that is not complete and can be gone on from.
func TestStopAnywhere(t *testing.T) {
	dir := mixed(t)
	_, want := states(t, dir)
	for _, after := range []int{1, 4, 12} {
		ctx, stop := context.WithCancel(context.Background())
		var last *validate.State
		parts := 0
		_, err := validate.Paths(ctx, []string{dir}, nil, validate.Options{Resumable: true, Watch: func(p validate.Progress) error {
			if parts++; parts == after {
				stop()
			}
			if p.Ended {
				last = written(t, p.State())
			}
			return nil
		}})
		stop()
		if !errors.Is(err, context.Canceled) || last == nil || last.Complete || last.Parts != after {
			t.Fatalf("stopped after %d parts: error %v, state %+v", after, err, last)
		}
		if diff := cmp.Diff(want, rendered(t, check(t, validate.Options{Resume: last}, dir))); diff != "" {
			t.Errorf("gone on after %d parts:\n%s", after, diff)
		}
	}
}

// TestStopWhileWaiting holds that a check that waits for standard input can be
// stopped.
func TestStopWhileWaiting(t *testing.T) {
	in, out := io.Pipe()
	defer out.Close()
	ctx, stop := context.WithCancel(context.Background())
	go func() {
		_, _ = out.Write([]byte("{}\n")) // returns when it was read
		stop()
	}()
	defer stop()
	if _, err := validate.Paths(ctx, []string{"-"}, in, validate.Options{}); !errors.Is(err, context.Canceled) {
		t.Errorf("error %v", err)
	}
}

// TestWatchEndsTheWork holds that an error of Watch, such as a full disk, is
// returned.
func TestWatchEndsTheWork(t *testing.T) {
	full := errors.New("no space left")
	_, err := validate.Paths(context.Background(), []string{mixed(t)}, nil, validate.Options{Watch: func(validate.Progress) error { return full }})
	if !errors.Is(err, full) || err.Error() != full.Error() {
		t.Errorf("error %v", err)
	}
}

// TestUnreadableFileAmongOthers holds that the error is that of the first file
// that cannot be read, for any number of jobs, and that what was done before it
// is kept.
func TestUnreadableFileAmongOthers(t *testing.T) {
	dir := folder(t, map[string]string{"a.json": session(t), "b.json": "{}", "d.json": "{}"})
	for _, name := range []string{"c.json", "e.json"} {
		if err := os.Symlink(filepath.Join(dir, "nowhere"), filepath.Join(dir, name)); err != nil {
			t.Fatal(err)
		}
	}
	for jobs := range 4 {
		var last validate.Progress
		_, err := validate.Paths(context.Background(), []string{dir}, nil, validate.Options{Jobs: jobs + 1, Watch: func(p validate.Progress) error {
			last = p
			return nil
		}})
		if err == nil || !strings.Contains(err.Error(), "c.json") || last.Files != 2 || last.Resources != 38 || !last.Ended {
			t.Errorf("%d jobs: error %v, progress %+v", jobs+1, err, last)
		}
	}
}
