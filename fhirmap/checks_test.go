package fhirmap

import (
	"encoding/json"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"runsheet.example/fhirmap/session"
	"runsheet.example/profiles"
)

// withChecks is the small log with a file of checks.
func withChecks(t *testing.T, rows string) *session.Log {
	t.Helper()
	folder := t.TempDir()
	if err := os.CopyFS(folder, os.DirFS(filepath.Join("testdata", "small"))); err != nil {
		t.Fatal(err)
	}
	heads := "session,time,what,result,value,unit,lot,expires,by_whom\n"
	if err := os.WriteFile(filepath.Join(folder, "checks.csv"), []byte(heads+rows), 0o600); err != nil {
		t.Fatal(err)
	}
	return readLog(t, folder)
}

// byRole are the resources of the log's first session whose role begins so.
func byRole(month *Month, prefix string) []Resource {
	var out []Resource
	for _, r := range month.Sessions[0].Resources {
		if strings.HasPrefix(r.Role, prefix) {
			out = append(out, r)
		}
	}
	return out
}

func firstID(t *testing.T) string {
	t.Helper()
	return readLog(t, filepath.Join("testdata", "small")).Sessions[0].ID
}

// A number is the value, the verdict its interpretation, and who did it stands
// beside the patient; words are the value where there is no number, and a
// reason where there is neither.
func TestChecksAsObservations(t *testing.T) {
	id := firstID(t)
	month := mapLog(t, withChecks(t, strings.ReplaceAll(
		"X,17:40,total chlorine,ok,0.050,mg/L,,,helper\nX,,tape on the hose,dry,,,,,\nX,,access thrill,not done,,,,,\nX,,disinfection,,,,,,\n", "X", id)), testOptions)
	var texts []string
	for _, r := range byRole(month, "check:") {
		var o struct {
			Status           string
			Code             struct{ Text string }
			ValueQuantity    struct{ Value json.Number }
			Value            struct{ Text string } `json:"valueCodeableConcept"`
			Interpretation   []struct{ Text string }
			Performer        []struct{ Reference, Display string }
			PartOf           []struct{ Reference string }
			DataAbsentReason struct{ Coding []struct{ Code string } }
		}
		if err := json.Unmarshal(r.JSON, &o); err != nil {
			t.Fatal(err)
		}
		text := o.Status + " " + o.Code.Text + "|" + o.ValueQuantity.Value.String() + "|" + o.Value.Text
		for _, i := range o.Interpretation {
			text += "|" + i.Text
		}
		for _, p := range o.Performer[1:] {
			text += "|" + p.Display
		}
		for _, c := range o.DataAbsentReason.Coding {
			text += "|" + c.Code
		}
		if o.PartOf[0].Reference != EntryURL(month.Sessions[0].ID) || len(r.Cells) == 0 {
			t.Errorf("%s: part of %v, from %v", r.Role, o.PartOf, r.Cells)
		}
		texts = append(texts, text)
	}
	want := []string{"final Total chlorine of the water|0.050||ok|helper", "final tape on the hose||dry", "cancelled Thrill felt at the access|||not-performed"}
	if !slices.Equal(texts, want) {
		t.Errorf("got %q", texts)
	}
}

// A supply is a Device of its session that the Procedure used. Its identity is
// its place in the session: a corrected lot or date changes the content and
// not the identity, and the same lot in two sessions or rows is never one
// Device. A session not done uses nothing.
func TestSupplies(t *testing.T) {
	id := firstID(t)
	var ids []string
	for _, rows := range []string{
		"X,,dialyser,,,,L1,2027-03,\nX,,blood lines,,,,L1,2027-03-31,\n",
		"X,,dialyser,,,,L2,2027-04,\nX,,blood lines,,,,L1,2027-03-31,\n",
	} {
		month := mapLog(t, withChecks(t, strings.ReplaceAll(rows, "X", id)), testOptions)
		devices := byRole(month, RoleSupply)
		procedure := byRole(month, "procedure")[0]
		if len(devices) != 2 || devices[0].Identity == devices[1].Identity {
			t.Fatalf("devices %+v", devices)
		}
		for _, d := range devices {
			if !strings.Contains(string(procedure.JSON), EntryURL(d.Identity)) {
				t.Errorf("the Procedure does not use %s", d.JSON)
			}
		}
		// The name of the dialyser is the dialyser's, not that of the lines.
		for i, named := range []bool{true, false} {
			if strings.Contains(string(devices[i].JSON), `"deviceName"`) != named {
				t.Errorf("device %d has a name: %s", i, devices[i].JSON)
			}
		}
		lot, date := rows[strings.Index(rows, "L"):][:2], rows[strings.Index(rows, "2027"):][:7]
		if text := string(devices[0].JSON); !strings.Contains(text, `"lotNumber":"`+lot+`"`) || !strings.Contains(text, `"expirationDate":"`+date+`"`) {
			t.Errorf("device %s", text)
		}
		ids = append(ids, devices[0].Identity)
	}
	if ids[0] != ids[1] {
		t.Error("a corrected lot moves the identity")
	}
	log := withChecks(t, strings.ReplaceAll("X,,dialyser,,,,L1,,helper\n", "X", id))
	if device := byRole(mapLog(t, log, testOptions), RoleSupply)[0]; !strings.Contains(string(device.JSON), `"note":[{"text":"By: helper"}]`) {
		t.Errorf("who put the dialyser in is missing: %s", device.JSON)
	}
	log.Sessions[0].Status = session.SkippedStatus
	if month := mapLog(t, log, testOptions); len(byRole(month, RoleSupply)) > 0 {
		t.Error("a session not done used a dialyser")
	}
}

// Every kind of check has a code for each of its units, and for words.
func TestEveryCheckHasACode(t *testing.T) {
	kinds := append(slices.Clone(profiles.CheckKinds()), session.CheckKind{Field: session.OwnCheck})
	for _, k := range kinds {
		for _, unit := range append([]string{""}, k.Units...) {
			row, ok := profiles.Of(string(k.Field), unit)
			if !ok || row.Profile != profiles.ProfileCheck {
				t.Errorf("%s has no code in %q", k.Field, unit)
			}
		}
	}
}

// What a session says of needles stands before what is usual, and the number
// of an alarm beside its words.
func TestNeedlesAndAlarmNumber(t *testing.T) {
	log := readLog(t, filepath.Join("testdata", "small"))
	s := log.Sessions[0]
	text := func(words string) session.Text { return session.Text{Text: words, Absence: session.Present} }
	s.Texts["needle_gauge"], s.Texts["needling"], s.Texts["arterial_needle_site"] = text("16"), text("ladder"), text("third from the elbow")
	s.Events = append(s.Events, &session.Event{Ordinal: 9, Kind: text("needles"), What: text("swapped"), AlarmNumber: text("E-31")})
	var all string
	for _, r := range mapLog(t, log, testOptions).Sessions[0].Resources {
		all += string(r.JSON) + "\n"
	}
	for _, want := range []string{`"text":"Needles: 16 gauge, ladder"`, `"valueString":"third from the elbow"`, `"valueString":"E-31"`, `"code":"needle-event"`} {
		if !strings.Contains(all, want) {
			t.Errorf("no %s", want)
		}
	}
}
