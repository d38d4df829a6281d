package fhirmap

import (
	"encoding/json"
	"strings"
	"testing"
	"time"
)

func october(from, to int) Span {
	return Span{time.Date(2025, 10, from, 0, 0, 0, 0, time.UTC), time.Date(2025, 10, to, 0, 0, 0, 0, time.UTC)}
}

func reportRecord(t *testing.T, page Report, opts Options) *SessionRecord {
	t.Helper()
	mapping, err := NewMapping(readLog(t, "testdata/small"), opts)
	if err != nil {
		t.Fatal(err)
	}
	record, err := mapping.Report(page)
	if err != nil {
		t.Fatal(err)
	}
	return record
}

func page(html string, summaries ...Summary) Report {
	return Report{Span: october(1, 31), Title: "Report", Language: "en", PDF: []byte("pdf"), HTML: []byte(html), Summaries: summaries}
}

func spread(key string, span Span) Summary {
	return Summary{Span: span, Key: key, Unit: "kg", Median: "62.05", Least: "62.0", Greatest: "62.1", Count: 2, Sessions: 3}
}

// The identity is made from the days, never from the content, and the record
// has its own place among those without a session.
func TestReportIdentity(t *testing.T) {
	first := reportRecord(t, page("a", spread("weight_after", october(4, 31))), testOptions)
	other := spread("weight_after", october(4, 31))
	other.Median = "62.0"
	second := reportRecord(t, page("b", other), testOptions)
	if first.ID != second.ID || len(first.Resources) != 3 {
		t.Fatalf("%s and %s, %d resources", first.ID, second.ID, len(first.Resources))
	}
	for i, r := range first.Resources {
		if r.Identity != second.Resources[i].Identity || (string(r.JSON) == string(second.Resources[i].JSON)) != (r.Type == "Device") {
			t.Errorf("%s: identity %s or content", r.Role, r.Identity)
		}
	}
	days := page("a")
	days.To = days.To.AddDate(0, 0, -1)
	if shorter := reportRecord(t, days, testOptions); shorter.ID == first.ID || len(shorter.Resources) != 1 {
		t.Errorf("other days: %s, %d resources", shorter.ID, len(shorter.Resources))
	}
	role := first.Resources[2].Role
	if span, ok := SpanOf(role); !ok || span != october(1, 31) || !Heads(role) || Heads(first.Resources[1].Role) || first.Label() != ReportLabel {
		t.Errorf("role %s, label %s", role, first.Label())
	}
	for _, role := range []string{"", "procedure", RoleReport, RoleReport + "2025-10-01", RoleReport + "2025-10-01/x", "2025-10-01/2025-10-02"} {
		if _, ok := SpanOf(role); ok {
			t.Errorf("%q has a span", role)
		}
	}
}

// A treated time taken from the clock is preliminary in its session, and so is
// all that rests on it, in the days in which it is.
func TestReportIsPreliminary(t *testing.T) {
	for _, c := range []struct {
		key, unit string
		span      Span
		want      string
	}{
		{"treated_time", "min", october(4, 31), "preliminary"},
		{"treated_time", "min", october(30, 31), "final"},
		{"weight_after", "kg", october(4, 31), "final"},
	} {
		s := spread(c.key, c.span)
		s.Unit = c.unit
		record := reportRecord(t, page("a", s), testOptions)
		for _, r := range record.Resources[1:] {
			var got struct{ Status string }
			if err := json.Unmarshal(r.JSON, &got); err != nil || got.Status != c.want {
				t.Errorf("%s of %s: %s is %s, want %s", c.key, c.span, r.Role, got.Status, c.want)
			}
		}
	}
	mapping, _ := NewMapping(readLog(t, "testdata/small"), testOptions)
	if _, err := mapping.Report(page("a", spread("unheard_of", october(4, 31)))); err == nil || !strings.Contains(err.Error(), "unheard_of") {
		t.Errorf("a summary without a code: %v", err)
	}
}
