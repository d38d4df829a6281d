package validate_test

import (
	"bytes"
	"encoding/json"
	"os"
	"testing"

	"runsheet.example/validate"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/month"
	"runsheet.example/validate/report"
)

// FuzzBytes holds that no document makes a layer panic, that every finding is
// in the rules table and in the document, and that our own report of it is
// sound.
func FuzzBytes(f *testing.F) {
	if data, err := os.ReadFile("testdata/session.json"); err == nil {
		f.Add(data)
	}
	if data, err := os.ReadFile("../testdata/validation_cases.json"); err == nil {
		var cases []struct{ Text string }
		if json.Unmarshal(data, &cases) == nil {
			for _, c := range cases {
				f.Add([]byte(c.Text))
			}
		}
	}
	validator := validate.New(validate.Options{})
	f.Fuzz(func(t *testing.T, data []byte) {
		findings := validator.Bytes(data, "x.json")
		lines := 1 + bytes.Count(data, []byte{'\n'})
		for _, found := range findings {
			if _, ok := issue.Lookup(found.Rule); !ok {
				t.Fatalf("no rule %s", found.Rule)
			}
			if found.Line > lines || found.Details.String() == "" && found.Rule != "json-more" {
				t.Fatalf("finding %+v in a document of %d lines", found, lines)
			}
		}
		var out bytes.Buffer
		if err := report.Print(&out, report.Outcome, findings, report.Options{}); err != nil {
			t.Fatal(err)
		}
		if own := validate.New(validate.Options{}).Bytes(out.Bytes(), "outcome.json"); issue.HasErrors(own) {
			t.Fatalf("our own outcome: %+v\n%s", own, out.Bytes())
		}
	})
}

// FuzzManifest holds that no manifest makes its reader panic or look outside
// its folder.
func FuzzManifest(f *testing.F) {
	f.Add([]byte(manifest(map[string]string{"a.json": "{}"}, "")))
	f.Add([]byte(`{"format":1,"bundles":[{"file":"../a","sha256":""}]}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		m, _ := month.ReadManifest(data, "manifest.json")
		if _, err := m.Verify(os.DirFS(t.TempDir()), nil); err != nil {
			t.Fatal(err)
		}
	})
}
