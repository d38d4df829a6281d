package fhirmap

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"runsheet.example/fhirmap/r4"
	"runsheet.example/fhirmap/session"
	"runsheet.example/profiles"
	"runsheet.example/validate/manifest"
)

// edited is the small log with texts of its files replaced, each pair old, new.
func edited(t *testing.T, pairs ...string) *session.Log {
	t.Helper()
	folder := t.TempDir()
	files, err := filepath.Glob("testdata/small/*")
	if err != nil {
		t.Fatal(err)
	}
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(folder, filepath.Base(file)), []byte(strings.NewReplacer(pairs...).Replace(string(text))), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return readLog(t, folder)
}

// With references by Type/id each resource has its id and is referred to by it,
// and the Provenance is put under its own.
func TestReferencesByTypeAndID(t *testing.T) {
	month := mapLog(t, readLog(t, "testdata/small"), Options{Tool: testOptions.Tool, References: ByTypeID,
		Options: manifest.Options{Patient: "p-1", Provenance: PutProvenance}})
	for _, s := range month.Sessions {
		transaction, err := s.Transaction()
		if err != nil {
			t.Fatal(err)
		}
		provenance := s.Resources[len(s.Resources)-1]
		for _, want := range []string{
			`"request":{"method":"PUT","url":"Provenance/` + provenance.Identity + `"}`,
			`"reference":"Procedure/` + s.ID + `"`,
		} {
			if !strings.Contains(string(transaction), want) {
				t.Errorf("session %s: no %s", s.Session.ID, want)
			}
		}
		if strings.Contains(string(transaction), `"reference":"urn:uuid:`) {
			t.Errorf("session %s refers by urn:uuid", s.Session.ID)
		}
		for _, r := range s.Resources {
			if !strings.Contains(string(r.JSON), `"id":"`+r.Identity+`"`) {
				t.Errorf("%s has no id", r.Role)
			}
		}
	}
}

// A session under an order of the clinic names it.
func TestOrderOfTheClinic(t *testing.T) {
	for order, want := range map[string]bool{
		"order_system = \"urn:oid:2.25.1\"\norder_value = \"R-17\"\n": true, "order_value = \"R-17\"\n": false, "order_system = \"urn:oid:2.25.1\"\n": false,
	} {
		month := mapLog(t, edited(t, "sessions_per_week = 4\n", "sessions_per_week = 4\n"+order), testOptions)
		const named = `"basedOn":[{"type":"ServiceRequest","identifier":{"system":"urn:oid:2.25.1","value":"R-17"},"display":"Home haemodialysis prescription in force from 2025-10-01"}]`
		if text := string(byRole(month, "procedure")[0].JSON); strings.Contains(text, named) != want || strings.Contains(text, "basedOn") != want {
			t.Errorf("%q: %s", order, text)
		}
	}
}

// A result in words, or of a test without a code, has its name and its words.
func TestResultsWithoutACode(t *testing.T) {
	month := mapLog(t, edited(t, "a,17:55,before,potassium,5.0,mmol/L,", "a,17:55,before,hepatitis B,not found,,"), testOptions)
	found := byRole(month, roleLab+"other")
	if len(found) != 1 {
		t.Fatalf("%d results without a code", len(found))
	}
	for _, want := range []string{`"code":{"text":"hepatitis B"}`, `"valueString":"not found"`, `hepatitis B: not found<`, `"performer":[{"display":"Example Laboratory"}]`} {
		if !strings.Contains(string(found[0].JSON), want) {
			t.Errorf("no %s in %s", want, found[0].JSON)
		}
	}
}

// A treatment in two records names the urea and the weight of the other record by
// identity.
func TestValuesOfATreatmentInTwoRecords(t *testing.T) {
	log := edited(t, "a,2025-10-06,18:00,21:00,done,,17:50,", "a,2025-10-06,18:00,19:00,cut short,alarm,17:50,",
		"b,2025-10-07,,,not done,waiting for the engineer,,,,,,,,,,,,,,,,,", "b,2025-10-06,19:30,21:00,done,,,,,,21:05,61.0,,,1.0,,,13.5,9.0,320,,,",
		"a,21:02,after", "b,20:59,after")
	month := mapLog(t, log, testOptions)
	at := indexOf(month, 1, "computed:urea_reduction_ratio:urr")
	if at < 0 {
		t.Fatal("no reduction ratio over the two records")
	}
	urea := month.Sessions[0].Resources[indexOf(month, 0, roleLab+"urea_before")].Identity
	want := `{"type":"Observation","identifier":{"system":"` + profiles.RecordIdentifier + `","value":"urn:uuid:` + urea + `"},"display":"Urea of the part of the treatment before"}`
	if text := string(month.Sessions[1].Resources[at].JSON); !strings.Contains(text, want) {
		t.Errorf("no %s in %s", want, text)
	}
}

// A log of which every session is held back has no weeks.
func TestNoSessionNoWeeks(t *testing.T) {
	log := readLog(t, "testdata/small")
	for _, s := range log.Sessions {
		s.Broken = true
	}
	if month := mapLog(t, log, testOptions); month.Beside != nil || len(month.Sessions) > 0 || len(month.LeftOut) != len(log.Sessions) {
		t.Errorf("%d sessions, %d left out, weeks %v", len(month.Sessions), len(month.LeftOut), month.Beside)
	}
}

// An amendment names what is known of it and nothing else.
func TestProvenanceOfAnAmendment(t *testing.T) {
	target, old := "Observation/1", "Observation/1/_history/1"
	amendment := func(reason, author, software string) Amendment {
		return Amendment{Recorded: "2025-10-08T20:00:00Z", Sentence: "A weight was corrected.", Reason: reason, Author: author, Software: software,
			Targets: []r4.Reference{{Reference: &target}}, Replaced: []r4.Reference{{Reference: &old}}}
	}
	const reason, author, software, behalf = `"reason":[{"text":"read wrongly"}]`, `"who":{"reference":"Patient/1","type":"Patient"}`, `"who":{"reference":"Device/1","type":"Device"}`, `"onBehalfOf":{"reference":"Patient/1","type":"Patient"}`
	const program = `"who":{"type":"Device","display":"runsheet"}`
	for _, c := range []struct {
		amendment Amendment
		want      []string
	}{
		{amendment("read wrongly", "Patient/1", "Device/1"), []string{reason, author, software, behalf}}, {amendment("", "Patient/1", "Device/1"), []string{author, software, behalf}},
		{amendment("", "Patient/1", ""), []string{author}}, {amendment("read wrongly", "", "Device/1"), []string{reason, software}},
		{amendment("", "", ""), []string{program}},
	} {
		text, err := c.amendment.Provenance()
		if err != nil {
			t.Fatal(err)
		}
		for _, part := range []string{reason, author, software, behalf, program} {
			if strings.Contains(string(text), part) != slices.Contains(c.want, part) {
				t.Errorf("%+v: %s in %s", c.amendment, part, text)
			}
		}
		if !strings.Contains(string(text), `"what":{"reference":"Observation/1/_history/1"}`) {
			t.Errorf("%+v: %s", c.amendment, text)
		}
	}
}
