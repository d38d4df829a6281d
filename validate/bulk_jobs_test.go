package validate_test

import (
	"bytes"
	"context"
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

// TestStopAnywhere holds that a stopped check ends with the error of its context
// after the part at hand.
func TestStopAnywhere(t *testing.T) {
	dir := mixed(t)
	for _, after := range []int{1, 4, 12} {
		ctx, stop := context.WithCancel(context.Background())
		parts := 0
		_, err := validate.Paths(ctx, []string{dir}, nil, validate.Options{Watch: func(p validate.Progress) error {
			if p.Ended {
				return nil
			}
			if parts++; parts == after {
				stop()
			}
			return nil
		}})
		stop()
		if !errors.Is(err, context.Canceled) || parts != after {
			t.Errorf("stopped after %d parts: error %v after %d", after, err, parts)
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
