package check

import (
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"runsheet.example/validate/issue"
)

// spoilt is a mistake that needs more than one cell, and the finding it must
// give at a cell.
type spoilt struct {
	name  string
	spoil func(t *testing.T, folder fstest.MapFS) issue.Cell
	rule  string
}

// inSessions changes the sessions file and names the cell to be reported.
func inSessions(change func(t *testing.T, s *sheetOf) (row int, heading string)) func(*testing.T, fstest.MapFS) issue.Cell {
	return func(t *testing.T, folder fstest.MapFS) issue.Cell {
		s := open(t, folder, sessionsFile)
		row, heading := change(t, s)
		cell := issue.Cell{File: sessionsFile, Row: row, Column: s.column(t, heading) + 1, Heading: heading}
		s.save(folder, sessionsFile)
		return cell
	}
}

var spoiltMonths = []spoilt{
	{"same session twice", inSessions(func(t *testing.T, s *sheetOf) (int, string) {
		again := slices.Clone(s.rows[s.heldRow(t, 5)-1])
		again[0] += " again"
		s.rows = append(s.rows, again)
		return len(s.rows), "session"
	}), "month-session-twice"},
	{"same row twice", inSessions(func(t *testing.T, s *sheetOf) (int, string) {
		s.rows = append(s.rows, slices.Clone(s.rows[s.heldRow(t, 5)-1]))
		return len(s.rows), "session"
	}), "month-session-twice"},
	{"two sessions on one day", inSessions(func(t *testing.T, s *sheetOf) (int, string) {
		a, b := s.heldRow(t, 6), s.heldRow(t, 7)
		*s.cell(t, b, "date") = *s.cell(t, a, "date")
		return b, "date"
	}), "month-date-name"},
	{"session left out without a word", inSessions(func(t *testing.T, s *sheetOf) (int, string) {
		row := s.heldRow(t, 8)
		s.rows = slices.Delete(s.rows, row-1, row)
		return row - 1, "session"
	}), "month-session-absent"},
	{"all blood pressures end in nought", inSessions(func(t *testing.T, s *sheetOf) (int, string) {
		for row := 2; row <= len(s.rows); row++ {
			for _, heading := range []string{"bp_before_systolic_mmhg", "bp_after_systolic_mmhg"} {
				if cell := s.cell(t, row, heading); *cell != "" {
					*cell = (*cell)[:len(*cell)-1] + "0"
				}
			}
		}
		return s.heldRow(t, 1), "bp_before_systolic_mmhg"
	}), "month-digits"},
	{"a row copied down", inSessions(func(t *testing.T, s *sheetOf) (int, string) {
		a, b := s.heldRow(t, 6), s.heldRow(t, 7)
		kept := slices.Clone(s.rows[b-1])
		s.rows[b-1] = slices.Clone(s.rows[a-1])
		for _, heading := range []string{"session", "date", "start", "end"} {
			*s.cell(t, b, heading) = kept[s.column(t, heading)]
		}
		return b, "session"
	}), "month-copied"},
	{"readings copied down", func(t *testing.T, folder fstest.MapFS) issue.Cell {
		s := open(t, folder, readingsFile)
		row := middleReading(s)
		for _, r := range []int{row + 1, row + 2} {
			kept := slices.Clone(s.rows[r-1])
			s.rows[r-1] = slices.Clone(s.rows[row-1])
			*s.cell(t, r, "time") = kept[s.column(t, "time")]
		}
		s.save(folder, readingsFile)
		return issue.Cell{File: readingsFile, Row: row + 2, Column: 1, Heading: "session"}
	}, "month-copied"},
	{"two readings at one time", func(t *testing.T, folder fstest.MapFS) issue.Cell {
		s := open(t, folder, readingsFile)
		row := middleReading(s)
		*s.cell(t, row+1, "time") = *s.cell(t, row, "time")
		s.save(folder, readingsFile)
		return issue.Cell{File: readingsFile, Row: row + 1, Column: 2, Heading: "time"}
	}, "clin-reading-twice"},
	{"a session without readings", func(t *testing.T, folder fstest.MapFS) issue.Cell {
		s := open(t, folder, sessionsFile)
		row := s.heldRow(t, 4)
		id := *s.cell(t, row, "session")
		r := open(t, folder, readingsFile)
		r.rows = slices.DeleteFunc(r.rows, func(row []string) bool { return row[0] == id })
		r.save(folder, readingsFile)
		return issue.Cell{File: sessionsFile, Row: row, Column: 1, Heading: "session"}
	}, "clin-no-readings"},
	{"urea rises", labsOf("done,19:00,before,urea,18.2,mmol/L", "done,21:40,after,urea,24.1,mmol/L"), "clin-urea-rises"},
	{"urea and BUN rise", labsOf("done,18:00,before,BUN,51,mg/dL", "done,21:40,after,urea,24.1,mmol/L"), "clin-urea-rises"},
	{"BUN in mg/dL as urea in mmol/L", labsOfPair("done,18:00,before,urea,47.6,mmol/L", "done,21:40,after,urea,24.0,mmol/L"), "clin-urea-generation"},
	{"two results of one sample", labsOf("done,18:00,before,urea,24.1,mmol/L", "done,18:00,before,urea,21.4,mmol/L"), "clin-lab-twice"},
	{"sample from the wrong place", labsOf("done,18:00,before,urea,24.1,mmol/L", "done,21:40,after,urea,5.0,mmol/L"), "clin-urea-clearance"},
	{"urea falls too little", labsOf("done,18:00,before,urea,24.1,mmol/L", "done,21:40,after,urea,22.0,mmol/L"), "clin-urea-ratio"},
	{"haemoglobin in g/L as g/dL", labsOf("", "done,18:00,before,haemoglobin,108,g/dL"), "clin-unit"},
	{"BUN in mg/dL as mmol/L", labsOf("", "done,18:00,before,urea,110,mmol/L"), "clin-unit"},
	{"unit that does not fit", labsOf("", "done,18:00,before,phosphate,1.6,g/L"), "clin-unit"},
	{"too much heparin", func(t *testing.T, folder fstest.MapFS) issue.Cell {
		id := *open(t, folder, sessionsFile).cell(t, 2, "session")
		folder["medicines.csv"] = &fstest.MapFile{Data: []byte("session,time,medicine,kind,dose,dose_unit\n" + id + ",18:40,heparin,anticoagulant,35000,IU\n")}
		return issue.Cell{File: "medicines.csv", Row: 2, Column: 5, Heading: "dose"}
	}, "clin-impossible"},
	{"prescribed dry weight in pounds", func(t *testing.T, folder fstest.MapFS) issue.Cell {
		about := string(folder["log.toml"].Data)
		folder["log.toml"] = &fstest.MapFile{Data: []byte(strings.Replace(about, "dry_weight_kg = 70.5", "dry_weight_kg = 155.4", 1))}
		row := 1 + strings.Count(about[:strings.Index(about, "dry_weight_kg")], "\n")
		return issue.Cell{File: "log.toml", Row: row, Heading: "prescription.dry_weight_kg"}
	}, "clin-pounds"},
	{"height in metres", func(t *testing.T, folder fstest.MapFS) issue.Cell {
		about := string(folder["log.toml"].Data)
		folder["log.toml"] = &fstest.MapFile{Data: []byte(strings.Replace(about, "height_cm = 172", "height_cm = 1.72", 1))}
		row := 1 + strings.Count(about[:strings.Index(about, "height_cm")], "\n")
		return issue.Cell{File: "log.toml", Row: row, Heading: "patient.height_cm"}
	}, "clin-unit"},
}

