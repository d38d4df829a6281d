package validate_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"runsheet.example/validate"
	"runsheet.example/validate/accept"
	"runsheet.example/validate/issue"
)

// acceptList is a list of entries, each a rule, a record and a path, on a day
// before they expire.
func acceptList(t *testing.T, entries ...[3]string) *accept.List {
	t.Helper()
	text := "format = 1\n"
	for _, e := range entries {
		text += fmt.Sprintf("[[accept]]\nrule = %q\nrecord = %q\npath = %q\nreason = \"r\"\nuntil = 2026-03-31\nby = \"b\"\n", e[0], e[1], e[2])
	}
	list, err := accept.Parse([]byte(text), "accept.toml", time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC))
	if err != nil {
		t.Fatal(err)
	}
	return list
}

// TestAcceptedFindingsDoNotCount holds that accepting changes nothing of the
// findings but that they are accepted, for the resource or file named alone,
// and for any number of jobs.
func TestAcceptedFindingsDoNotCount(t *testing.T) {
	dir := folder(t, map[string]string{
		"a.json": `{"resourceType":"Bundle","type":"collection","entry":[
			{"fullUrl":"urn:uuid:0f0e0d0c-0000-4000-8000-000000000001","resource":{"resourceType":"Patient","id":"p1","gender":"m"}},
			{"fullUrl":"https://a.example/Patient/p2","resource":{"resourceType":"Patient","id":"p2","gender":"m"}}]}`,
		"b.ndjson": `{"resourceType":"Patient","id":"p1","gender":"m"}` + "\n" + `{"resourceType":"Patient","id":"p3","gender":"m"}`,
	})
	plain := check(t, validate.Options{}, dir)
	isGender := func(f issue.Finding) bool { return f.Rule == "r4-binding" }
	if n := countOf(plain.Findings, isGender); n != 4 || !plain.HasErrors() {
		t.Fatalf("%d findings of gender", n)
	}
	for name, test := range map[string]struct {
		record, path string
		want         []int // of the four, in order
	}{
		"all":         {"", "", []int{0, 1, 2, 3}},
		"by id":       {"Patient/p1", "", []int{0, 2}},
		"by fullUrl":  {"https://a.example/Patient/p2", "", []int{1}},
		"by file":     {"b.ndjson", "", []int{2, 3}},
		"by any path": {"", "Bundle.entry[*].resource.gender", []int{0, 1}},
		"by path":     {"", "Patient.gender", []int{2, 3}},
	} {
		for _, jobs := range []int{1, 3} {
			got := check(t, validate.Options{Jobs: jobs, Accept: acceptList(t, [3]string{"r4-binding", test.record, test.path})}, dir)
			var accepted []int
			n := 0
			for i, f := range got.Findings {
				if isGender(f) {
					if f.Accepted != nil {
						accepted = append(accepted, n)
					}
					n++
				}
				f.Accepted = nil
				if fmt.Sprint(f) != fmt.Sprint(plain.Findings[i]) {
					t.Errorf("%s: finding %d is another", name, i)
				}
			}
			if fmt.Sprint(accepted) != fmt.Sprint(test.want) {
				t.Errorf("%s: accepted %v, want %v", name, accepted, test.want)
			}
			if got.HasErrors() == (len(accepted) == 4) {
				t.Errorf("%s: has errors is %v", name, got.HasErrors())
			}
		}
	}
}

func countOf(list []issue.Finding, is func(issue.Finding) bool) (n int) {
	for _, f := range list {
		if is(f) {
			n++
		}
	}
	return n
}

// TestAcceptedBeyondTheLimit holds that an accepted error takes no room from
// one that counts, and decides nothing when it is dropped.
func TestAcceptedBeyondTheLimit(t *testing.T) {
	lines := strings.Repeat(`{"resourceType":"Patient","gender":"m"}`+"\n", 20) + `{"resourceType":"Patient","active":1}`
	dir := folder(t, map[string]string{"a.ndjson": lines})
	got := check(t, validate.Options{MaxFindings: 5, Accept: acceptList(t, [3]string{"r4-binding", "", ""})}, dir)
	if n := countOf(got.Findings, func(f issue.Finding) bool { return f.Rule == "r4-type" }); n != 1 || got.DroppedErrors != 0 {
		t.Errorf("%d errors that count are kept, %d dropped", n, got.DroppedErrors)
	}
	got = check(t, validate.Options{MaxFindings: 5, Accept: acceptList(t, [3]string{"r4-binding", "", ""}, [3]string{"r4-type", "", ""})}, dir)
	if got.HasErrors() || got.Dropped == 0 {
		t.Errorf("dropped %d, has errors is %v", got.Dropped, got.HasErrors())
	}
	accepted := 0
	for _, c := range got.Counts {
		if c.Accepted {
			accepted += c.N
		}
	}
	if accepted != 21 {
		t.Errorf("%d are accepted", accepted)
	}
}

// TestUnusedEntriesAreReported holds that the list's own findings stand in the
// report, and that only what matched no finding is told.
func TestUnusedEntriesAreReported(t *testing.T) {
	dir := folder(t, map[string]string{"a.json": `{"resourceType":"Patient","gender":"m"}`})
	list := acceptList(t, [3]string{"r4-binding", "", ""}, [3]string{"r4-binding", "", "Patient.name"})
	var unused []int
	for _, f := range check(t, validate.Options{Accept: list}, dir).Findings {
		if f.Rule == "accept-unused" {
			unused = append(unused, f.Line)
		}
	}
	if fmt.Sprint(unused) != "[9]" {
		t.Errorf("unused entries at lines %v", unused)
	}
}
