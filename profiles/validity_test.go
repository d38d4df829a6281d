package profiles_test

import (
	"regexp"
	"slices"
	"testing"

	"runsheet.example/profiles"
	"runsheet.example/validate"
	"runsheet.example/validate/issue"
)

// findings validates one file of the package as plain R4, with the published
// JSON Schema as well.
func findings(t *testing.T, name string) []issue.Finding {
	t.Helper()
	a, text, err := profiles.Find(name)
	if err != nil {
		t.Fatal(err)
	}
	return validate.New(validate.Options{Schema: true}).Bytes(text, a.File)
}

// The definitions are R4 resources themselves, and what they call valid is
// valid.
func TestDefinitionsAndExamplesAreValidR4(t *testing.T) {
	for _, a := range artifacts(t) {
		if a.Kind == profiles.Invalid || a.Kind == profiles.View { // no resource of R4
			continue
		}
		for _, f := range findings(t, a.Name) {
			if f.Severity == issue.Error {
				t.Errorf("%s line %d: %s at %s: %s", a.File, f.Line, f.Rule, f.Expression, f.Value)
			}
		}
	}
}

// Some invalid examples break R4 itself; those our validator must find
// without knowing the profile.
func TestInvalidExamplesThatBreakR4(t *testing.T) {
	invariant := regexp.MustCompile(`^[a-z]+-\d+$`)
	expected, err := profiles.Expectations()
	if err != nil {
		t.Fatal(err)
	}
	tested := 0
	for _, e := range expected {
		if !invariant.MatchString(e.Rule) {
			continue
		}
		tested++
		name := e.File[:len(e.File)-len(".json")]
		found := findings(t, name)
		if !slices.ContainsFunc(found, func(f issue.Finding) bool { return f.Rule == "inv-"+e.Rule && f.Severity == issue.Error }) {
			t.Errorf("%s: %s not found in %v", name, e.Rule, found)
		}
	}
	if tested < 3 {
		t.Errorf("only %d of the examples break an invariant of R4", tested)
	}
}
