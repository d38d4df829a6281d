package validate_test

import (
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"runsheet.example/validate"
)

func TestMonthRules(t *testing.T) {
	sound := session(t)
	shifted := func(old, new string) string { return strings.ReplaceAll(sound, old, new) }
	cases := []struct {
		name  string
		other string
		want  []string
	}{
		{"the same again", sound, slices.Repeat([]string{"month-record-repeat"}, 32)},
		{"one value changed", strings.Replace(sound, `"value": 71`, `"value": 72`, 1),
			append([]string{"month-record-conflict"}, slices.Repeat([]string{"month-record-repeat"}, 31)...)},
		{"another day", renamed(shifted("2025-10-29", "2025-10-31")), nil},
		{"long gap", renamed(shifted("2025-10-29", "2025-11-05")), []string{"month-record-gap"}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			got := rules(check(t, validate.Options{}, folder(t, map[string]string{"a.json": sound, "b.json": c.other})).Findings)
			slices.Sort(got)
			if !slices.Equal(got, c.want) {
				t.Errorf("got %v, want %v", got, c.want)
			}
		})
	}
}

// renamed gives every record identifier of the session another value.
func renamed(text string) string {
	for _, digit := range []string{"0", "1", "2", "3", "4", "5", "6", "7", "8", "9", "a", "b", "c", "d", "e", "f"} {
		text = strings.ReplaceAll(text, "urn:uuid:"+digit, "urn:uuid:@"+digit)
	}
	const next = "123456789abcdef0"
	for i, digit := range []byte("0123456789abcdef") {
		text = strings.ReplaceAll(text, "urn:uuid:@"+string(digit), "urn:uuid:"+string(next[i]))
	}
	return text
}

func TestSessionsAcrossDocuments(t *testing.T) {
	hub := func(id, start, end, status string) string {
		return `{"resourceType":"Procedure","identifier":[{"system":"urn:ietf:rfc:3986","value":"urn:uuid:` + id + `"}],"status":"` + status + `",
"code":{"coding":[{"system":"http://snomed.info/sct","code":"302497006"}]},"subject":{"reference":"Patient/1"},
"performedPeriod":{"start":"2026-01-` + start + `:00Z","end":"2026-01-` + end + `:00Z"}}`
	}
	first := hub("00000000-0000-4000-8000-000000000001", "05T10:00", "05T13:00", "completed")
	cases := []struct {
		name, second string
		want         []string
	}{
		{"next day", hub("00000000-0000-4000-8000-000000000002", "06T10:00", "06T13:00", "completed"), nil},
		{"overlap", hub("00000000-0000-4000-8000-000000000002", "05T12:00", "05T15:00", "completed"), []string{"month-record-overlap"}},
		{"twice", hub("00000000-0000-4000-8000-000000000002", "05T10:03", "05T13:00", "completed"), []string{"month-record-session-twice"}},
		{"not done at the time", hub("00000000-0000-4000-8000-000000000002", "05T12:00", "05T15:00", "not-done"), nil},
		{"gap", hub("00000000-0000-4000-8000-000000000002", "10T10:00", "10T13:00", "completed"), []string{"month-record-gap"}},
		{"same identity, other end", hub("00000000-0000-4000-8000-000000000001", "05T10:00", "05T13:30", "completed"), []string{"month-record-conflict"}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			got := rules(check(t, validate.Options{}, folder(t, map[string]string{"a.json": first, "b.json": c.second})).Findings)
			if !slices.Equal(got, c.want) {
				t.Errorf("got %v, want %v", got, c.want)
			}
		})
	}
}

// TestFewerThanPrescribed counts whole weeks against what a manifest expects.
func TestFewerThanPrescribed(t *testing.T) {
	var lines strings.Builder
	for i, day := range []string{"05", "06", "07", "08", "09", "12", "13", "19", "25"} { // 5 January 2026 is a Monday
		fmt.Fprintf(&lines, `{"resourceType":"Procedure","identifier":[{"system":"urn:ietf:rfc:3986","value":"urn:uuid:00000000-0000-4000-8000-00000000000%d"}],"status":"completed","code":{"coding":[{"system":"http://snomed.info/sct","code":"302497006"}]},"subject":{"reference":"Patient/1"},"performedPeriod":{"start":"2026-01-%sT10:00:00Z","end":"2026-01-%sT13:00:00Z"}}`+"\n", i, day, day)
	}
	files := map[string]string{"Procedure.ndjson": lines.String()}
	files["manifest.json"] = manifest(files, "")
	report := check(t, validate.Options{}, folder(t, files))
	var at []int
	for _, f := range report.Findings {
		if f.Rule == "month-record-fewer" {
			at = append(at, f.Line)
		}
	}
	if !slices.Equal(at, []int{6, 8}) {
		t.Errorf("weeks with too few sessions begin with lines %v, want 6 and 8", at)
	}
}

