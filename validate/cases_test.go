package validate_test

import (
	"encoding/json"
	"os"
	"testing"

	"runsheet.example/validate"
	"runsheet.example/validate/issue"
)

// TestValidationCases runs the collected invalid and valid documents end to
// end: an invalid one must raise an error, a valid one none. Debatable ones
// must only be answered without a panic.
func TestValidationCases(t *testing.T) {
	data, err := os.ReadFile("../testdata/validation_cases.json")
	if err != nil {
		t.Fatal(err)
	}
	var cases []struct {
		Cat, Name, Text  string
		Valid, Debatable bool
	}
	if err := json.Unmarshal(data, &cases); err != nil {
		t.Fatal(err)
	}
	if len(cases) < 60 {
		t.Fatalf("only %d cases", len(cases))
	}
	for _, c := range cases {
		t.Run(c.Cat+"/"+c.Name, func(t *testing.T) {
			findings := validate.New(validate.Options{}).Bytes([]byte(c.Text), "case.json")
			if !c.Debatable && issue.HasErrors(findings) == c.Valid {
				t.Errorf("valid is %v, findings:", c.Valid)
				for _, f := range findings {
					t.Logf("%s %s %s: %s (%s)", f.Severity, f.Rule, f.Expression, f.Details, f.Value)
				}
			}
		})
	}
}
