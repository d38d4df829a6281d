package check

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// labsIn gives the sessions held, from the second on, a result each; "{}" in a
// row is the session.
func labsIn(t *testing.T, rows ...string) fstest.MapFS {
	t.Helper()
	folder := monthOf(honest[0], 920)
	s := open(t, folder, sessionsFile)
	text := "session,drawn_time,when,test,value,unit\n"
	for n, row := range rows {
		for _, one := range strings.Split(row, ";") {
			text += *s.cell(t, s.heldRow(t, 2+n), "session") + ",," + one + "\n"
		}
	}
	folder["labs.csv"] = &fstest.MapFile{Data: []byte(text)}
	return folder
}

// A result that a slip of decimal point or unit would bring back among the
// person's own is named with what it may have meant; one that changed is not.
func TestResultsAgainstTheirOwn(t *testing.T) {
	for _, tt := range []struct{ usual, odd, expected string }{
		{"potassium,5.1,mmol/L", "", ""},
		{"phosphate,5.2,mg/dL", "phosphate,1.7,mg/dL", "perhaps 1.7 mmol/L"},
		{"creatinine,850,umol/L", "creatinine,8500,umol/L", "perhaps 850 umol/L"},
		{"creatinine,850,umol/L", "creatinine,9.6,umol/L", "perhaps 9.6 mg/dL"},
		{"phosphate,1.6,mmol/L", "phosphate,0.9,mmol/L", ""},
		{"ferritin,300,ug/L", "ferritin,30,ug/L", "perhaps 300 ug/L"},
		{"ferritin,30,ug/L", "ferritin,300,ug/L", ""}, // iron was given
		{"ferritin,300,ug/L", "ferritin,100,ug/L", ""},
		{"haemoglobin,112,g/L", "haemoglobin,82,g/L", "about 112 g/L"}, {"haemoglobin,112,g/L", "haemoglobin,84,g/L", ""},
		{"bicarbonate,23,mmol/L", "bicarbonate,32,mmol/L", "perhaps 23 mmol/L"}, {"bicarbonate,23,mmol/L", "bicarbonate,30,mmol/L", ""},
		{"calcium,2.30,mmol/L", "calcium,2.90,mmol/L", "perhaps 2.09 mmol/L"}, {"calcium,2.30,mmol/L", "calcium,2.80,mmol/L", ""},
		{"albumin,42,g/L", "albumin,24,g/L", "perhaps 42 g/L"}, {"pth,280,pg/mL", "pth,22,pg/mL", "perhaps 220 pg/mL"}, {"pth,280,pg/mL", "pth,60,pg/mL", ""},
	} {
		rows := []string{"before," + tt.usual, "before," + tt.usual, "before," + tt.usual, "before," + tt.usual}
		if tt.odd != "" {
			rows[2] = "before," + tt.odd
		}
		var found []issue.Finding
		for _, f := range checkFolder(t, labsIn(t, rows...)) {
			if f.Cells[0].File == "labs.csv" {
				found = append(found, f)
			}
		}
		switch {
		case tt.expected == "" && len(found) > 0:
			t.Errorf("%s: %v", tt.odd, found)
		case tt.expected != "" && (len(found) != 1 || found[0].Expected.String() != tt.expected || found[0].Cells[0].Row != 4):
			t.Errorf("%s: found %v, want %q", tt.odd, found, tt.expected)
		}
	}
}

