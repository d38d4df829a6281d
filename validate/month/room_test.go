package month

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/resources"
)

// document is one of those that are compared: a line of a file or a file.
type document struct {
	file, text string
	line       int
}

// compared is what a Month finds in documents, sorted.
func compared(t rapid.TB, m *Month, documents []document, room int) []issue.Finding {
	t.Helper()
	var all []issue.Finding
	for _, one := range documents {
		var d doc.Doc
		if found := d.Parse([]byte(one.text), one.file); len(found) > 0 {
			t.Fatalf("%s: %+v", one.text, found)
		}
		var rec resources.Index
		rec.Read(&d)
		var digest Digest
		m.Reader().Read(&digest, &rec, one.line)
		m.Add(&digest, Source{File: one.file, Line: one.line}, func(f issue.Finding) { all = append(all, f) })
	}
	m.Finish(room, func(f issue.Finding) { all = append(all, f) })
	issue.Sort(all)
	return all
}

// resource is an Observation or a session of few patients, identities, days and
// values, so that much is there twice.
func resource(t *rapid.T) string {
	identity := fmt.Sprintf(`"identifier":[{"system":"urn:ietf:rfc:3986","value":"urn:uuid:%d"}],`, rapid.IntRange(0, 20).Draw(t, "identity"))
	if rapid.IntRange(0, 5).Draw(t, "nameless") == 0 {
		identity = ""
	}
	patient := rapid.IntRange(0, 3).Draw(t, "patient")
	day := rapid.IntRange(1, 28).Draw(t, "day")
	if rapid.Bool().Draw(t, "session") {
		return fmt.Sprintf(`{"resourceType":"Procedure",%s"status":"completed","code":{"coding":[{"system":"http://snomed.info/sct","code":"302497006"}]},
"subject":{"reference":"Patient/%d"},"performedPeriod":{"start":"2026-01-%02dT10:00:00Z","end":"2026-01-%02dT%d:00:00Z"}}`,
			identity, patient, day, day, rapid.IntRange(11, 14).Draw(t, "end"))
	}
	status := rapid.SampledFrom([]string{"final", "final", "amended", "corrected"}).Draw(t, "status")
	return fmt.Sprintf(`{"resourceType":"Observation",%s"status":%q,"code":{"coding":[{"system":"http://loinc.org","code":"8867-4"}]},
"subject":{"reference":"Patient/%d"},"effectiveDateTime":"2026-01-%02dT10:00:00Z","valueQuantity":{"value":%d,"code":"/min","system":"http://unitsofmeasure.org"}}`,
		identity, status, patient, day%4+1, 70+rapid.IntRange(0, 2).Draw(t, "value"))
}

func documents(t *rapid.T) []document {
	var all []document
	for line := range rapid.IntRange(0, 60).Draw(t, "lines") {
		all = append(all, document{"a.ndjson", strings.ReplaceAll(resource(t), "\n", " "), line + 1})
	}
	for file := range rapid.IntRange(0, 5).Draw(t, "files") {
		var entries []string
		for range rapid.IntRange(0, 5).Draw(t, "entries") {
			entries = append(entries, `{"resource":`+resource(t)+"}")
		}
		text := `{"resourceType":"Bundle",` + "\n" + `"type":"collection","entry":[` + strings.Join(entries, ",\n ") + `]}`
		all = append(all, document{fmt.Sprint("b", file, ".json"), text, 0})
	}
	return all
}

// TestRoomChangesNothing holds that the same is found whether all is compared in
// memory or nearly all goes through the scratch file.
func TestRoomChangesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		all := documents(t)
		var roomy Month
		want := compared(t, &roomy, all, 10_000)
		for _, tight := range []limits{{1, 1000}, {5, 1000}, {2, 1000}} {
			m := Month{limits: tight}
			if diff := cmp.Diff(want, compared(t, &m, all, 10_000)); diff != "" {
				t.Fatalf("with limits %v:\n%s", tight, diff)
			}
			if note := m.NotCompared(); note != "" {
				t.Fatal(note)
			}
		}
	})
}

// TestRoomForFindings holds that of what is found at the end as much is told as
// there is room for, that of the first documents, and that the rest is counted by
// its rules.
func TestRoomForFindings(t *testing.T) {
	var all []document
	const sessions = 3000
	for i := range sessions {
		all = append(all, document{"a.ndjson", fmt.Sprintf(`{"resourceType":"Procedure","status":"completed","code":{"coding":[{"system":"http://snomed.info/sct","code":"302497006"}]},"subject":{"reference":"Patient/%d"},"performedPeriod":{"start":"2026-01-%02dT10:00:00Z","end":"2026-01-%02dT11:00:00Z"}}`,
			(i*7)%(sessions/2), 1+i/(sessions/2)*10, 1+i/(sessions/2)*10), i + 1})
	}
	for _, limits := range []limits{{}, {1, sessions}} {
		m := Month{limits: limits}
		got := compared(t, &m, all, 10)
		lines := []int{}
		beyond := 0
		for _, f := range got {
			if f.Rule != "month-record-gap" {
				t.Fatalf("%+v", f)
			}
			if f.File == "" {
				beyond++
			} else {
				lines = append(lines, f.Line-sessions/2)
			}
		}
		if want := []int{1, 2, 3, 4, 5, 6, 7, 8, 9, 10}; !slices.Equal(lines, want) || beyond != sessions/2-10 {
			t.Errorf("limits %v: lines %v, %d beyond", limits, lines, beyond)
		}
	}
}

// TestNoRoomOnDisk holds that it is said when there is nowhere to put what memory
// has no room for.
func TestNoRoomOnDisk(t *testing.T) {
	t.Setenv("TMPDIR", "/nowhere/at/all")
	m := Month{limits: limits{10, 10}}
	line := `{"resourceType":"Observation","identifier":[{"system":"urn:ietf:rfc:3986","value":"urn:uuid:%d"}],"status":"final"}`
	var all []document
	for i := range 30_000 { // more than the buffers hold
		all = append(all, document{"a.ndjson", fmt.Sprintf(line, i), i + 1})
	}
	compared(t, &m, all, 10)
	if note := m.NotCompared(); !strings.Contains(note, "no such file or directory") {
		t.Errorf("note %q", note)
	}
}

// TestSessionsWithoutEnd holds that of more sessions than there is room for
// none is compared, for some would seem to be missing, and that it is said.
func TestSessionsWithoutEnd(t *testing.T) {
	var all []document
	for i := range 28 {
		all = append(all, document{"a.ndjson", fmt.Sprintf(`{"resourceType":"Procedure","status":"completed","code":{"coding":[{"system":"http://snomed.info/sct","code":"302497006"}]},"subject":{"reference":"Patient/1"},"performedDateTime":"20%02d-01-01"}`, i+10), i + 1})
	}
	for most, want := range map[int]int{27: 0, 28: 27} {
		m := Month{limits: limits{10, most}}
		if found := compared(t, &m, all, 100); len(found) != want {
			t.Errorf("at most %d: %d findings, want %d", most, len(found), want)
		}
		if note := m.NotCompared(); strings.Contains(note, "more than 27") != (most == 27) {
			t.Errorf("at most %d: note %q", most, note)
		}
	}
}
