package validate_test

import (
	"context"
	"strings"
	"testing"

	"runsheet.example/validate"
)

// small is a document of its own and the one rule it must raise at an
// expression; line counts from 0. An empty rule means nothing at all.
type small struct {
	rule, expression string
	line             int
	document         string
}

// documents checks each; dom-6, for information, is not looked at.
func documents(t *testing.T, cases []small) {
	t.Helper()
	for _, c := range cases {
		t.Run(c.rule+" "+c.expression, func(t *testing.T) {
			found := c.rule == ""
			for _, f := range validate.New(validate.Options{}).Bytes([]byte(c.document), "small.json") {
				switch {
				case f.Rule == "inv-dom-6":
				case f.Rule == c.rule && f.Expression == c.expression && f.Line == c.line+1:
					found = true
				default:
					t.Errorf("unexpected finding: %s %s line %d: %s (%s)", f.Rule, f.Expression, f.Line, f.Details, f.Value)
				}
			}
			if !found {
				t.Errorf("no %s at %s, line %d", c.rule, c.expression, c.line+1)
			}
		})
	}
}

func many(n int, text string) string {
	return strings.TrimSuffix(strings.Repeat(text+",", n), ",")
}

func fromStdin(t *testing.T, text string) *validate.Report {
	t.Helper()
	report, err := validate.Paths(context.Background(), []string{"-"}, strings.NewReader(text), validate.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return report
}
