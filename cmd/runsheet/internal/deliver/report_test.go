package deliver

import (
	"encoding/base64"
	"encoding/json"
	"strings"
	"testing"
	"time"

	"runsheet.example/cmd/runsheet/internal/deliver/receipt"
	"runsheet.example/fhirmap"
	"runsheet.example/fhirmap/session"
)

// withReport is the small log with a report of all October.
func withReport(t *testing.T, folder, html string) []Session {
	t.Helper()
	month := monthOf(t, folder, fhirmap.Options{})
	log, _, err := session.ReadFolder(folder, session.Options{})
	must(t, err)
	mapping, err := fhirmap.NewMapping(log, fhirmap.Options{Tool: fhirmap.Tool{Name: "runsheet", Version: "test"}})
	must(t, err)
	span := fhirmap.Span{From: time.Date(2025, 10, 1, 0, 0, 0, 0, time.UTC), To: time.Date(2025, 10, 31, 0, 0, 0, 0, time.UTC)}
	record, err := mapping.Report(fhirmap.Report{Span: span, Title: "Report", Language: "en", PDF: []byte("pdf"), HTML: []byte(html)})
	must(t, err)
	month.Add(*record)
	return sessionsOf(t, month)
}

func reportResource(sessions []Session) fhirmap.Resource {
	last := sessions[len(sessions)-1]
	return last.Resources[len(last.Resources)-1]
}

// Another origin of the same page is no other content; all else is.
func TestDigestOfReport(t *testing.T) {
	digest := func(html string) string {
		return Digest(reportResource(withReport(t, smallLog, html)).JSON, "")
	}
	base := digest("<p>72</p><footer>log 1</footer><p>end</p>")
	if digest("<p>72</p><footer>log 2</footer><p>end</p>") != base {
		t.Error("the origin counts")
	}
	for _, html := range []string{"<p>73</p><footer>log 1</footer><p>end</p>", "<p>72</p><footer>log 1</footer><p>END</p>"} {
		if digest(html) == base {
			t.Errorf("%s is the same", html)
		}
	}
	odd := []byte(`{"resourceType":"DiagnosticReport","presentedForm":[{"contentType":"text/html","data":"` + base64.StdEncoding.EncodeToString([]byte("x")) + `!"}]}`)
	if Digest(odd, "") == Digest([]byte(strings.Replace(string(odd), "!", "?", 1)), "") {
		t.Error("what cannot be read counts as nothing")
	}
}

// The report comes after the weeks, is amended where its page changes, and is
// held back whole, like the weeks, where the clinic changed a value.
func TestPlanOfReport(t *testing.T) {
	r, err := receipt.Open(t.TempDir()+"/receipt.json", "https://fhir.example", "")
	must(t, err)
	sessions := withReport(t, smallLog, "<p>72</p>")
	plan := MakePlan(r, sessions, nil, AmendOptions{})
	if last := plan.Sessions[len(plan.Sessions)-1]; last.Label != fhirmap.ReportLabel {
		t.Errorf("the last record is %s", last.Label)
	}
	report := reportResource(sessions)
	facts := factsOf(report)
	r.Put(receipt.Entry{
		Identity: report.Identity, Type: report.Type, ID: "1", Status: receipt.Created, SHA256: Digest(report.JSON, ""), Role: report.Role,
		Session: report.Identity, Label: fhirmap.ReportLabel, State: facts.State, Result: facts.Result,
	})
	if spans := Reports(r); len(spans) != 1 || spans[0].String() != "2025-10-01/2025-10-31" {
		t.Errorf("reports in the receipt: %v", spans)
	}
	changed := withReport(t, smallLog, "<p>73</p>")
	plan = MakePlan(r, changed, nil, AmendOptions{})
	p := plan.Sessions[len(plan.Sessions)-1]
	if len(p.Correct) != 1 || p.Correct[0].Kind != receipt.Amended {
		t.Fatalf("%+v", p.Correct)
	}
	var s Sender
	conflicts := &ErrConflicts{Conflicts: []Conflict{{Entry: receipt.Entry{Identity: "a"}}}}
	if h := s.holder(p, conflicts); len(h.reduce(&p, nil, conflicts)) != 0 || len(p.Correct) != 0 {
		t.Errorf("not held back: %+v", p.Correct)
	}
	gone := MakePlan(r, nil, nil, AmendOptions{})
	if len(gone.Sessions) != 1 || len(gone.Sessions[0].Withdraw) != 1 {
		t.Errorf("not withdrawn: %+v", gone.Sessions)
	}
	text, err := withdrawn(report.JSON, AmendOptions{Reason: "other patient"})
	must(t, err)
	var left struct {
		Status string
		Note   []any
	}
	must(t, json.Unmarshal(text, &left))
	if left.Status != "entered-in-error" || left.Note != nil {
		t.Errorf("withdrawn as %+v", left)
	}
}
