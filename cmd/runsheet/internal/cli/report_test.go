package cli

import (
	"bytes"
	"crypto/sha1"
	"encoding/json"
	"os"
	"path/filepath"
	"regexp"
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
			Result               []struct{ Reference string }
			PresentedForm        []struct {
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
	if seen != 3*len(report.Result) || seen < 30 {
		t.Errorf("%d numbers of %d results", seen, len(report.Result))
	}
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
