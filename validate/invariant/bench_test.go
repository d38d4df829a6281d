package invariant_test

import (
	"bytes"
	"encoding/json"
	"os"
	"testing"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/invariant"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/structure"
	"runsheet.example/validate/vitals"
)

// session is one session as a transaction Bundle, without white space.
func session(tb testing.TB) []byte {
	tb.Helper()
	data, err := os.ReadFile("../testdata/session.json")
	if err != nil {
		tb.Fatal(err)
	}
	var compact bytes.Buffer
	if err := json.Compact(&compact, data); err != nil {
		tb.Fatal(err)
	}
	return compact.Bytes()
}

// BenchmarkSession shows what each layer costs on top of those before it.
func BenchmarkSession(b *testing.B) {
	data := session(b)
	var d doc.Doc
	var s structure.Checker
	var c invariant.Checker
	quiet := func(issue.Finding) {}
	layers := []struct {
		name string
		run  func()
	}{
		{"doc", func() { d.Parse(data, "session.json") }},
		{"structure", func() { s.Check(&d, quiet) }},
		{"invariant", func() { c.Check(&s, quiet) }},
		{"vitals", func() { new(vitals.Checker).Check(&s, quiet) }},
	}
	for _, l := range layers {
		l.run()
	}
	for _, l := range layers {
		b.Run(l.name, func(b *testing.B) {
			b.SetBytes(int64(len(data)))
			b.ReportAllocs()
			for b.Loop() {
				l.run()
			}
		})
	}
	b.Run("all", func(b *testing.B) {
		b.SetBytes(int64(len(data)))
		b.ReportAllocs()
		for b.Loop() {
			for _, l := range layers {
				l.run()
			}
		}
	})
}
