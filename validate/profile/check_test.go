package profile_test

import (
	"io/fs"
	"regexp"
	"strings"
	"testing"

	"runsheet.example/profiles"
	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/profile"
	"runsheet.example/validate/resources"
	"runsheet.example/validate/structure"
)

// document is a parsed document that checkers read.
type document struct {
	doc   doc.Doc
	types structure.Checker
	rec   resources.Index
}

func (d *document) read(text []byte) {
	d.doc.Parse(text, "test.json")
	d.types.Check(&d.doc, func(issue.Finding) {})
	d.rec.Read(&d.doc)
}

func (d *document) check(c *profile.Checker) []issue.Finding {
	var found []issue.Finding
	c.Check(&d.types, &d.rec, func(f issue.Finding) { found = append(found, f) })
	return found
}

func checked(text []byte, c *profile.Checker) []issue.Finding {
	var d document
	d.read(text)
	return d.check(c)
}

func artifacts(tb testing.TB, kind string) map[string][]byte {
	tb.Helper()
	all, err := profiles.Artifacts()
	if err != nil {
		tb.Fatal(err)
	}
	out := map[string][]byte{}
	for _, a := range all {
		if a.Kind != kind {
			continue
		}
		text, err := fs.ReadFile(profiles.Package(), a.File)
		if err != nil {
			tb.Fatal(err)
		}
		out[a.Name] = text
	}
	return out
}

// Every example of the package claims a profile and conforms to it, and
// nothing about it is left unchecked.
func TestOurExamplesConform(t *testing.T) {
	c := profile.New(profile.NewLibrary(), profile.Options{})
	examples := artifacts(t, profiles.Example)
	for name, text := range examples {
		for _, f := range checked(text, c) {
			t.Errorf("%s: %s %s: %s (%s, expected %s)", name, f.Rule, f.Expression, f.Details, f.Value, f.Expected)
		}
	}
	if len(examples) < 30 {
		t.Errorf("only %d examples", len(examples))
	}
}

var index = regexp.MustCompile(`\[\d+\]`)

// Every invalid example is rejected for the reason it states, at the element
// it states. An invariant of R4 is left to the layer that knows it.
func TestOurInvalidExamplesAreRejected(t *testing.T) {
	texts := artifacts(t, profiles.Invalid)
	expected, err := profiles.Expectations()
	if err != nil {
		t.Fatal(err)
	}
	inR4 := regexp.MustCompile(`^(obs|per|mad)-\d+$`)
	for _, e := range expected {
		if inR4.MatchString(e.Rule) {
			continue
		}
		name := strings.TrimSuffix(e.File, ".json")
		c := profile.New(profile.NewLibrary(), profile.Options{})
		found := checked(texts[name], c)
		met := false
		for _, f := range found {
			met = met || meets(f, e.Rule, e.Expression, e.Severity)
		}
		if !met {
			t.Errorf("%s: no %s at %s (%s) among %d findings", name, e.Rule, e.Expression, e.Severity, len(found))
			for _, f := range found {
				t.Logf("  %s %s %s: %s (%s, expected %s)", f.Severity, f.Rule, f.Expression, f.Details, f.Value, f.Expected)
			}
		}
	}
}

// meets reports whether a finding is the one expected: at the element, or in
// what it would be in where it is missing or too few; an invariant is told where the
// profile states it.
func meets(f issue.Finding, rule, expression, severity string) bool {
	if f.Severity.String() != severity {
		return false
	}
	where := index.ReplaceAllString(f.Expression, "")
	if strings.HasPrefix(rule, "rs-") {
		return f.Rule == "profile-invariant" && strings.Contains(f.Details.String(), " "+rule+" of ") && (strings.HasPrefix(expression, where) || strings.HasPrefix(where, expression))
	}
	if f.Rule != "profile-"+rule {
		return false
	}
	choice := strings.NewReplacer("valueQuantity", "value")
	expression = choice.Replace(expression)
	name := expression[strings.IndexByte(expression, '.')+1:]
	return strings.HasPrefix(where, expression) ||
		strings.HasPrefix(expression, where) && (strings.HasPrefix(f.Details.String(), "missing: "+name) || strings.HasPrefix(f.Details.String(), "too few of "+name))
}