// One other result is enough where a result is unusual or the other is in another
// unit; of two, the one further from what is usual is in doubt.
func TestResultsAgainstOneOther(t *testing.T) {
	for _, tt := range []struct{ own, result, want string }{
		{"phosphate,1.42,mmol/L", "phosphate,1.55,mg/dL", "clin-lab-far 3.unit 1.55 mg/dL -> perhaps 1.55 mmol/L"},
		{"phosphate,4.4,mg/dL", "phosphate,1.55,mmol/L", ""},
		{"phosphate,6.5,mg/dL", "phosphate,2.1,mg/dL", ""}, // it may have fallen
		{"phosphate,2.1,mmol/L", "phosphate,2.0,mg/dL", "clin-lab-far 3.unit 2.0 mg/dL -> perhaps 2.0 mmol/L"},
		{"creatinine,600,umol/L", "creatinine,60,umol/L", "clin-lab-far 3.value 60 umol/L -> perhaps 600 umol/L"},
		{"creatinine,60,umol/L", "creatinine,600,umol/L", "clin-lab-far 2.value 60 umol/L -> perhaps 600 umol/L"},
		{"haemoglobin,10.6,g/dL", "haemoglobin,16.9,g/dL", "clin-lab-far 3.value 16.9 g/dL -> perhaps 10.9 g/dL"},
		{"haemoglobin,11.2,g/dL", "haemoglobin,16.9,g/dL", ""},
		{"haemoglobin,10.6,g/dL", "haemoglobin,7.0,g/dL", ""},
		{"haemoglobin,11.0,g/dL", "haemoglobin,7.0,mmol/L", ""},
		{"haemoglobin,11.0,g/dL", "haemoglobin,11.0,mmol/L", "clin-lab-far 3.unit 11.0 mmol/L -> perhaps 11.0 g/dL"},
		{"potassium,4.8,mmol/L", "potassium,8.4,mmol/L", "clin-lab-far 3.value 8.4 mmol/L -> perhaps 4.8 mmol/L"},
		{"pth,340,pg/mL", "pth,38,pmol/L", ""},
		{"zinc,11,umol/L", "zinc,110,umol/L", ""},
	} {
		files := map[string]string{
			sessionsFile: mondays(3, "notes", everyRow("")),
			"labs.csv":   "session,when,test,value,unit\ns0,before," + tt.own + "\ns1,before," + tt.result + "\n",
		}
		if got := told(t, "clin-lab-far", "", files); got != tt.want {
			t.Errorf("%s, %s: %q, want %q", tt.own, tt.result, got, tt.want)
		}
	}
}

// Samples copied from another session, and results that count up.
func TestCopiedResults(t *testing.T) {
	pair := "before,urea,24.1,mmol/L;after,urea,9.8,mmol/L"
	folder := labsIn(t, pair, "before,urea,23.8,mmol/L;after,urea,9.1,mmol/L", pair)
	wantFinding(t, folder, issue.Cell{File: "labs.csv", Row: 6, Column: 1, Heading: "session"}, "month-copied", "", "")
	var counting []string
	for n := range 6 {
		counting = append(counting, fmt.Sprintf("before,sodium,%d,mmol/L", 137+n))
	}
	wantFinding(t, labsIn(t, counting...), issue.Cell{File: "labs.csv", Row: 2, Column: 5, Heading: "value"}, "month-copied", "137", "")
}

// One column copied down, and a weight that is steady for a while.
func TestCopiedDown(t *testing.T) {
	for heading, value := range map[string]string{"bp_before_systolic_mmhg": "137", "weight_after_kg": "70.3"} {
		for times, found := range map[int]bool{9: true, 5: false} {
			folder := monthOf(honest[0], 930)
			s := open(t, folder, sessionsFile)
			for n := range times {
				*s.cell(t, s.heldRow(t, 3+n), heading) = value
			}
			s.save(folder, sessionsFile)
			copied := 0
			for _, f := range checkFolder(t, folder) {
				if f.Rule == "month-copied" {
					copied++
				}
			}
			if (copied == 1) != found {
				t.Errorf("%s %d times: %d findings", heading, times, copied)
			}
		}
	}
}

