package check

import (
	"fmt"
	"slices"
	"testing"

	"runsheet.example/validate/issue"
)

// TestSlippedCellAlone holds for each slip that the cell that slipped is told,
// with what was meant, and that nothing else is said. The month has sessions
// named by their day, a dry weight and a time of writing in each row.
func TestSlippedCellAlone(t *testing.T) {
	tests := []struct {
		name, heading, rule, expected string
		write                         func(cell string) string
	}{
		{"none", "", "", "", nil},
		{"digits of the dry weight exchanged", "dry_weight_kg", "clin-weight-far", "a weight near 7", func(string) string { return "37.0" }},
		{"date of the morning after", "date", "clin-entered-early", "perhaps 2025-", func(day string) string { return dayAfter(t, day) }},
		{"written down the year before", "entered_at", "clin-entered-early", "a time after 2025-", func(at string) string { return "2024" + at[4:] }},
		{"rinse-back ten times too large", "rinseback_l", "clin-uf-weights", "perhaps 0.25 L", func(string) string { return "2.5" }},
		{"heading in pounds", "weight_before_kg", "clin-heading-unit", "a heading in kg", nil},
	}
	for _, test := range tests {
		folder := monthOf(honest[0], 105)
		s := open(t, folder, sessionsFile)
		namedByDay(t, s)
		readings := open(t, folder, readingsFile)
		for _, row := range readings.rows[1:] {
			row[0] = "2025-" + row[0]
		}
		readings.save(folder, readingsFile)
		row := s.heldRow(t, 8)
		if test.write != nil {
			cell := s.cell(t, row, test.heading)
			*cell = test.write(*cell)
		} else if test.heading != "" {
			i := s.column(t, test.heading)
			row, s.rows[0][i] = 1, "weight_before_lb"
		}
		s.save(folder, sessionsFile)
		findings := checkFolder(t, folder)
		if test.rule == "" {
			if len(findings) > 0 {
				t.Errorf("%s: %v", test.name, findings)
			}
			continue
		}
		one := func(f issue.Finding) bool {
			return f.Rule == test.rule && f.Cells[0].Row == row && len(f.Expected.String()) >= len(test.expected) &&
				(f.Cells[0].Heading == test.heading || row == 1)
		}
		if len(findings) != 1 || !slices.ContainsFunc(findings, one) {
			t.Errorf("%s: %v", test.name, findings)
		} else {
			wantFinding(t, folder, findings[0].Cells[0], test.rule, "", test.expected)
		}
	}
}

func namedByDay(t *testing.T, s *sheetOf) {
	t.Helper()
	date, end, status := s.column(t, "date"), s.column(t, "end"), s.column(t, "status")
	for i, row := range s.rows {
		if i == 0 {
			s.rows[i] = append(row, "dry_weight_kg", "entered_at")
			continue
		}
		row[0] = row[date]
		entered := ""
		if row[status] == "done" {
			entered = row[date] + " 23:30"
			if row[end] < "12:00" {
				entered = dayAfter(t, row[date]) + " 07:00"
			}
		}
		s.rows[i] = append(row, "70.5", entered)
	}
}

func dayAfter(t *testing.T, day string) string {
	t.Helper()
	var y, m, d int
	if _, err := fmt.Sscanf(day, "%d-%d-%d", &y, &m, &d); err != nil {
		t.Fatal(err)
	}
	return fmt.Sprintf("%04d-%02d-%02d", y, m, d+1)
}
