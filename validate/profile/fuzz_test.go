package profile_test

import (
	"bytes"
	"testing"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/profile"
)

// FuzzProfile holds any resource against any profile: neither is to be trusted,
// and whatever they hold, the check ends, every finding is of a rule, points
// into the document, and the same comes out again.
func FuzzProfile(f *testing.F) {
	for _, tc := range ruleCases() {
		f.Add([]byte(withIDs(tc.profiles[0])), []byte(tc.resource))
	}
	for _, d := range []string{
		de("Observation.component.referenceRange.text", "", 1, "many", ""), de("Observation.valueQuantity.code", "", 1, "1", ""),
		de("Observation.component", "a/b", 1, "many", `"maxLength":1`) + "," + de("Observation.extension.url", "", -1, "many", `"fixedUri":"x"`),
	} {
		f.Add([]byte(differential("p", "Observation", inR4+"Observation", d)), []byte(observation(codeText+","+quantity)))
	}
	f.Fuzz(func(t *testing.T, sd, resource []byte) {
		p, err := profile.ReadPackage(bytes.NewReader(packed(t, "package/a.json\x00"+string(sd))))
		if err != nil {
			return
		}
		var d document
		d.doc.MaxValues = 10_000
		d.read(resource)
		if d.doc.Broken() || d.doc.Root() == doc.None {
			return
		}
		check := func() []issue.Finding {
			return d.check(profile.New(profile.NewLibrary(p), profile.Options{Profiles: []string{guide + "p"}, MustSupport: true}))
		}
		first, second := check(), check()
		if len(first) != len(second) {
			t.Fatalf("%d findings, then %d", len(first), len(second))
		}
		for i, f := range first {
			if _, known := issue.Lookup(f.Rule); !known || f.Details.String() == "" || f.Details.String() != second[i].Details.String() {
				t.Errorf("%+v, then %+v", f, second[i])
			}
		}
	})
}

// FuzzReadPackage reads any bytes as a package.
func FuzzReadPackage(f *testing.F) {
	f.Add(packed(f, definition("p", "Observation")))
	f.Add(packed(f, "package/package.json\x00{}"))
	f.Fuzz(func(t *testing.T, text []byte) {
		p, err := profile.ReadPackage(bytes.NewReader(text))
		if (p == nil) == (err == nil) {
			t.Errorf("%v, %v", p, err)
		}
	})
}