// labsOfPair is labsOf for a pair that is reported at the first.
func labsOfPair(first, last string) func(*testing.T, fstest.MapFS) issue.Cell {
	both := labsOf(first, last)
	return func(t *testing.T, folder fstest.MapFS) issue.Cell {
		cell := both(t, folder)
		cell.Row--
		return cell
	}
}

// labsOf adds blood samples to the second session held; the last is the one
// to be reported at its value or unit.
func labsOf(first, last string) func(*testing.T, fstest.MapFS) issue.Cell {
	return func(t *testing.T, folder fstest.MapFS) issue.Cell {
		s := open(t, folder, sessionsFile)
		id := *s.cell(t, s.heldRow(t, 2), "session")
		row := 2
		text := "session,drawn_time,when,test,value,unit\n"
		if first != "" {
			text += strings.Replace(first, "done", id, 1) + "\n"
			row++
		}
		text += strings.Replace(last, "done", id, 1) + "\n"
		folder["labs.csv"] = &fstest.MapFile{Data: []byte(text)}
		return issue.Cell{File: "labs.csv", Row: row, Column: 5, Heading: "value"}
	}
}

func TestSpoiltMonthsAreFound(t *testing.T) {
	for _, m := range spoiltMonths {
		t.Run(m.name, func(t *testing.T) {
			for seed := range uint64(5) {
				folder := monthOf(honest[0], 200+seed)
				if m.rule == "month-digits" {
					delete(folder, readingsFile) // too many others to outweigh
				}
				cell := m.spoil(t, folder)
				wantFinding(t, folder, cell, m.rule, "", "")
			}
		})
	}
}

