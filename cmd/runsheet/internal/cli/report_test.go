package cli

import (
	"bytes"
	"crypto/sha1"
	"encoding/json"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"runsheet.example/testdata/oracle/servertest"
)

// reported is a report as FHIR, as far as the tests read it.
type reported struct {
	Entry []struct {
		Resource struct {
			ResourceType, Status string
			Identifier           []struct{ Value string }
			EffectivePeriod      struct{ Start, End string }
			Result               []struct {
				Reference  string
				Identifier *struct{ Value string }
			}
			PresentedForm []struct {
				ContentType, Language, Title string
				Data, Hash                   []byte
				Size                         int
			}
			Code      struct{ Text string }
			Component []struct {
				ValueQuantity *struct {
					Value json.Number
					Unit  string
				}
			}
		}
	}
}

func reportOf(t *testing.T, folder string) (r reported, text []byte) {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(folder, "report-*.json"))
	if err != nil || len(files) != 1 {
		t.Fatalf("%v in %s: %v", files, folder, err)
	}
	text, err = os.ReadFile(files[0])
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(text, &r); err != nil {
		t.Fatal(err)
	}
	return r, text
}

// The files in the record are those that 'report' writes, and every number of
// a summary stands on the page.
func TestReportRecordHoldsThePage(t *testing.T) {
	dir := t.TempDir()
	command(t, exitDone, "export", monthLog, "-o", filepath.Join(dir, "out"), "--report")
	r, _ := reportOf(t, filepath.Join(dir, "out"))
	report := r.Entry[len(r.Entry)-1].Resource
	if report.ResourceType != "DiagnosticReport" || len(report.PresentedForm) != 2 || report.EffectivePeriod.Start != "2025-10-20" || report.EffectivePeriod.End != "2025-11-16" {
		t.Fatalf("not the report of the month: %+v", report.EffectivePeriod)
	}
	for _, form := range report.PresentedForm {
		_, ext, _ := strings.Cut(form.ContentType, "/")
		path := filepath.Join(dir, "visit."+ext)
		command(t, exitDone, "report", monthLog, "-o", path)
		page, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if sum := sha1.Sum(page); !bytes.Equal(form.Data, page) || form.Size != len(page) || !bytes.Equal(form.Hash, sum[:]) {
			t.Errorf("%s: not the bytes of the page, its size or its hash", form.ContentType)
		}
		if form.Language != "en" || form.Title == "" {
			t.Errorf("%s: language %q, title %q", form.ContentType, form.Language, form.Title)
		}
	}
	page := string(report.PresentedForm[1].Data)
	table := strings.ReplaceAll(page[strings.Index(page, `class="numbers"`):strings.Index(page, "<svg")], "−", "-")
	seen := 0
	for _, e := range r.Entry {
		for _, c := range e.Resource.Component {
			if c.ValueQuantity == nil {
				continue
			}
			seen++
			if !regexp.MustCompile(`[> ]` + regexp.QuoteMeta(c.ValueQuantity.Value.String()) + `[< ]`).MatchString(table) {
				t.Errorf("%s: %s is not in the table", e.Resource.Code.Text, c.ValueQuantity.Value)
			}
		}
	}
	weekly, counted := 0, 0
	for _, result := range report.Result {
		if result.Identifier != nil {
			weekly++ // of the record of the weeks
		}
	}
	for _, e := range r.Entry {
		if len(e.Resource.Component) > 0 && e.Resource.Component[0].ValueQuantity == nil {
			counted++
		}
	}
	if seen != 3*(len(report.Result)-weekly-counted) || seen < 30 || weekly != 4 || counted != 1 {
		t.Errorf("%d numbers of %d results, %d of weeks, %d of counts", seen, len(report.Result), weekly, counted)
	}
	weeks, err := filepath.Glob(filepath.Join(dir, "out", "weeks-*.json"))
	if err != nil || len(weeks) != 1 {
		t.Fatalf("%v, %v", weeks, err)
	}
	text, err := os.ReadFile(weeks[0])
	if err != nil {
		t.Fatal(err)
	}
	for _, result := range report.Result {
		if result.Identifier != nil && !bytes.Contains(text, []byte(result.Identifier.Value)) {
			t.Errorf("the record of the weeks has no %s", result.Identifier.Value)
		}
	}
}

