package check

import (
	"fmt"
	"strings"
	"testing"
	"testing/fstest"
)

// TestSlipsBesideSessions puts one slip into log.toml, the laboratory results
// and the checks of an honest month, and wants one finding at its cell. "@n" is
// the name of the nth session held.
func TestSlipsBesideSessions(t *testing.T) {
	const (
		checks = "checks.csv"
		toml   = "log.toml"
		lab    = "labs.csv"
	)
	for _, tt := range []struct{ name, file, from, to, rule, heading, expected string }{
		{"calcium in another unit", lab, "calcium,2.31,mmol/L", "calcium,2.31,mg/dL", "clin-unit", "value", "perhaps 2.31 mmol/L"},
		{"albumin in another unit", lab, "albumin,38,g/L", "albumin,38,g/dL", "clin-unit", "value", "perhaps 38 g/L"},
		{"the one unit of its kind", lab, "phosphate,1.48,mmol/L", "phosphate,1.48,mg/dL", "clin-unit", "value", "perhaps 1.48 mmol/L"},
		{"a result pasted twice", lab, "@3,09:00,before,albumin,38,g/L\n", "@3,09:00,before,albumin,38,g/L\n@3,09:00,before,albumin,38,g/L\n", "month-copied", "test", ""},
		{"result and value exchanged", checks, "@4,,pH strip,ok,7.1,,", "@4,,pH strip,7.1,ok,,", "clin-columns-swapped", "result", "perhaps ok here and 7.1 there"},
		{"lot and expiry exchanged", checks, "@5,,dialyser,,,TUI-9,2028-05-31", "@5,,dialyser,,,2028-05-31,TUI-9", "log-date", "expires", "perhaps 2028-05-31 here and TUI-9 there"},
		{"lots that count up", checks, "TUI-9", "TUI-@", "month-copied", "lot", ""},
		{"three lots that count up", checks, "TUI-9,2028-05-31\n@5,18:00,alarm test,ok,,,\n@6,,pH strip,ok,7.1,,\n@6,,dialyser,,,TUI-9,", "TUI-10,2028-05-31\n@5,18:00,alarm test,ok,,,\n@6,,pH strip,ok,7.1,,\n@6,,dialyser,,,TUI-11,", "month-copied", "lot", "perhaps TUI-9"},
		{"expiries that count up", checks, "2028-05-31", "2028-05-1@", "month-copied", "expires", ""},
		{"lot with another digit between rows of one lot", checks, "@5,,dialyser,,,TUI-9,", "@5,,dialyser,,,TUI-8,", "clin-unlike-own", "lot", "perhaps TUI-9"},
		{"lot with a letter that looks alike", checks, "@9,,dialyser,,,TUI-9,", "@9,,dialyser,,,TUl-9,", "clin-unlike-own", "lot", "perhaps TUI-9"},
		{"lot with another date", checks, "@5,,dialyser,,,TUI-9,2028-05-31", "@5,,dialyser,,,TUI-9,2027-02-28", "clin-unlike-own", "expires", "perhaps 2028-05-31"},
		{"lot that became a number", checks, "@5,,dialyser,,,TUI-9,", "@5,,dialyser,,,4.47E+06,", "log-text-changed", "lot", "what is printed or shown"},
		{"two results of one sample", lab, "@3,09:00,before,albumin,38,g/L\n", "@3,09:00,before,albumin,38,g/L\n@3,09:00,before,albumin,4.1,g/dL\n", "clin-lab-twice", "value", "one result; the other is 38 g/L"},
		{"a check pasted twice", checks, "@4,18:00,alarm test,ok,,,\n", "@4,18:00,alarm test,ok,,,\n@4,18:00,alarm test,ok,,,\n", "month-copied", "what", ""},
		{"dry weight with digits exchanged", toml, "dry_weight_kg = 70.5", "dry_weight_kg = 17.5", "clin-weight-far", "prescription.dry_weight_kg", "perhaps 71.5 kg"},
		{"dry weight of a heading in pounds in kg", toml, "dry_weight_kg = 70.5", "dry_weight_lb = 70.5", "clin-unit", "prescription.dry_weight_lb", "perhaps 15"},
		{"KoA with a digit lost", toml, "dialyser_koa_ml_min = 1100", "dialyser_koa_ml_min = 110", "clin-decimal-point", "prescription.dialyser_koa_ml_min", "perhaps 1100 mL/min"},
		{"residual clearance of the future", toml, "residual_date = 2025-09-02", "residual_date = 2035-09-02", "month-date-future", "prescription.residual_date", "perhaps 2025-09-02"},
		{"digits of the year of birth", toml, "birth_date = 1960-01-01", "birth_date = 1918-01-01", "month-birth-date", "patient.birth_date", "perhaps 1981-01-01"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			folder := monthOf(honest[0], 905)
			s := open(t, folder, sessionsFile)
			text := map[string]string{
				toml:   string(folder[toml].Data) + "dialyser_koa_ml_min = 1100\nresidual_urea_clearance_ml_min = 1\nresidual_date = 2025-09-02\n",
				lab:    "session,drawn_time,when,test,value,unit\n",
				checks: "session,time,what,result,value,lot,expires\n",
			}
			for _, row := range []string{"calcium,2.31,mmol/L", "albumin,38,g/L", "phosphate,1.48,mmol/L"} {
				text[lab] += "@3,09:00,before," + row + "\n"
			}
			for n := 1; n <= 9; n++ {
				text[checks] += fmt.Sprintf("@%d,,pH strip,ok,7.1,,\n@%d,,dialyser,,,TUI-9,2028-05-31\n@%d,18:00,alarm test,ok,,,\n", n, n, n)
			}
			save := func() {
				for file, content := range text {
					for n := 1; n <= 9; n++ {
						content = strings.ReplaceAll(content, fmt.Sprintf("@%d", n), *s.cell(t, s.heldRow(t, n), "session"))
					}
					folder[file] = &fstest.MapFile{Data: []byte(content)}
				}
			}
			save()
			if found := checkFolder(t, folder); len(found) > 0 {
				t.Fatalf("before the slip: %+v", found)
			}
			if !strings.Contains(text[tt.file], tt.from) {
				t.Fatalf("no %q", tt.from)
			}
			for n := 1; strings.Contains(text[tt.file], tt.from) && n <= 9; n++ {
				text[tt.file] = strings.Replace(text[tt.file], tt.from, strings.ReplaceAll(tt.to, "-@", fmt.Sprint("-", n)), 1)
				text[tt.file] = strings.ReplaceAll(text[tt.file], "1@", fmt.Sprint("1", n))
				if !strings.Contains(tt.to, "-@") && !strings.Contains(tt.to, "1@") {
					break
				}
			}
			save()
			found := checkFolder(t, folder)
			if len(found) != 1 || found[0].Rule != tt.rule || found[0].Cells[0].Heading != tt.heading || !strings.HasPrefix(found[0].Expected.String(), tt.expected) {
				t.Errorf("found %+v", found)
			}
		})
	}
}

// A lock in each of two lumens is two equal rows in every session.
func TestTwoLumens(t *testing.T) {
	folder := monthOf(honest[0], 905)
	s := open(t, folder, sessionsFile)
	rows := "session,time,medicine,kind,dose,dose_unit,route\n"
	for n := 1; n <= 6; n++ {
		row := *s.cell(t, s.heldRow(t, n), "session") + ",21:00,citrate lock,other,1.8,mL,catheter lock\n"
		rows += row + row
	}
	folder["medicines.csv"] = &fstest.MapFile{Data: []byte(rows)}
	if found := checkFolder(t, folder); len(found) > 0 {
		t.Errorf("found %+v", found)
	}
}
