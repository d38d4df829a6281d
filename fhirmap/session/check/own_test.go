package check

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"runsheet.example/validate/issue"
)

const medicinesFile, labsFile = "medicines.csv", "labs.csv"

// settledMonth is an honest month with what a person sets: access, needles,
// dialyser, dialysate, medicines and two prescriptions.
func settledMonth(t *testing.T, h habit, seed uint64) fstest.MapFS {
	t.Helper()
	folder := monthOf(h, seed)
	s := open(t, folder, sessionsFile)
	s.rows[0] = append(s.rows[0], "before_at", "access", "needling", "needle_gauge", "first_try", "dialyser", "dialysate_bicarbonate_mmol_l",
		"dialysate_lactate_mmol_l", "arterial_needle_site", "venous_needle_site", "recovery_min", "dry_weight_kg")
	medicines := "session,time,medicine,kind,dose,dose_unit,rate,rate_unit,route\n"
	labs := "session,drawn_date,drawn_time,when,test,value,unit\n"
	n := 0
	for i, row := range s.rows[1:] {
		if row[s.column(t, "status")] != "done" {
			s.rows[i+1] = append(row, make([]string, 12)...)
			continue
		}
		n++
		start, err := time.Parse("15:04", row[s.column(t, "start")])
		if err != nil {
			t.Fatal(err)
		}
		clock := start.Add(-15 * time.Minute).Format("15:04")
		s.rows[i+1] = append(row, clock, "fistula", "ladder", "16", "yes", "Kapillar H19", "33", "",
			fmt.Sprint(10+n%3, " cm"), fmt.Sprint(16+n%3, " cm"), fmt.Sprint(30+15*(n%4)), fmt.Sprintf("%.1f", h.dry))
		at := row[s.column(t, "start")]
		medicines += fmt.Sprintf("%s,%s,heparin,anticoagulant,2500,IU,1000,IU/h,circuit\n%[1]s,%[2]s,epoetin alfa,ESA,4000,IU,,,skin\n", row[0], at)
		if n == 1 {
			labs += fmt.Sprintf("%s,%s,%s,before,potassium,4.8,mmol/L\n", row[0], row[s.column(t, "date")], at)
		}
	}
	s.save(folder, sessionsFile)
	folder[medicinesFile] = &fstest.MapFile{Data: []byte(medicines)}
	folder[labsFile] = &fstest.MapFile{Data: []byte(labs)}
	var days []string
	for _, day := range h.weekdays {
		days = append(days, fmt.Sprintf("%q", strings.ToLower(time.Weekday(day - '0').String()[:3])))
	}
	about := strings.Replace(string(folder["log.toml"].Data), fmt.Sprintf("sessions_per_week = %d", len(h.weekdays)),
		"weekdays = ["+strings.Join(days, ", ")+"]", 1)
	about = strings.Replace(about, "[[prescription]]\n", fmt.Sprintf("[[prescription]]\nvalid_from = 2024-01-01\ndry_weight_kg = %.1f\n[[prescription]]\n", h.dry+0.5), 1)
	about += "[[access]]\nvalid_from = 2024-01-01\nkind = \"fistula\"\nneedle_gauge = 16\n"
	folder["log.toml"] = &fstest.MapFile{Data: []byte(about)}
	return folder
}

// ownSlips are cells that disagree with the person's other rows; other is one
// more cell of the row that is changed, "" for none.
var ownSlips = []struct {
	name, file, heading, value, other, otherValue string
	rule, at, expected                            string
}{
	{"bicarbonate as lactate", sessionsFile, "dialysate_bicarbonate_mmol_l", "", "dialysate_lactate_mmol_l", "33", "clin-columns-swapped", "dialysate_lactate_mmol_l", "perhaps an empty cell here"},
	{"sites exchanged", sessionsFile, "arterial_needle_site", "17 cm", "venous_needle_site", "11 cm", "clin-columns-swapped", "arterial_needle_site", "perhaps 11 cm here and 17 cm there"},
	{"other access", sessionsFile, "access", "catheter", "", "", "clin-unlike-plan", "access", "perhaps fistula"},
	{"old dry weight", sessionsFile, "dry_weight_kg", "71.0", "", "", "clin-unlike-plan", "dry_weight_kg", "perhaps 70.5 kg"},
	{"gauge", sessionsFile, "needle_gauge", "61", "", "", "clin-unlike-own", "needle_gauge", "perhaps 16"},
	{"word nearly offered", sessionsFile, "needling", "buttonhle", "", "", "clin-unlike-own", "needling", "perhaps buttonhole"},
	{"one letter for a word", sessionsFile, "first_try", "j", "", "", "clin-unlike-own", "first_try", "perhaps yes or no"},
	{"letter lost in the dialyser", sessionsFile, "dialyser", "Kapilar H19", "", "", "clin-unlike-own", "dialyser", "perhaps Kapillar H19"},
	{"digits exchanged in the dialyser", sessionsFile, "dialyser", "Kapillar H91", "", "", "clin-unlike-own", "dialyser", "perhaps Kapillar H19"},
	{"another model", sessionsFile, "dialyser", "Kapillar H17", "", "", "", "", ""},
	{"another case", sessionsFile, "needling", "Ladder", "", "", "", "", ""},
	{"another gauge", sessionsFile, "needle_gauge", "15", "", "", "", "", ""},
	{"another flow", sessionsFile, "blood_flow_ml_min", "345", "", "", "", "", ""},
	{"recovery in hours", sessionsFile, "recovery_min", "1", "", "", "clin-unlike-own", "recovery_min", "perhaps 60 min"},
	{"weighed two hours before", sessionsFile, "before_at", "16:05", "", "", "clin-outside-session", "before_at", "a time shortly before"},
	{"short with a reason", sessionsFile, "reason", "power cut", "treated_min", "110", "clin-done-short", "status", "perhaps cut short"},
	{"rate", medicinesFile, "rate", "10000", "", "", "clin-dose", "rate", "a rate near 1000 IU/h"},
	{"route", medicinesFile, "route", "mouth", "", "", "clin-unlike-own", "route", "perhaps circuit"},
	{"another way into the blood", medicinesFile, "route", "vein", "", "", "", "", ""},
	{"kind", medicinesFile, "kind", "iron", "", "", "clin-unlike-own", "kind", "perhaps anticoagulant"},
}