// What was delivered is held against the prescription: the person's own limit
// of the UF rate, time and dialysate. A session cut short has said so.
func TestDeliveredAgainstPrescribed(t *testing.T) {
	for _, tt := range []struct {
		prescribed, status, rule, expected string
	}{
		{"uf_limit_ml_kg_h = 40", "done", "", ""},
		{"uf_limit_ml_kg_h = 3", "done", "clin-uf-limit", "up to 3 mL/kg/h"},
		{"duration_min = 200", "done", "clin-below-plan", "prescribed: 200 min"},
		{"duration_min = 200", "cut short", "", ""},
		{"dialysate_l = 34", "done", "clin-below-plan", "prescribed: 34 L"},
	} {
		folder := monthOf(honest[0], 940)
		about := string(folder["log.toml"].Data)
		folder["log.toml"] = &fstest.MapFile{Data: []byte(strings.Replace(about, "[[prescription]]\n", "[[prescription]]\n"+tt.prescribed+"\n", 1))}
		s := open(t, folder, sessionsFile)
		row := s.heldRow(t, 4)
		*s.cell(t, row, "status"), *s.cell(t, row, "reason") = tt.status, map[bool]string{true: "an alarm"}[tt.status == "cut short"]
		s.save(folder, sessionsFile)
		found := ""
		log, _, err := session.ReadFS(folder, session.Options{})
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range Check(log, nil) {
			if (f.Cells[0].Row == row || f.File == "log.toml") && (f.Rule == "clin-uf-limit" || f.Rule == "clin-below-plan") {
				found += f.Rule + " " + f.Expected.String()
			}
		}
		if want := strings.TrimSpace(tt.rule + " " + tt.expected); found != want {
			t.Errorf("%s, %s: %q, want %q", tt.prescribed, tt.status, found, want)
		}
	}
}

// A date in doubt is told alone: what rests on the interval before the samples
// waits until it is mended.
func TestDateInDoubtSilencesTheInterval(t *testing.T) {
	folder := monthOf(honest[0], 1)
	s := open(t, folder, sessionsFile)
	first := s.heldRow(t, 1)
	id := *s.cell(t, s.heldRow(t, 2), "session")
	labs := "session,drawn_time,when,test,value,unit\n" + id + ",,before,urea,20.0,mmol/L\n" + id + ",,after,urea,9.4,mmol/L\n"
	folder["labs.csv"] = &fstest.MapFile{Data: []byte(labs)}
	rules := func() (all []string) {
		for _, f := range checkFolder(t, folder) {
			all = append(all, f.Rule)
		}
		return all
	}
	if found := rules(); len(found) > 0 {
		t.Fatalf("before the slip: %v", found)
	}
	date := s.cell(t, first, "date")
	*date = "2025-05" + (*date)[len("2025-10"):]
	s.save(folder, sessionsFile)
	if found := rules(); len(found) == 0 || slices.Contains(found, "clin-urea-generation") {
		t.Errorf("%v", found)
	}
}

// Results that slipped by a row are told once, at the first of them.
func TestResultsInTheRowOfAnotherTest(t *testing.T) {
	tests := []string{"before,urea,%s,mmol/L", "after,urea,%s,mmol/L", "before,creatinine,%s,umol/L", "before,potassium,%s,mmol/L", "before,phosphate,%s,mmol/L", "before,haemoglobin,%s,g/L", "before,alkaline phosphatase,%s,U/L"}
	for _, tt := range []struct{ results, want string }{
		{"16.2 8.1 352 4.4 1.6 109 240", ""},
		{"16.2 8.1 352 4.4 1.6 109 -", ""},
		{"16.2 352 4.4 1.6 109 240 -", "error 3 352 and 4 more: from here on each value fits the row below; the column may have slipped up"},
		{"16.2 - 8.1 352 4.4 1.6 109", "error 4 8.1 and 3 more: from here on each value fits the row above; the column may have slipped down"},
		{"16.2 8.1 352 4.4 1.6 - 109", ""},
		{"16.2 8.1 352 44 1.6 109 -", "error 5 44"},
	} {
		rows := slices.Clone(tests)
		for i, result := range strings.Fields(tt.results) {
			rows[i] = fmt.Sprintf(rows[i], strings.ReplaceAll(result, "-", ""))
		}
		var got []string
		for _, f := range checkFolder(t, labsIn(t, strings.Join(rows, ";"))) {
			if f.Cells[0].File != labsFile {
				continue
			}
			one := fmt.Sprintf("%s %d %s", f.Severity, f.Cells[0].Row, f.Value)
			if f.Rule == "month-column-slipped" {
				one += fmt.Sprintf(" and %d more: %s", len(f.Cells)-1, f.Details)
			}
			got = append(got, one)
		}
		if strings.Join(got, "\n") != tt.want {
			t.Errorf("%s: told %q, want %q", tt.results, got, tt.want)
		}
	}
}
