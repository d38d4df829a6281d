package cli

import (
	"encoding/json"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"runsheet.example/profiles"
	"runsheet.example/testdata/oracle/servertest"
	"runsheet.example/validate/manifest"
)

// The audit says what was not sent, what was sent with other content, and what
// somebody changed at the server since.
func TestAuditReceipts(t *testing.T) {
	s := servertest.Start(t)
	s.Reset(t, nil, monthPatient)
	dir := t.TempDir()
	out := filepath.Join(dir, "out")
	command(t, exitDone, "export", monthLog, "-o", out)
	audit := func(code int, flags ...string) string {
		t.Helper()
		text, _ := command(t, code, append([]string{"audit", dir, "--receipts"}, flags...)...)
		return text
	}
	contains(t, audit(exitFindings), "there is no receipt beside the export", "complete: no (1 audit-not-sent)")

	command(t, exitDone, "send", out, "--to", s.Base, "--yes")
	if text := audit(exitDone); strings.Contains(text, "audit-not-sent") || strings.Contains(text, "; 0 resources compared with receipts") {
		t.Errorf("after sending:\n%s", text)
	}
	if text := audit(exitDone, "--server", s.Base); strings.Contains(text, "audit-server-other") {
		t.Errorf("after sending, at the server:\n%s", text)
	}

	var gone string
	for _, raw := range s.State(t).Resources {
		var r struct{ ResourceType, ID string }
		if err := json.Unmarshal(raw, &r); err != nil {
			t.Fatal(err)
		}
		if r.ResourceType == "Observation" {
			gone = r.ResourceType + "/" + r.ID
		}
	}
	s.Delete(t, gone)
	audit(exitDone) // the receipt does not know
	contains(t, audit(exitFindings, "--server", s.Base), gone+": missing", "complete: no (1 audit-server-other)")

	receipt := out + manifest.ReceiptEnding
	text, err := os.ReadFile(receipt)
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.SplitAfter(string(text), "\n")
	at := 0
	for i, line := range lines {
		if strings.Contains(line, `"type":"Observation"`) && strings.Contains(line, `"sha256":"`) {
			at = i
		}
	}
	digest := strings.Index(lines[at], `"sha256":"`) + len(`"sha256":"`)
	lines[at] = lines[at][:digest] + strings.Repeat("0", 64) + lines[at][digest+64:]
	if err := os.WriteFile(receipt, []byte(strings.Join(lines, "")), 0o600); err != nil {
		t.Fatal(err)
	}
	contains(t, audit(exitFindings), "sent with other content", "complete: no (1 audit-server-other)")
	contains(t, audit(exitFindings, "--server", "http://localhost:1/other"), "is the receipt of another server")
}

// The report as FHIR is valid, and its codes are those of the package.
func TestAuditMeasureReport(t *testing.T) {
	dir := t.TempDir()
	out := filepath.Join(dir, "out")
	command(t, exitDone, "export", monthLog, "-o", out)
	text, _ := command(t, exitDone, "audit", out, "--format", "fhir")
	file := filepath.Join(dir, "report.json")
	if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	command(t, exitDone, "validate", file, "--schema")

	var report struct {
		Measure string
		Period  struct{ Start, End string }
		Group   []struct {
			Code struct {
				Coding []struct{ System, Code string }
			}
			Population []struct {
				Code  struct{ Coding []struct{ Code string } }
				Count int
			}
			Stratifier []struct{ Stratum []json.RawMessage }
		}
	}
	if err := json.Unmarshal([]byte(text), &report); err != nil {
		t.Fatal(err)
	}
	if report.Period.Start != "2025-10-20" || report.Period.End != "2025-11-16" {
		t.Errorf("period %v, want the days of the month", report.Period)
	}
	complete := report.Group[0]
	counts := map[string]int{}
	for _, p := range complete.Population {
		counts[p.Code.Coding[0].Code] = p.Count
	}
	if counts["done"] != 19 || counts["cut-short"] != 1 || counts["not-done"] != 1 || counts["unexplained"] != 0 {
		t.Errorf("sessions %v, want 19 done, 1 cut short, 1 not done", counts)
	}
	if weeks := len(complete.Stratifier[1].Stratum); weeks != 4 {
		t.Errorf("%d strata, want 4 weeks", weeks)
	}
	var system struct {
		URL     string
		Concept []struct{ Code string }
	}
	codes, err := fs.ReadFile(profiles.Package(), "CodeSystem-runsheet-audit-codes.json")
	if err == nil {
		err = json.Unmarshal(codes, &system)
	}
	if err != nil {
		t.Fatal(err)
	}
	if got := report.Group[0].Code.Coding[0].System; got != system.URL {
		t.Errorf("system %q, want %q", got, system.URL)
	}
	known := map[string]bool{}
	for _, c := range system.Concept {
		known[c.Code] = true
	}
	for _, code := range codesOf(text) {
		if !known[code] {
			t.Errorf("code %q is not in the code system", code)
		}
	}
}

func codesOf(text string) (out []string) {
	for _, part := range strings.Split(text, `"code":"`)[1:] {
		code, _, _ := strings.Cut(part, `"`)
		out = append(out, code)
	}
	return out
}