func TestOwnRows(t *testing.T) {
	for _, slip := range ownSlips {
		t.Run(slip.name, func(t *testing.T) {
			folder := settledMonth(t, honest[0], 100)
			s := open(t, folder, slip.file)
			row := 10
			if slip.file == sessionsFile {
				row = s.heldRow(t, 6)
			}
			*s.cell(t, row, slip.heading) = slip.value
			if slip.other != "" {
				*s.cell(t, row, slip.other) = slip.otherValue
			}
			s.save(folder, slip.file)
			if slip.rule == "" {
				if found := checkFolder(t, folder); len(found) > 0 {
					t.Errorf("found %v", found)
				}
				return
			}
			cell := issue.Cell{File: slip.file, Row: row, Column: s.column(t, slip.at) + 1, Heading: slip.at}
			wantFinding(t, folder, cell, slip.rule, "", slip.expected)
		})
	}
}

func TestFlowsExchanged(t *testing.T) {
	folder := settledMonth(t, honest[1], 100)
	s := open(t, folder, sessionsFile)
	row := s.heldRow(t, 6)
	swapWith("dialysate_flow_ml_min")(t, s, row, s.cell(t, row, "blood_flow_ml_min"))
	s.save(folder, sessionsFile)
	cell := issue.Cell{File: sessionsFile, Row: row, Column: s.column(t, "dialysate_flow_ml_min") + 1, Heading: "dialysate_flow_ml_min"}
	wantFinding(t, folder, cell, "clin-columns-swapped", "280", "perhaps 300 mL/min here and 280 mL/min there")
}

func TestDosesOfTwoMedicinesExchanged(t *testing.T) {
	folder := settledMonth(t, honest[0], 100)
	s := open(t, folder, medicinesFile)
	*s.cell(t, 10, "dose"), *s.cell(t, 11, "dose") = *s.cell(t, 11, "dose"), *s.cell(t, 10, "dose")
	s.save(folder, medicinesFile)
	for _, f := range checkFolder(t, folder) {
		if f.Rule != "clin-columns-swapped" || len(f.Cells) != 2 {
			t.Errorf("%s at %v", f.Rule, f.Cells)
		}
	}
}

// TestOwnRowsOfHonestMonths counts what the comparisons say of honest months.
func TestOwnRowsOfHonestMonths(t *testing.T) {
	for _, h := range honest {
		for seed := range uint64(8) {
			for _, f := range checkFolder(t, settledMonth(t, h, seed)) {
				if slices.Contains([]string{"clin-columns-swapped", "clin-unlike-own", "clin-unlike-plan", "clin-done-short", "month-column-slipped", "month-weekday-never", "clin-outside-session"}, f.Rule) {
					t.Errorf("%s, seed %d: %s at %v: %s", h.name, seed, f.Rule, f.Cells, f.Details)
				}
			}
		}
	}
}

