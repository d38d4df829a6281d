package check

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"runsheet.example/fhirmap"
	"runsheet.example/fhirmap/session"
	"runsheet.example/validate"
	"runsheet.example/validate/issue"
)

// bothSides checks a log, and validates its record with every session in it,
// those with an error too.
func bothSides(t *testing.T, folder fstest.MapFS) (inLog, inRecord map[string]bool) {
	t.Helper()
	inLog, inRecord = map[string]bool{}, map[string]bool{}
	log, _, err := session.ReadFS(folder, session.Options{})
	if err != nil {
		t.Fatal(err)
	}
	unread := map[*session.Session]bool{}
	for _, s := range log.Sessions {
		unread[s] = s.Broken
	}
	for _, f := range Check(log, nil) {
		inLog[f.Rule] = true
	}
	for _, s := range log.Sessions {
		s.Broken = unread[s]
	}
	month, err := fhirmap.Map(log, fhirmap.Options{})
	if err != nil {
		t.Logf("not mapped: %v", err)
		return inLog, nil
	}
	for i := range month.Sessions {
		bundle, err := month.Sessions[i].Transaction()
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range validate.New(validate.Options{}).Bytes(bundle, "bundle.json") {
			if strings.HasPrefix(f.Rule, "clin-record-") {
				inRecord[f.Rule] = true
				t.Logf("record: %s %s %s, expected %s", f.Rule, f.Details, f.Value, f.Expected)
			}
		}
	}
	return inLog, inRecord
}

// people are those whom one range for everybody refuses.
func people() []habit {
	return []habit{
		{"150 kg", "Europe/London", "2025-10-20", "135", 12, 5, 150, 1.9, 400, 500, 140, time.Hour, false, true, true, 4},
		{"two a week", "Europe/London", "2025-10-20", "14", 12, 4, 68, 0.5, 300, 500, 140, time.Hour, false, true, true, 5},
		{"nocturnal", "Europe/London", "2025-10-20", "0135", 22, 8, 80, 0.8, 220, 200, 130, time.Hour, false, true, true, 4},
	}
}

// children of an age, with their size and flows.
var children = []struct {
	born     string
	cm       int
	kg       float64
	blood    float64
	systolic float64
}{{"2021-05-02", 99, 15, 90, 98}, {"2016-05-02", 130, 26, 150, 105}}

func childMonth(t *testing.T, i int) fstest.MapFS {
	t.Helper()
	c := children[i]
	h := habit{"child", "Europe/London", "2025-10-20", "1356", 14, 3.5, c.kg, 0.02 * c.kg, c.blood, 300, c.systolic, time.Hour, false, true, true, 4}
	folder := monthOf(h, uint64(i))
	about := string(folder["log.toml"].Data)
	about = strings.Replace(about, "birth_date = 1960-01-01", "birth_date = "+c.born, 1)
	about = strings.Replace(about, "height_cm = 172", fmt.Sprintf("height_cm = %d", c.cm), 1)
	folder["log.toml"] = &fstest.MapFile{Data: []byte(about)}
	return folder
}

// Nobody is refused for their size: neither side raises anything, by limits.
func TestNobodyIsRefused(t *testing.T) {
	folders := map[string]fstest.MapFS{}
	for i := range children {
		folders[fmt.Sprintf("child of %g kg", children[i].kg)] = childMonth(t, i)
	}
	for _, h := range people() {
		folders[h.name] = monthOf(h, 5)
	}
	for name, folder := range folders {
		t.Run(name, func(t *testing.T) {
			for _, f := range checkFolder(t, folder) {
				t.Errorf("%s at %v: %q %s, %s", f.Rule, f.Cells, f.Value, f.Details, f.Expected)
			}
			_, inRecord := bothSides(t, folder)
			if len(inRecord) > 0 {
				t.Errorf("the record raises %v", slices.Sorted(maps.Keys(inRecord)))
			}
		})
	}
}