// A month written after a report was sent leaves that report as it is, also
// where its last week goes on and where the patient asks something else; a value
// corrected in its days amends it.
func TestLaterMonthLeavesAnOlderReport(t *testing.T) {
	s := servertest.Start(t)
	s.Reset(t, nil, monthPatient)
	dir := t.TempDir()
	out := filepath.Join(dir, "out")
	upTo := func(day string) string {
		t.Helper()
		folder := filepath.Join(dir, "to-"+day)
		if err := os.CopyFS(folder, os.DirFS(monthLog)); err != nil {
			t.Fatal(err)
		}
		for _, name := range []string{"sessions.csv", "readings.csv", "medicines.csv", "labs.csv", "events.csv", "checks.csv"} {
			path := filepath.Join(folder, name)
			text, err := os.ReadFile(path)
			if err != nil {
				continue
			}
			lines := strings.SplitAfter(string(text), "\n")
			kept := slices.DeleteFunc(lines[1:], func(line string) bool { return line > day+"~" })
			if err := os.WriteFile(path, []byte(lines[0]+strings.Join(kept, "")), 0o600); err != nil {
				t.Fatal(err)
			}
		}
		return folder
	}
	command(t, exitDone, "export", upTo("2025-11-05"), "-o", out, "--report")
	command(t, exitDone, "send", out, "--to", s.Base, "--yes")
	later := upTo("2025-11-16")
	about, err := os.ReadFile(filepath.Join(later, "log.toml"))
	if err != nil {
		t.Fatal(err)
	}
	asks := bytes.Replace(about, []byte("[patient]"), []byte("question_1 = \"May I swim?\"\n[patient]"), 1)
	if err := os.WriteFile(filepath.Join(later, "log.toml"), asks, 0o600); err != nil || bytes.Equal(asks, about) {
		t.Fatal(err)
	}
	amend := func(log string) string {
		t.Helper()
		table, _ := command(t, exitDone, "amend", log, "--receipts", out+".receipt.json", "--to", s.Base, "--yes")
		return table
	}
	if table := amend(later); strings.Contains(table, "DiagnosticReport") || !strings.Contains(table, "created") {
		t.Errorf("the older report is made again:\n%s", table)
	}
	command(t, exitDone, "export", later, "-o", filepath.Join(dir, "out2"), "--report")
	first, _ := reportOf(t, out)
	second, _ := reportOf(t, filepath.Join(dir, "out2"))
	if a, b := first.Entry[len(first.Entry)-1].Resource, second.Entry[len(second.Entry)-1].Resource; a.Identifier[0] == b.Identifier[0] || a.EffectivePeriod.End != "2025-11-05" {
		t.Errorf("the later report has the identity of the older: %v", a.EffectivePeriod)
	}
	path := filepath.Join(later, "sessions.csv")
	text, err := os.ReadFile(path)
	if err == nil {
		err = os.WriteFile(path, bytes.Replace(text, []byte(",70.2,"), []byte(",70.1,"), 1), 0o600)
	}
	if err != nil {
		t.Fatal(err)
	}
	contains(t, amend(later), "DiagnosticReport")
}

// A report is sent once. A corrected weight amends it under its identity, and
// changes elsewhere in the log, which only its origin line tells, do not.
func TestReportIsSentAndAmended(t *testing.T) {
	s := servertest.Start(t)
	s.Reset(t, nil, monthPatient)
	out := filepath.Join(t.TempDir(), "out")
	command(t, exitDone, "export", monthLog, "-o", out, "--report")
	first, before := reportOf(t, out)
	send := func(code int, more ...string) string {
		t.Helper()
		_, said := command(t, code, append([]string{"send", out, "--to", s.Base}, more...)...)
		return said
	}
	there := func() (statuses []string) {
		for _, text := range s.State(t).Resources {
			var one struct{ ResourceType, Status string }
			if err := json.Unmarshal(text, &one); err != nil {
				t.Fatal(err)
			}
			if one.ResourceType == "DiagnosticReport" {
				statuses = append(statuses, one.Status)
			}
		}
		return statuses
	}
	send(exitDone, "--yes")
	contains(t, send(exitDone, "--yes"), "0 resources created, 0 there already")
	if got := there(); len(got) != 1 || got[0] != "final" {
		t.Fatalf("reports at the server: %v", got)
	}
	amend := func(log string) (table, said string) {
		t.Helper()
		return command(t, exitDone, "amend", log, "--receipts", out+".receipt.json", "--to", s.Base, "--yes")
	}
	_, said := amend(monthLog)
	contains(t, said, "Nothing has changed")

	// The weight before the first session is not on the page.
	table, _ := amend(changedMonth(t, "weight_before_kg"))
	if strings.Contains(table, "DiagnosticReport") || !strings.Contains(table, "weight_before") {
		t.Errorf("amended for its origin alone:\n%s", table)
	}

	changed := changedMonth(t, "weight_after_kg")
	command(t, exitDone, "export", changed, "-o", out, "--report", "--force")
	second, after := reportOf(t, out)
	at := len(first.Entry) - 1
	if first.Entry[at].Resource.Identifier[0] != second.Entry[len(second.Entry)-1].Resource.Identifier[0] || bytes.Equal(before, after) {
		t.Error("not other content under the same identity")
	}
	table, _ = amend(changed)
	contains(t, table, "DiagnosticReport")
	if got := there(); len(got) != 1 || got[0] != "corrected" {
		t.Errorf("reports at the server: %v", got)
	}
	_, said = amend(changed)
	contains(t, said, "Nothing has changed")
	if said := send(exitDone, "--verify"); strings.Contains(said, "Not ") {
		t.Error(said)
	}
}