// TestPrescribedForEachPatient holds that what one export expects is not asked of
// the patient of another.
func TestPrescribedForEachPatient(t *testing.T) {
	export := func(patient string, perWeek string) map[string]string {
		var lines strings.Builder
		for i, day := range []string{"05", "07", "09", "12", "14", "16", "19"} {
			fmt.Fprintf(&lines, `{"resourceType":"Procedure","identifier":[{"system":"urn:ietf:rfc:3986","value":"urn:uuid:00000000-0000-4000-8%s00-00000000000%d"}],"status":"completed","code":{"coding":[{"system":"http://snomed.info/sct","code":"302497006"}]},"subject":{"reference":"Patient/%[1]s"},"performedPeriod":{"start":"2026-01-%[3]sT10:00:00Z","end":"2026-01-%[3]sT13:00:00Z"}}`+"\n", patient, i, day)
		}
		files := map[string]string{"Procedure.ndjson": lines.String()}
		files["manifest.json"] = strings.Replace(manifest(files, ""), `"sessionsPerWeek":5`, `"sessionsPerWeek":`+perWeek, 1)
		return files
	}
	three, five := export("1", "3"), export("2", "5")
	report := check(t, validate.Options{}, folder(t, map[string]string{
		"a/Procedure.ndjson": three["Procedure.ndjson"], "a/manifest.json": three["manifest.json"],
		"b/Procedure.ndjson": five["Procedure.ndjson"], "b/manifest.json": five["manifest.json"],
	}))
	found := map[string]int{}
	for _, f := range report.Findings {
		if f.Rule == "month-record-fewer" {
			found[filepath.Base(filepath.Dir(f.File))]++
		}
	}
	if found["a"] != 0 || found["b"] != 2 {
		t.Errorf("weeks with too few sessions: %v, want none in a and two in b", found)
	}
}

// TestStartedAgainHidesNoSession: two records of one treatment count as one
// session of the week, two treatments of a day as two.
func TestStartedAgainHidesNoSession(t *testing.T) {
	for _, c := range []struct {
		status, again string
		fewer         bool
	}{{"stopped", "14:00", true}, {"stopped", "17:30", false}, {"completed", "14:00", false}, {"completed", "11:40", true}} {
		var lines strings.Builder
		for i, one := range []struct{ status, start, end string }{
			{"completed", "05T10:00", "05T13:00"}, {"completed", "06T10:00", "06T13:00"}, {"completed", "07T10:00", "07T13:00"}, {"completed", "09T10:00", "09T13:00"},
			{c.status, "12T10:00", "12T11:00"}, {"completed", "12T" + c.again, "12T20:00"}, {"completed", "13T10:00", "13T13:00"}, {"completed", "14T10:00", "14T13:00"},
			{"completed", "19T10:00", "19T13:00"},
		} {
			fmt.Fprintf(&lines, `{"resourceType":"Procedure","identifier":[{"system":"urn:ietf:rfc:3986","value":"urn:uuid:00000000-0000-4000-8000-00000000000%d"}],"status":%q,"code":{"coding":[{"system":"http://snomed.info/sct","code":"302497006"}]},"subject":{"reference":"Patient/1"},"performedPeriod":{"start":"2026-01-%s:00Z","end":"2026-01-%s:00Z"}}`+"\n", i, one.status, one.start, one.end)
		}
		files := map[string]string{"Procedure.ndjson": lines.String()}
		files["manifest.json"] = strings.Replace(manifest(files, ""), `"sessionsPerWeek":5`, `"sessionsPerWeek":4`, 1)
		found := rules(check(t, validate.Options{}, folder(t, files)).Findings)
		if slices.Contains(found, "month-record-fewer") != c.fewer {
			t.Errorf("%s, started again at %s: %v", c.status, c.again, found)
		}
	}
}
