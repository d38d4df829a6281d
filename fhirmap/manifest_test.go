package fhirmap

import (
	"slices"
	"testing"
	"time"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/manifest"
)

// A manifest is the same whatever order its files come in, says which rules
// kept a session out and how many sessions a prescription asks for.
func TestNewManifest(t *testing.T) {
	month := mapLog(t, readLog(t, "testdata/small"), testOptions)
	var files []manifest.File
	for i, s := range month.Sessions {
		files = append(files, s.ManifestFile(string(rune('a'+i)), "digest"))
	}
	log := readLog(t, "testdata/small")
	three, _ := session.ParseDecimal("3", '.')
	log.About.Prescriptions = append(log.About.Prescriptions,
		session.Prescription{ValidFrom: log.Sessions[0].Date, Weekdays: []time.Weekday{time.Monday, time.Thursday}},
		session.Prescription{ValidFrom: log.Sessions[0].Date},
		session.Prescription{ValidFrom: log.Sessions[0].Date, Name: session.Text{Text: "short day", Absence: session.Present}, SessionsPerWeek: session.Value{Decimal: three, Text: "3", Absence: session.Present}},
	)
	findings := []issue.Finding{
		{Rule: "z", Severity: issue.Error, Session: "b"}, {Rule: "a", Severity: issue.Error, Session: "b"}, {Rule: "a", Severity: issue.Error, Session: "b"},
		{Rule: "warned", Severity: issue.Warning, Session: "b"}, {Rule: "other", Severity: issue.Error, Session: "c"},
	}
	m := NewManifest(log, testOptions, files, log.Sessions[1:2], findings)
	files = slices.Clone(files)
	slices.Reverse(files)
	if other := NewManifest(log, testOptions, files, nil, nil); other.Root != m.Root {
		t.Error("the digest depends on the order of the files")
	}
	files[0].SHA256 = "another"
	if other := NewManifest(log, testOptions, files, nil, nil); other.Root == m.Root {
		t.Error("the digest does not depend on the files")
	}
	if len(m.LeftOut) != 1 || m.LeftOut[0].Session != "b" || !slices.Equal(m.LeftOut[0].Rules, []string{"a", "z"}) {
		t.Errorf("left out: %+v", m.LeftOut)
	}
	var expected []string
	for _, e := range m.Expected {
		expected = append(expected, e.From+" "+e.SessionsPerWeek.String())
	}
	if want := []string{"2025-10-01 4", "2025-10-06 2", "2025-10-06 "}; !slices.Equal(expected, want) {
		t.Errorf("expected %q, want %q", expected, want)
	}
	if got := []string{m.Files[0].Session, m.Files[0].Status, m.Files[1].Status}; !slices.Equal(got, []string{"a", "done", "not done"}) {
		t.Errorf("sessions %q", got)
	}
	for _, r := range m.Files[0].Resources {
		if (r.FullURL != "") != (r.Type == "Provenance") {
			t.Errorf("%s has the link %q", r.Role, r.FullURL)
		}
	}
}

// The weeks are a record without a session: behind the sessions, under a name
// of their own, without a status.
func TestWeeksAmongTheRecords(t *testing.T) {
	month := mapLog(t, readLog(t, "../testdata/month"), testOptions)
	records := month.Records()
	weeks := records[len(records)-1]
	if len(records) != len(month.Sessions)+1 || weeks.Session != nil || weeks.Label() != WeeksLabel || records[0].Label() != month.Sessions[0].Session.ID {
		t.Errorf("%d records, the last %q", len(records), weeks.Label())
	}
	if f := weeks.ManifestFile("weeks", "digest"); f.Status != "" || f.Session != WeeksLabel {
		t.Errorf("%+v", f)
	}
	var rebuilt Month
	for _, s := range records {
		rebuilt.Add(s)
	}
	if len(rebuilt.Sessions) != len(month.Sessions) || len(rebuilt.Beside) != 1 {
		t.Errorf("%d sessions, weeks %v", len(rebuilt.Sessions), rebuilt.Beside)
	}
	if none := mapLog(t, &session.Log{About: readLog(t, "testdata/small").About}, testOptions); none.Beside != nil || len(none.Records()) != 0 {
		t.Errorf("a log without sessions has records: %+v", none)
	}
}

// Options that contradict each other are refused, and only those.
func TestOptionsThatContradict(t *testing.T) {
	known, created := Options{Options: manifest.Options{Patient: "Patient/1"}}, Options{Options: manifest.Options{CreatePatient: true}}
	typed := func(o Options) Options { o.References = ByTypeID; return o }
	for _, c := range []struct {
		opts Options
		fine bool
	}{
		{Options{}, true}, {known, true}, {created, true}, {typed(known), true}, {typed(created), true},
		{Options{Options: manifest.Options{Patient: "Patient/1", CreatePatient: true}}, false}, {typed(Options{}), false},
		{Options{Options: manifest.Options{Series: "some"}}, false}, {Options{Options: manifest.Options{Provenance: "some"}}, false},
		{Options{Options: manifest.Options{Series: AllReadings, Provenance: NoProvenance}}, true}, {Options{Options: manifest.Options{Series: FirstAndLast, Provenance: ConditionalProvenance}}, true},
	} {
		if err := c.opts.Check(); (err == nil) != c.fine {
			t.Errorf("%+v: %v", c.opts, err)
		}
	}
}
