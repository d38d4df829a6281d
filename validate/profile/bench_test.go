package profile_test

import (
	"testing"

	"runsheet.example/fhirmap"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/profile"
)

// BenchmarkCompile is what the first document that claims our profiles pays.
func BenchmarkCompile(b *testing.B) {
	text := exported(b, fhirmap.Options{})[0]
	var d document
	d.read(text)
	b.ReportAllocs()
	for b.Loop() {
		c := profile.New(profile.NewLibrary(), profile.Options{})
		c.Check(&d.types, &d.rec, func(f issue.Finding) { b.Error(f.Details) })
	}
}
