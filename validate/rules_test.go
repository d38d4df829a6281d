package validate_test

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"runsheet.example/validate/issue"
)

// TestEveryRuleIsTested holds that each rule about records is named by a test
// of this package: a rule nobody has seen raised is not known to work.
func TestEveryRuleIsTested(t *testing.T) {
	var tests strings.Builder
	files, err := filepath.Glob("*_test.go")
	if err != nil {
		t.Fatal(err)
	}
	for _, file := range files {
		data, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		tests.Write(data)
	}
	ours := regexp.MustCompile(`^(ref|bundle|prov|unit|term|calc|clin-record|month-record|month-manifest|fhir)-`)
	for _, rule := range issue.Rules() {
		if ours.MatchString(rule.ID) && !strings.Contains(tests.String(), `"`+rule.ID+`"`) &&
			!strings.Contains(tests.String(), `"`+rule.ID+` `) {
			t.Errorf("no test names %s", rule.ID)
		}
	}
}

// TestRulesAreWhole holds every rule of the table to its form.
func TestRulesAreWhole(t *testing.T) {
	id := regexp.MustCompile(`^[a-z0-9]+(-[a-z0-9]+)+$`)
	types := map[string]bool{}
	for _, code := range strings.Fields(`invalid structure required value invariant processing not-supported duplicate
multiple-matches not-found too-long code-invalid extension too-costly business-rule conflict incomplete informational security unknown`) {
		types[code] = true
	}
	for _, rule := range issue.Rules() {
		for name, text := range map[string]string{"what": rule.What, "why": rule.Why, "source": rule.Source, "mend": rule.Mend} {
			if text == "" || strings.HasSuffix(text, ".") {
				t.Errorf("%s: %s is %q", rule.ID, name, text)
			}
		}
		if !id.MatchString(rule.ID) || !types[rule.IssueType] {
			t.Errorf("%s: id, or issue type %s, is none", rule.ID, rule.IssueType)
		}
	}
}
