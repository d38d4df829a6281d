package cli

import (
	"bytes"
	"testing"

	"github.com/google/go-cmp/cmp"

	"runsheet.example/validate"
	"runsheet.example/validate/issue"
)

// TestSummaryIsPlainJSON holds a summary that is written finding by finding to
// what encoding/json writes of the whole.
func TestSummaryIsPlainJSON(t *testing.T) {
	one := issue.At("r4-binding")
	one.File, one.Value, one.Cells = "a.json", "<\n]\n}\n\"findings\": []", []issue.Cell{{File: "b.csv", Row: 2}}
	for _, findings := range [][]issue.Finding{{}, {one}, {one, one, one}} {
		state := &validate.State{Parts: 3, Report: validate.Report{Findings: findings}}
		s := &summaryFile{Format: summaryFormat, Paths: []string{"\"findings\": []"}, State: state}
		var want, got bytes.Buffer
		if err := encodeTo(&want, s); err != nil {
			t.Fatal(err)
		}
		if err := s.encode(&got, state); err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(want.String(), got.String()); diff != "" {
			t.Errorf("%d findings:\n%s", len(findings), diff)
		}
	}
}
