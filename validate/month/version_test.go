package month_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"runsheet.example/validate"
)

// original is a weight as it was first sent.
const original = `{"resourceType":"Bundle","type":"transaction","entry":[{"fullUrl":"urn:uuid:22222222-2222-5222-8222-222222222222","resource":` + weight + `,
"request":{"method":"POST","url":"Observation","ifNoneExist":"identifier=urn:ietf:rfc:3986|urn:uuid:11111111-1111-5111-8111-111111111111"}}]}`

const weight = `{"resourceType":"Observation","identifier":[{"system":"urn:ietf:rfc:3986","value":"urn:uuid:11111111-1111-5111-8111-111111111111"}],
"status":"final","category":[{"coding":[{"system":"http://terminology.hl7.org/CodeSystem/observation-category","code":"vital-signs"}]}],
"code":{"coding":[{"system":"http://loinc.org","code":"29463-7"}]},"subject":{"reference":"Patient/1"},"effectiveDateTime":"2025-10-06T17:50:00+01:00",
"valueQuantity":{"value":63.40,"unit":"kg","system":"http://unitsofmeasure.org","code":"kg"}}`

// A later version of a resource is no conflict with the one before it; another
// content under one identifier that nothing makes a version still is, and so
// are two corrections of one version.
func TestVersions(t *testing.T) {
	edit := func(text string, changes ...string) string {
		for i := 0; i < len(changes); i += 2 {
			if !strings.Contains(text, changes[i]) {
				t.Fatalf("%q is not there", changes[i])
			}
			text = strings.Replace(text, changes[i], changes[i+1], 1)
		}
		return text
	}
	other := []string{"63.40", "63.50"}
	status := append([]string{`"status":"final"`, `"status":"corrected"`}, other...)
	put := func(request string) []string {
		return append([]string{`"method":"POST","url":"Observation","ifNoneExist":"identifier=urn:ietf:rfc:3986|urn:uuid:11111111-1111-5111-8111-111111111111"`, request}, other...)
	}
	version := func(id string) []string {
		return []string{`{"resourceType":"Observation",`, `{"resourceType":"Observation","meta":{"versionId":"` + id + `"},`}
	}
	const update = `"method":"PUT","url":"Observation/7","ifMatch":"W/\"1\""`
	for name, c := range map[string]struct {
		files []string
		want  string
	}{
		"other content":                 {[]string{original, edit(original, other...)}, "month-record-conflict"},
		"corrected":                     {[]string{original, edit(original, status...)}, "month-record-repeat"},
		"corrected, named before it":    {[]string{edit(original, status...), original}, "month-record-repeat"},
		"updated where it is":           {[]string{original, edit(original, put(update)...)}, "month-record-repeat"},
		"updated by a condition":        {[]string{original, edit(original, put(`"method":"PUT","url":"Observation?identifier=urn:ietf:rfc:3986|urn:uuid:11111111-1111-5111-8111-111111111111"`)...)}, "month-record-repeat"},
		"put under its own id":          {[]string{original, edit(original, put(`"method":"PUT","url":"Observation/7"`)...)}, "month-record-conflict"},
		"the second at the server":      {[]string{original, edit(weight, append(version("2"), other...)...)}, "month-record-repeat"},
		"the first at the server":       {[]string{original, edit(weight, append(version("1"), other...)...)}, "month-record-conflict"},
		"two versions at the server":    {[]string{edit(weight, version("a")...), edit(weight, append(version("b"), other...)...)}, "month-record-repeat"},
		"one version with two contents": {[]string{edit(weight, version("a")...), edit(weight, append(version("a"), other...)...)}, "month-record-conflict"},
		"two corrections": {[]string{original, edit(original, status...), edit(original, `"status":"final"`, `"status":"corrected"`, "63.40", "63.60")},
			"month-record-repeat month-record-conflict"},
		"two corrections in turn": {[]string{original, edit(original, put(update)...), edit(edit(original, put(`"method":"PUT","url":"Observation/7","ifMatch":"W/\"2\""`)...), "63.50", "63.60")},
			"month-record-repeat month-record-repeat"},
		"withdrawn": {[]string{original, edit(original, `"status":"final"`, `"status":"entered-in-error"`)}, "month-record-repeat"},
	} {
		t.Run(name, func(t *testing.T) {
			folder := t.TempDir()
			for i, text := range c.files {
				if err := os.WriteFile(filepath.Join(folder, string(rune('a'+i))+".json"), []byte(text), 0o600); err != nil {
					t.Fatal(err)
				}
			}
			report, err := validate.Paths(t.Context(), []string{folder}, nil, validate.Options{})
			if err != nil {
				t.Fatal(err)
			}
			var got []string
			for _, f := range report.Findings {
				if strings.HasPrefix(f.Rule, "month-record-conflict") || f.Rule == "month-record-repeat" {
					got = append(got, f.Rule)
				}
			}
			if s := strings.Join(got, " "); s != c.want {
				t.Errorf("found %q, want %q", s, c.want)
			}
		})
	}
}