func TestHeparinBothSides(t *testing.T) {
	folder := monthOf(honest[0], 1)
	id := *open(t, folder, sessionsFile).cell(t, 2, "session")
	folder["medicines.csv"] = &fstest.MapFile{Data: []byte("session,time,medicine,kind,dose,dose_unit\n" + id + ",18:40,heparin,anticoagulant,2000000,IU\n")}
	inLog, inRecord := bothSides(t, folder)
	if !inLog["clin-impossible"] || !inRecord["clin-record-impossible"] {
		t.Errorf("log %v, record %v", inLog, inRecord)
	}
}

// A long night brings urea down to a quarter; no other number is suggested.
func TestNocturnalPairIsRight(t *testing.T) {
	folder := monthOf(people()[2], 1)
	s := open(t, folder, sessionsFile)
	id := *s.cell(t, s.heldRow(t, 3), "session")
	folder["labs.csv"] = &fstest.MapFile{Data: []byte("session,drawn_time,when,test,value,unit\n" + id + ",,before,urea,9.0,mmol/L\n" + id + ",,after,urea,2.2,mmol/L\n")}
	if found := checkFolder(t, folder); len(found) > 0 {
		t.Errorf("%+v", found)
	}
}

func TestUreaNitrogenTypedAsUrea(t *testing.T) {
	folder := monthOf(honest[0], 1)
	s := open(t, folder, sessionsFile)
	id := *s.cell(t, s.heldRow(t, 3), "session")
	folder["labs.csv"] = &fstest.MapFile{Data: []byte("session,drawn_time,when,test,value,unit\n" + id + ",,before,urea,47.6,mmol/L\n" + id + ",,after,urea,19.0,mmol/L\n")}
	found := checkFolder(t, folder)
	if len(found) != 1 || found[0].Rule != "clin-urea-clearance" || !strings.HasPrefix(found[0].Expected.String(), "perhaps BUN in mg/dL, both of them") {
		t.Errorf("%+v", found)
	}
}

// Results of tests that the log knows by their words only, at home and a day
// early, raise nothing on either side, and each resource names filled cells.
func TestOtherTestsRaiseNothing(t *testing.T) {
	folder := monthOf(honest[0], 1)
	s := open(t, folder, sessionsFile)
	row := s.heldRow(t, 3)
	id := *s.cell(t, row, "session")
	folder["labs.csv"] = &fstest.MapFile{Data: []byte("session,drawn_date,drawn_time,when,test,value,unit,laboratory\n" +
		id + ",,,before,iPTH,310,pg/mL,\n" + id + ",,,before,Beta-2-Mikroglobulin,24.1,mg/L,\n" + id + ",,,before,platelets,210,10*9/L,\n" +
		id + ",2025-10-19,07:10,other,alkaline phosphatase,74,U/L,Harbour Laboratory\n" + id + ",,,before,HBsAg,negative,,\n" + id + ",,,before,zinc,11,umol/L,\n")}
	log, findings, err := session.ReadFS(folder, session.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range append(findings, Check(log, nil)...) {
		t.Errorf("log: %s at %v: %s %q", f.Rule, f.Cells, f.Details, f.Value)
	}
	month, err := fhirmap.Map(log, fhirmap.Options{Tool: fhirmap.Tool{Name: "test", Version: "1"}})
	if err != nil {
		t.Fatal(err)
	}
	for i := range month.Sessions {
		for _, r := range month.Sessions[i].Resources {
			if slices.Contains(r.Cells, issue.Cell{}) {
				t.Errorf("%s %s names an empty cell", r.Type, r.Role)
			}
		}
		bundle, err := month.Sessions[i].Transaction()
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range validate.New(validate.Options{}).Bytes(bundle, "bundle.json") {
			if f.Severity != issue.Information {
				t.Errorf("record: %s %s %s %q", f.Rule, f.Expression, f.Details, f.Value)
			}
		}
	}
}
