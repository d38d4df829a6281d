package check

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"runsheet.example/validate/issue"
)

// later moves a time of day.
func later(by time.Duration) func(*testing.T, *sheetOf, int, *string) {
	return func(t *testing.T, _ *sheetOf, _ int, cell *string) {
		clock, err := time.Parse("15:04", *cell)
		if err != nil {
			t.Fatal(err)
		}
		if moved := clock.Add(by); moved.Day() == clock.Day() || by.Abs() > time.Hour {
			*cell = moved.Format("15:04")
		}
	}
}

// incoherent are slips that only the rest of the session shows.
var incoherent = []mistake{
	{"end an hour late", sessionsFile, "end", later(time.Hour), "clin-clock", "perhaps"},
	{"end an hour early", sessionsFile, "end", later(-time.Hour), "clin-clock", ""},
	{"start an hour early", sessionsFile, "start", later(-time.Hour), "clin-clock", "perhaps"},
	{"start an hour late", sessionsFile, "start", later(time.Hour), "clin-clock", ""},
	{"morning for evening", sessionsFile, "start", later(-12 * time.Hour), "clin-clock", "perhaps"},
	{"treated for an hour more", sessionsFile, "treated_min", func(t *testing.T, _ *sheetOf, _ int, cell *string) {
		*cell = fmt.Sprint(int(number(t, *cell)) + 60)
	}, "clin-treated-time", "about"},
	{"flow of another day", sessionsFile, "dialysate_flow_ml_min", times(1.4, "%.0f"), "clin-dialysate-volume", "about"},
	{"digits of the dialysate exchanged", sessionsFile, "dialysate_l", times(1.5, "%.1f"), "clin-dialysate-volume", "about"},
}

// TestIncoherentSessions puts each slip into each person's months: one
// finding, at the cell that was changed.
func TestIncoherentSessions(t *testing.T) {
	for _, m := range incoherent {
		for _, h := range honest {
			total, found := 0, 0
			for seed := range uint64(3) {
				folder := monthOf(h, 700+seed)
				clean := len(checkFolder(t, folder))
				s := open(t, folder, m.in)
				row := s.heldRow(t, 7)
				cell := s.cell(t, row, m.heading)
				if *cell == "" || *s.cell(t, row, "clock_change") != "" {
					continue
				}
				was := *cell
				if m.write(t, s, row, cell); *cell == was {
					continue
				}
				s.save(folder, m.in)
				total++
				findings := checkFolder(t, folder)
				hit := slices.ContainsFunc(findings, func(f issue.Finding) bool {
					return (f.Rule == m.rule || f.Rule == "log-end-before-start") && f.Cells[0].Row == row && f.Cells[0].Heading == m.heading
				})
				if hit && len(findings) == clean+1 {
					found++
					continue
				}
				for _, f := range findings {
					t.Logf("%s, %s, seed %d: %s at %v: %q, %s, %s", m.name, h.name, seed, f.Rule, f.Cells[0], f.Value, f.Details, f.Expected)
				}
			}
			if !h.treated {
				total-- // what is known without is less exact
			}
			if found < total {
				t.Errorf("%s, %s: %d of %d found alone at the cell", m.name, h.name, found, total)
			}
		}
	}
}

// TestEndsWithoutAmounts finds an hour too many in a log of starts and ends
// alone, when they are regular, and none in one of two lengths.
func TestEndsWithoutAmounts(t *testing.T) {
	const headings = "session,date,start,end,status\n"
	rows, mixed := headings, headings
	for day := 3; day < 15; day++ {
		end, other := "21:0"+fmt.Sprint(day%7), "21:05"
		if day == 9 {
			end = "22:03"
		}
		if day%3 == 0 {
			other = "23:40"
		}
		rows += fmt.Sprintf("s%d,2025-11-%02d,18:0%d,%s,done\n", day, day, day%5, end)
		mixed += fmt.Sprintf("s%d,2025-11-%02d,18:0%d,%s,done\n", day, day, day%5, other)
	}
	if rules := rulesOf(t, rows, ""); rules["clin-clock"] != issue.Warning {
		t.Errorf("an end an hour late raises %v", rules)
	}
	if _, ok := rulesOf(t, mixed, "")["clin-clock"]; ok {
		t.Error("sessions of two lengths raise clin-clock")
	}
}

// TestPausesAreHonest: an alarm of half an hour, and lines connected long
// before and after, are no slips.
func TestPausesAreHonest(t *testing.T) {
	folder := monthOf(honest[0], 800)
	s := open(t, folder, sessionsFile)
	row := s.heldRow(t, 7)
	later(35*time.Minute)(t, s, row, s.cell(t, row, "end"))
	s.save(folder, sessionsFile)
	if found := checkFolder(t, folder); len(found) > 0 {
		t.Errorf("35 minutes of pauses: %v", found)
	}
	for row := 2; row <= len(s.rows); row++ {
		if cell := s.cell(t, row, "end"); *cell != "" {
			later(50*time.Minute)(t, s, row, cell)
		}
	}
	s.save(folder, sessionsFile)
	if found := checkFolder(t, folder); len(found) > 0 {
		t.Errorf("50 minutes more every time: %v", found)
	}
}

// Of the two weights and the fluid removed, the one that the UF rate does not
// confirm is to be mended.
func TestTheRateTellsWhichWeight(t *testing.T) {
	for _, heading := range []string{"weight_before_kg", "weight_after_kg"} {
		for seed := range uint64(5) {
			folder := monthOf(honest[0], 820+seed)
			s := open(t, folder, sessionsFile)
			row := s.heldRow(t, 8)
			cell := s.cell(t, row, heading)
			change := 1.9
			if heading == "weight_after_kg" {
				change = -1.9
			}
			*cell = fmt.Sprintf("%.1f", number(t, *cell)+change)
			s.save(folder, sessionsFile)
			wantFinding(t, folder, issue.Cell{File: sessionsFile, Row: row, Column: s.column(t, heading) + 1, Heading: heading}, "clin-uf-weights", "", " kg")
		}
	}
}
