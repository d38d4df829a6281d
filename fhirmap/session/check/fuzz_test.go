package check

import (
	"testing"
	"testing/fstest"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// FuzzCheck holds that any log that can be read can be checked, that every
// finding is complete, and that a broken session has an error to say why.
func FuzzCheck(f *testing.F) {
	for _, h := range honest {
		folder := monthOf(h, 1)
		var readings []byte
		if file, ok := folder[readingsFile]; ok {
			readings = file.Data
		}
		f.Add(folder[sessionsFile].Data, readings)
	}
	f.Fuzz(func(t *testing.T, sessions, readings []byte) {
		folder := monthOf(honest[0], 2)
		folder[sessionsFile] = &fstest.MapFile{Data: sessions}
		folder[readingsFile] = &fstest.MapFile{Data: readings}
		log, findings, err := session.ReadFS(folder, session.Options{})
		if err != nil {
			t.Fatal(err)
		}
		findings = append(findings, Check(log, nil)...)
		for _, f := range findings {
			if _, ok := issue.Lookup(f.Rule); !ok || len(f.Cells) == 0 || f.Cells[0].File == "" || f.Details.String() == "" {
				t.Fatalf("incomplete finding %+v", f)
			}
		}
		for _, one := range log.Sessions {
			if one.Broken && !issue.HasErrors(findings) {
				t.Fatalf("session %q is broken and nothing says why", one.ID)
			}
		}
	})
}

// BenchmarkCheckYear checks a year of five sessions a week with their
// readings.
func BenchmarkCheckYear(b *testing.B) {
	h := honest[0]
	h.first, h.weeks = "2025-01-06", 52
	log, _, err := session.ReadFS(monthOf(h, 1), session.Options{})
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		Check(log, nil)
	}
}
