package fhirmap

import (
	"slices"
	"strings"
	"testing"

	"runsheet.example/fhirmap/session"
)

// Who treats is the patient, unless the age or each word of who did the checks
// says otherwise; then neither a child nor an adult is said to have done it.
func TestWhoTreats(t *testing.T) {
	for _, tt := range []struct {
		words      []string
		ageYears   int
		self       bool
		recordedBy string
	}{
		{nil, 63, true, "Patient?identifier"},
		{[]string{"self", "helper"}, 63, true, "Patient?identifier"},
		{[]string{"helper"}, 63, false, "Patient?identifier"},
		{[]string{"helper"}, 4, false, `{"type":"RelatedPerson","display":"Helper"}`},
		{nil, 11, false, `{"type":"RelatedPerson","display":"Helper"}`},
		{nil, 12, true, "Patient?identifier"},
	} {
		rows := ""
		for _, word := range tt.words {
			rows += firstID(t) + ",,disinfection,ok,,,,," + word + "\n"
		}
		log := withChecks(t, rows)
		log.About.BirthDate.Time = log.Sessions[0].Date.Time.AddDate(-tt.ageYears, 0, -1)
		hub := string(byRole(mapLog(t, log, testOptions), "procedure")[0].JSON)
		if self := strings.Contains(hub, "Self-administered"); self != tt.self || strings.Contains(hub, "Home treatment") == self {
			t.Errorf("%+v: %s", tt, hub)
		}
		_, recorder, _ := strings.Cut(hub, `"recorder":`)
		if !strings.HasPrefix(recorder, tt.recordedBy) && !strings.HasPrefix(recorder, `{"reference":"`+tt.recordedBy) {
			t.Errorf("%+v: recorder %.80s", tt, recorder)
		}
	}
}

// What is read off beside a small child names a helper as performer and never the
// child; from the age of treatment of one's own on it names the patient.
func TestNobodySmallReadsOff(t *testing.T) {
	for years, helped := range map[int]bool{2: true, 11: true, 12: false} {
		log := readLog(t, "testdata/small")
		log.About.BirthDate.Time = log.Sessions[0].Date.Time.AddDate(-years, 0, -1)
		seen := map[string]bool{}
		for _, s := range mapLog(t, log, testOptions).Sessions {
			for _, r := range s.Resources {
				_, who, ok := strings.Cut(string(r.JSON), `"performer":`)
				if !ok || r.Type == "Procedure" || strings.Contains(r.Role, "lab") {
					continue
				}
				seen[r.Type] = true
				if who, _, _ = strings.Cut(who, "]"); strings.Contains(who, "RelatedPerson") != helped || strings.Contains(who, "Patient?") == helped {
					t.Errorf("at %d years, %s: %s", years, r.Role, who)
				}
			}
		}
		if !seen["Observation"] || !seen["MedicationAdministration"] {
			t.Errorf("looked at %v only", seen)
		}
	}
}

// A posture is in the record only where the column names it, and a dry weight
// is the clinic's.
func TestNothingAssumed(t *testing.T) {
	month := mapLog(t, readLog(t, "testdata/small"), testOptions)
	dry := 0
	for _, s := range month.Sessions {
		for _, r := range s.Resources {
			if strings.Contains(strings.ToLower(string(r.JSON)), "sitting") {
				t.Errorf("%s says sitting", r.Role)
			}
			if r.Role == "dry_weight" {
				dry++
				if strings.Contains(string(r.JSON), handEntered) || !strings.Contains(string(r.JSON), setByClinic) {
					t.Errorf("the dry weight says %s", r.JSON)
				}
			}
		}
	}
	if dry == 0 {
		t.Error("no dry weight in the log")
	}
}

// A catheter lock has a route in words, and no code, and so has a route that is in no list.
func TestCatheterLock(t *testing.T) {
	log := readLog(t, "testdata/small")
	i := slices.IndexFunc(log.Sessions, func(s *session.Session) bool { return len(s.Medicines) > 0 })
	if i < 0 {
		t.Fatal("no medicine in the log")
	}
	m := log.Sessions[i].Medicines[0]
	for word, want := range map[string]string{"catheter lock": "left in the catheter as its lock", "nose": "nose"} {
		m.Route.Text, m.Route.Absence = word, session.Present
		if d := dosage(m); d.Route == nil || *d.Route.Text != want || len(d.Route.Coding) != 0 {
			t.Errorf("%s: route %+v", word, d.Route)
		}
	}
}
