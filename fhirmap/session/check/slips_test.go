package check

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"testing"
	"testing/fstest"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// sheetOf is a CSV file taken apart, to put mistakes into.
type sheetOf struct{ rows [][]string }

func open(t *testing.T, folder fstest.MapFS, file string) *sheetOf {
	t.Helper()
	rows, err := csv.NewReader(bytes.NewReader(folder[file].Data)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	return &sheetOf{rows}
}

func (s *sheetOf) save(folder fstest.MapFS, file string) {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	w.WriteAll(s.rows)
	folder[file] = &fstest.MapFile{Data: b.Bytes()}
}

func (s *sheetOf) column(t *testing.T, heading string) int {
	t.Helper()
	i := slices.Index(s.rows[0], heading)
	if i < 0 {
		t.Fatalf("no column %s", heading)
	}
	return i
}

// cell is a cell by its row number, as a spreadsheet shows it.
func (s *sheetOf) cell(t *testing.T, row int, heading string) *string {
	t.Helper()
	return &s.rows[row-1][s.column(t, heading)]
}

// heldRow is the nth row, from 1, of a session that was held.
func (s *sheetOf) heldRow(t *testing.T, n int) int {
	t.Helper()
	for i, row := range s.rows {
		if slices.Contains(row, "done") {
			if n--; n == 0 {
				return i + 1
			}
		}
	}
	t.Fatal("not enough sessions held")
	return 0
}

func number(t *testing.T, text string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// mistake is one slip put into an honest month, and the finding it must give.
type mistake struct {
	name string
	// in is the file; heading the column of the cell to be named.
	in, heading string
	// write changes the cell's text; other changes another cell of the row.
	write func(t *testing.T, s *sheetOf, row int, cell *string)
	rule  string
	// expected is a part of the suggestion.
	expected string
}

func times(factor float64, format string) func(*testing.T, *sheetOf, int, *string) {
	return func(t *testing.T, _ *sheetOf, _ int, cell *string) {
		*cell = fmt.Sprintf(format, number(t, *cell)*factor)
	}
}

func text(value string) func(*testing.T, *sheetOf, int, *string) {
	return func(_ *testing.T, _ *sheetOf, _ int, cell *string) { *cell = value }
}

func swapWith(heading string) func(*testing.T, *sheetOf, int, *string) {
	return func(t *testing.T, s *sheetOf, row int, cell *string) {
		other := s.cell(t, row, heading)
		*cell, *other = *other, *cell
	}
}

const (
	sessionsFile = "sessions.csv"
	readingsFile = "readings.csv"
)

var mistakes = []mistake{
	{"726 for 72.6", sessionsFile, "weight_before_kg", times(10, "%.0f"), "clin-decimal-point", "perhaps 7"},
	{"7.26 for 72.6", sessionsFile, "weight_after_kg", times(0.1, "%.2f"), "clin-decimal-point", "perhaps 7"},
	{"pounds", sessionsFile, "weight_before_kg", times(2.20462, "%.1f"), "clin-pounds", "perhaps 7"},
	{"stones", sessionsFile, "weight_after_kg", times(1/6.35029, "%.1f"), "clin-stones", "perhaps 7"},
	{"weights swapped", sessionsFile, "weight_before_kg", swapWith("weight_after_kg"), "clin-weights-swapped", "perhaps 7"},
	{"millilitres of fluid removed", sessionsFile, "uf_removed_l", times(1000, "%.0f"), "clin-litres", "perhaps"},
	{"point lost in fluid removed", sessionsFile, "uf_removed_l", times(10, "%.1f"), "clin-decimal-point", "perhaps"},
	{"fluid the weights cannot explain", sessionsFile, "uf_removed_l", func(t *testing.T, s *sheetOf, row int, cell *string) {
		*cell = fmt.Sprintf("%.2f", number(t, *cell)+0.9)
	}, "clin-uf-weights", "perhaps"},
	{"millilitres of drinks", sessionsFile, "drinks_l", text("250"), "clin-litres", "perhaps 0.25 L"},
	{"millilitres of rinse-back", sessionsFile, "rinseback_l", text("300"), "clin-litres", "perhaps 0.3 L"},
	{"millilitres of dialysate", sessionsFile, "dialysate_l", times(1000, "%.0f"), "clin-litres", "perhaps"},
	{"dialysate that flow and time cannot give", sessionsFile, "dialysate_l", times(1.25, "%.1f"), "clin-dialysate-volume", "about"},
	{"blood that flow and time cannot give", sessionsFile, "blood_processed_l", times(0.7, "%.1f"), "clin-blood-volume", "about"},
	{"litres an hour as mL a minute", sessionsFile, "dialysate_flow_ml_min", text("9.9"), "clin-unit", "perhaps 165"},
	{"zero lost in blood flow", sessionsFile, "blood_flow_ml_min", text("35"), "clin-decimal-point", "perhaps 350"},
	{"°F as °C", sessionsFile, "temperature_before_c", text("97.7"), "clin-fahrenheit", "perhaps 36.5"},
	{"blood pressure swapped", sessionsFile, "bp_before_systolic_mmhg", swapWith("bp_before_diastolic_mmhg"), "clin-bp-swapped", "over"},
	{"blood pressure after swapped", sessionsFile, "bp_after_systolic_mmhg", swapWith("bp_after_diastolic_mmhg"), "clin-bp-swapped", "over"},
	{"kPa as mmHg", sessionsFile, "bp_before_systolic_mmhg", func(t *testing.T, s *sheetOf, row int, cell *string) {
		*cell, *s.cell(t, row, "bp_before_diastolic_mmhg") = "18", "11"
	}, "clin-unit", "perhaps 135"},
	{"last digit lost in blood pressure", sessionsFile, "bp_before_systolic_mmhg", text("14"), "clin-impossible", "perhaps 140 to 149"},
	{"arterial and venous pressure exchanged", readingsFile, "arterial_pressure_mmhg", swapWith("venous_pressure_mmhg"), "clin-exchanged", "perhaps -"},
	{"flows exchanged", sessionsFile, "dialysate_flow_ml_min", swapWith("blood_flow_ml_min"), "clin-exchanged", "perhaps 1"},
	{"digit too many in blood pressure", sessionsFile, "bp_before_systolic_mmhg", text("1355"), "clin-impossible", "perhaps 13"},
	{"pulse with a digit lost", sessionsFile, "pulse_before_per_min", text("7"), "clin-decimal-point", "perhaps 70"},
	{"0 for a weight not taken", sessionsFile, "weight_before_kg", text("0"), "clin-zero", "an empty cell"},
	{"0.0 for a weight not taken after", sessionsFile, "weight_after_kg", text("0.0"), "clin-zero", "an empty cell"},
	{"0 for a blood pressure not taken", sessionsFile, "bp_before_systolic_mmhg", text("0"), "clin-zero", "an empty cell"},
	{"0 for a pulse not taken", sessionsFile, "pulse_before_per_min", text("0"), "clin-zero", "an empty cell"},
	{"0 for a temperature not taken", sessionsFile, "temperature_before_c", text("0"), "clin-zero", "an empty cell"},
	{"0 for a blood pressure not taken in a reading", readingsFile, "bp_diastolic_mmhg", text("0"), "clin-zero", "an empty cell"},
	{"hours as minutes", sessionsFile, "treated_min", text("2.75"), "clin-unit", "perhaps 165"},
	{"treatment longer than the session", sessionsFile, "treated_min", times(1.3, "%.0f"), "clin-treated-time", "about"},
	{"weight after left out", sessionsFile, "weight_after_kg", text(""), "clin-weight-missing", ""},
	{"end left out", sessionsFile, "end", text(""), "clin-end-missing", ""},
	{"end before start", sessionsFile, "end", text("16:10"), "log-end-before-start", ""},
	{"wrong year", sessionsFile, "date", func(_ *testing.T, _ *sheetOf, _ int, cell *string) {
		*cell = strings.Replace(*cell, "2025", "2024", 1)
	}, "month-date-far", "perhaps 2025"},
	{"wrong month", sessionsFile, "date", func(_ *testing.T, _ *sheetOf, _ int, cell *string) {
		*cell = strings.Replace(*cell, "-10-", "-01-", 1)
	}, "month-date-far", "perhaps 2025-10"},
	{"digits of the year exchanged", sessionsFile, "date", func(_ *testing.T, _ *sheetOf, _ int, cell *string) {
		*cell = strings.Replace(*cell, "2025", "2052", 1)
	}, "month-date-far", "perhaps 2025"},
	{"year of two digits", sessionsFile, "date", text("3/11/25"), "log-date", ""},
	{"day and month could be exchanged", sessionsFile, "date", text("3/11/2025"), "log-date-ambiguous", "2025-11-03"},
	{"not done, but treated", sessionsFile, "uf_removed_l", func(t *testing.T, s *sheetOf, row int, _ *string) {
		*s.cell(t, row, "status") = "not done"
	}, "clin-not-done", ""},
	{"letter in a number", sessionsFile, "weight_before_kg", text("7O.5"), "log-number", ""},
	{"decimal comma", sessionsFile, "weight_before_kg", text("72,6"), "log-decimal-mark", "72.6"},
	{"wrong word", sessionsFile, "status", text("don"), "log-choice", "done"},

	{"arterial pressure without minus", readingsFile, "arterial_pressure_mmhg", text("165"), "clin-arterial-sign", "perhaps -165"},
	{"venous pressure with a digit too many", readingsFile, "venous_pressure_mmhg", text("1400"), "clin-decimal-point", "perhaps 140"},
	{"conductivity without point", readingsFile, "conductivity_ms_cm", text("139"), "clin-decimal-point", "perhaps 13.9"},
	{"dialysate temperature in °F", readingsFile, "dialysate_temperature_c", text("98.6"), "clin-fahrenheit", "perhaps 37"},
	{"UF rate in mL/h", readingsFile, "uf_rate_l_h", text("620"), "clin-litres", "perhaps 0.62"},
	{"blood pressure in a reading swapped", readingsFile, "bp_systolic_mmhg", swapWith("bp_diastolic_mmhg"), "clin-bp-swapped", "over"},
	{"fluid so far that falls", readingsFile, "uf_so_far_l", text("0.01"), "clin-uf-falls", "about"},
	{"pulse unlike those beside it", readingsFile, "pulse_per_min", text("127"), "clin-apart", "a minute"},
	{"reading outside the session", readingsFile, "time", text("12:00"), "clin-outside-session", "a time from"},
	{"reading of no session", readingsFile, "session", text("10-99"), "log-session-unknown", ""},
	{"time that is none", readingsFile, "time", text("25:10"), "log-time", ""},
	{"time with a point", readingsFile, "time", text("19.30"), "log-time", "19:30"},
}

// TestMistakesAreFound puts each mistake into honest months and wants the
// right rule at the right cell, and nothing wrong said of other sessions.
func TestMistakesAreFound(t *testing.T) {
	for _, m := range mistakes {
		t.Run(m.name, func(t *testing.T) {
			for seed := range uint64(5) {
				folder := monthOf(honest[0], 100+seed)
				s := open(t, folder, m.in)
				var row int
				if m.in == sessionsFile {
					row = s.heldRow(t, 8)
				} else {
					row = middleReading(s)
				}
				cell := s.cell(t, row, m.heading)
				m.write(t, s, row, cell)
				value := *cell
				s.save(folder, m.in)
				wantFinding(t, folder, issue.Cell{File: m.in, Row: row, Column: s.column(t, m.heading) + 1, Heading: m.heading}, m.rule, value, m.expected)
			}
		})
	}
}

// middleReading is the third reading of the fourth session that has some.
func middleReading(s *sheetOf) int {
	count, last := 0, ""
	for i, row := range s.rows[1:] {
		if row[0] != last {
			last = row[0]
			if count++; count == 4 {
				return i + 4
			}
		}
	}
	return 0
}

func wantFinding(t *testing.T, folder fstest.MapFS, cell issue.Cell, rule, value, expected string) {
	t.Helper()
	findings := checkFolder(t, folder)
	for _, f := range findings {
		if f.Rule == rule && f.Cells[0] == cell {
			if !strings.Contains(f.Expected.String(), expected) || value != "" && rule != "log-session-unknown" && f.Value != "" && !strings.Contains(f.Value, value) {
				t.Errorf("value %q, expected %q; want %q and %q", f.Value, f.Expected, value, expected)
			}
			if value != "" && strings.Contains(f.Details.String(), value) && len(value) > 2 {
				t.Errorf("details hold the value: %q", f.Details)
			}
			return
		}
	}
	t.Errorf("no %s at %s", rule, cell)
	for _, f := range findings {
		t.Logf("found %s %s at %v: %q, %s", f.Severity, f.Rule, f.Cells, f.Value, f.Details)
	}
}

// TestOneSlipOneFinding holds that a slip is not reported again by the
// comparisons it spoils.
func TestOneSlipOneFinding(t *testing.T) {
	for _, m := range mistakes {
		switch m.rule {
		case "clin-decimal-point", "clin-pounds", "clin-stones", "clin-litres", "clin-fahrenheit", "clin-bp-swapped", "clin-arterial-sign", "clin-weights-swapped", "clin-zero":
		default:
			continue
		}
		folder := monthOf(honest[0], 103)
		s := open(t, folder, m.in)
		row := middleReading(s)
		if m.in == sessionsFile {
			row = s.heldRow(t, 8)
		}
		m.write(t, s, row, s.cell(t, row, m.heading))
		s.save(folder, m.in)
		if findings := checkFolder(t, folder); len(findings) != 1 {
			t.Errorf("%s: %d findings, want 1: %v", m.name, len(findings), findings)
		}
	}
}

func TestBrokenFollowsErrors(t *testing.T) {
	folder := monthOf(honest[0], 101)
	s := open(t, folder, sessionsFile)
	row := s.heldRow(t, 3)
	*s.cell(t, row, "weight_before_kg") = "726"
	s.save(folder, sessionsFile)
	log, _, err := session.ReadFS(folder, session.Options{})
	if err != nil {
		t.Fatal(err)
	}
	Check(log, nil)
	for _, one := range log.Sessions {
		if want := one.Cell.Row == row; one.Broken != want {
			t.Errorf("session %s in row %d: broken %v, want %v", one.ID, one.Cell.Row, one.Broken, want)
		}
	}
}