// TestEachAbsentSessionIsMissed takes each session but the first and last out
// of honest months: one finding each, at the row before it or the one before
// the widest gap of its week.
func TestEachAbsentSessionIsMissed(t *testing.T) {
	for _, h := range honest[:4] {
		sound := open(t, monthOf(h, 600), sessionsFile)
		for row := 3; row < len(sound.rows); row++ {
			folder := monthOf(h, 600)
			s := open(t, folder, sessionsFile)
			id := s.rows[row-1][0]
			s.rows = slices.Delete(s.rows, row-1, row)
			s.save(folder, sessionsFile)
			delete(folder, readingsFile)
			var found []issue.Finding
			for _, f := range checkFolder(t, folder) {
				if f.Rule == "month-session-absent" {
					found = append(found, f)
				} else if f.Rule != "clin-weight-gain" {
					t.Errorf("%s without %s: %s", h.name, id, f.Rule)
				}
			}
			if len(found) != 1 || found[0].Cells[0].Row > row || found[0].Cells[0].Row < row-4 {
				t.Errorf("%s without %s in row %d: %v", h.name, id, row, found)
			}
		}
	}
}

// TestAllInPounds: every weight in pounds, with the dry weight in kg to tell.
func TestAllInPounds(t *testing.T) {
	folder := monthOf(honest[0], 300)
	s := open(t, folder, sessionsFile)
	cells := 0
	for row := 2; row <= len(s.rows); row++ {
		for _, heading := range []string{"weight_before_kg", "weight_after_kg"} {
			if cell := s.cell(t, row, heading); *cell != "" {
				times(2.20462, "%.1f")(t, s, row, cell)
				cells++
			}
		}
	}
	s.save(folder, sessionsFile)
	if found := checkFolder(t, folder); len(found) != 1 || found[0].Rule != "clin-heading-unit" || len(found[0].Cells) != 2 || cells == 0 {
		t.Errorf("found %+v", found)
	}
}

// TestEveryRuleIsNeeded holds that the tests of this package name every rule of
// its two layers, and that every rule says what a user needs.
func TestEveryRuleIsNeeded(t *testing.T) {
	files, err := filepath.Glob("*_test.go")
	if err != nil {
		t.Fatal(err)
	}
	var tests []byte
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		tests = append(tests, text...)
	}
	for _, r := range issue.Rules() {
		if r.Layer != issue.LayerClinical && r.Layer != issue.LayerMonth ||
			strings.Contains(r.ID, "-record-") || strings.Contains(r.ID, "-manifest-") {
			continue // rules for records, not for logs
		}
		if !regexp.MustCompile(r.ID + `[^-a-z]`).Match(tests) {
			t.Errorf("rule %s has no test", r.ID)
		}
		if r.What == "" || r.Why == "" || r.Source == "" || r.Mend == "" || r.IssueType == "" {
			t.Errorf("rule %s is not complete: %+v", r.ID, r)
		}
	}
}
