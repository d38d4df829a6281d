package validate

import (
	"testing"

	"runsheet.example/validate/issue"
)

// When there are more findings than room, errors are kept before all others,
// wherever they come.
func TestErrorsAreKeptFirst(t *testing.T) {
	severities := []issue.Severity{issue.Warning, issue.Error, issue.Information, issue.Warning, issue.Error, issue.Warning, issue.Error, issue.Error, issue.Error}
	for limit := 1; limit <= len(severities)+1; limit++ {
		r := newRun(Options{MaxFindings: limit})
		errors := 0
		for _, s := range severities {
			if s == issue.Error {
				errors++
			}
			r.keep(issue.Finding{Rule: "json-syntax", Severity: s})
		}
		kept, _, _ := issue.Count(r.out.Findings)
		if want := min(errors, limit); kept != want || r.out.DroppedErrors != errors-want {
			t.Errorf("limit %d: kept %d errors and dropped %d, want %d and %d", limit, kept, r.out.DroppedErrors, want, errors-want)
		}
		if all := len(r.out.Findings) + r.out.Dropped; all != len(severities) {
			t.Errorf("limit %d: %d findings are accounted for", limit, all)
		}
	}
}