func TestColumnsAndDaysThatSlipped(t *testing.T) {
	folder := settledMonth(t, honest[0], 100)
	s := open(t, folder, readingsFile)
	column := s.column(t, "pulse_per_min")
	for i := 30; i < len(s.rows); i++ {
		s.rows[i][column] = ""
		if i+1 < len(s.rows) {
			s.rows[i][column] = s.rows[i+1][column]
		}
	}
	s.save(folder, readingsFile)
	wantFinding(t, folder, issue.Cell{File: readingsFile, Row: len(s.rows), Column: column + 1, Heading: "pulse_per_min"}, "month-column-slipped", "", "")

	folder = settledMonth(t, honest[0], 100)
	folder["log.toml"].Data = bytes.Replace(folder["log.toml"].Data, []byte(`"tue"`), []byte(`"wed"`), 1)
	found := false
	for _, f := range checkFolder(t, folder) {
		found = found || f.Rule == "month-weekday-never" && f.Value == "Wednesday" && f.Expected.String() == "perhaps Tuesday among the weekdays"
	}
	if !found {
		t.Error("a planned day without sessions is not said")
	}

	folder = settledMonth(t, honest[0], 100)
	s = open(t, folder, sessionsFile)
	row := s.heldRow(t, 1)
	*s.cell(t, row, "status"), *s.cell(t, row, "reason") = "not done", "felt ill"
	s.save(folder, sessionsFile)
	wantFinding(t, folder, issue.Cell{File: labsFile, Row: 2, Column: 1, Heading: "session"}, "clin-not-done", "", "")

	folder = settledMonth(t, honest[0], 100)
	s = open(t, folder, readingsFile)
	s.rows[0] = append(s.rows[0], "blood_flow_ml_min")
	first := middleReading(s) - 2
	for i := range s.rows[1:] {
		flow := 350
		if n := i + 2 - first; n > 0 && n < 4 {
			flow += n
		}
		s.rows[i+1] = append(s.rows[i+1], fmt.Sprint(flow))
	}
	s.save(folder, readingsFile)
	wantFinding(t, folder, issue.Cell{File: readingsFile, Row: first, Column: len(s.rows[0]), Heading: "blood_flow_ml_min"}, "month-copied", "350", "")
}

// TestDatesCountedUp finds dates that were dragged down beside names that are days.
func TestDatesCountedUp(t *testing.T) {
	folder := monthOf(honest[3], 4)
	s := open(t, folder, sessionsFile)
	for i, row := range s.rows[1:] {
		s.rows[i+1][0] = row[s.column(t, "date")]
	}
	delete(folder, readingsFile)
	first, err := time.Parse(time.DateOnly, *s.cell(t, 8, "date"))
	if err != nil {
		t.Fatal(err)
	}
	for n := 1; n < 4; n++ {
		*s.cell(t, 8+n, "date") = first.AddDate(0, 0, n).Format(time.DateOnly)
	}
	s.save(folder, sessionsFile)
	for n := 1; n < 4; n++ {
		wantFinding(t, folder, issue.Cell{File: sessionsFile, Row: 8 + n, Column: 2, Heading: "date"}, "month-date-name", "", "perhaps "+*s.cell(t, 8+n, "session"))
	}
}

// What contradicts the kind of an access: in its own lines, in nearly all
// sessions, or in one of them.
func TestAccessesAtTheirLimits(t *testing.T) {
	const plan, catheterOf = "[[access]]\nvalid_from = 2025-01-01\nkind = \"%s\"\n", "clin-unlike-plan 10.access.kind catheter -> perhaps fistula or graft"
	const needles, lock = "  -> an empty cell, or another access", "  -> another route, or the catheter in log.toml"
	about := func(kind, more string) string { return fmt.Sprintf(plan, kind) + more }
	files := func(columns, row string) map[string]string {
		return map[string]string{sessionsFile: mondays(5, columns, everyRow(row)), medicinesFile: "session,time,medicine,kind,dose,dose_unit,route\ns2,17:05,sodium citrate,other,3,mL,circuit\n"}
	}
	for _, c := range []struct {
		about   string
		columns string
		row     string
		changes []change
	}{
		{about("catheter", ""), "needling,needle_gauge,arterial_needle_site,access", ",,,", []change{
			{"3.needling=ladder", "clin-unlike-plan 3.needling" + needles}, {"3.needle_gauge=15", "clin-unlike-plan 3.needle_gauge" + needles},
			{"3.arterial_needle_site=upper", "clin-unlike-plan 3.arterial_needle_site" + needles}, {"3.arterial_needle_site=red lumen", ""},
			{"3.needling=n/a", ""}, {"medicines:2.route=catheter lock", ""},
			{"2.needling=area;3.needling=area;4.needling=area;5.needling=area", catheterOf},
		}},
		{about("fistula", ""), "needling,access", "ladder,", []change{
			{"medicines:2.route=catheter lock", "clin-unlike-plan 2.route" + lock}, {"3.access=catheter", "clin-unlike-plan 3.access catheter -> perhaps fistula, or the new access in log.toml"},
		}},
		{about("fistula", "[[access]]\nvalid_from = 2025-01-01\nkind = \"catheter\"\n"), "needling,access", "ladder,", []change{
			{"medicines:2.route=catheter lock", ""}, {"3.access=catheter", "clin-unlike-plan 3.needling" + needles}, {"4.access=fistula", ""},
		}},
	} {
		changes(t, "clin-unlike-plan", c.about, files(c.columns, c.row), c.changes)
	}
	for more, want := range map[string]bool{
		"catheter needling = \"ladder\"": true, "catheter needle_gauge = 15": true, "catheter site = \"Left Forearm\"": true, "catheter site = \"femoral\"": false,
		"fistula site = \"internal jugular\"": true, "graft site = \"V. subclavia\"": true, "fistula site = \"forearm\"": false, "fistula needle_gauge = 15": false,
	} {
		kind, line, _ := strings.Cut(more, " ")
		if found := ruleIn(t, "clin-unlike-plan", about(kind, line+"\n"), files("needling", "")); (len(found) == 1) != want {
			t.Errorf("%s: %+v", more, found)
		}
	}
}
