package check

import (
	"fmt"
	"strings"
	"testing"
)

// cellsTold lists each finding of a rule with the row numbers of its cells and what
// is expected.
func cellsTold(t *testing.T, rule string, files map[string]string) string {
	t.Helper()
	var all []string
	for _, f := range ruleIn(t, rule, "", files) {
		var rows []string
		for _, cell := range f.Cells {
			rows = append(rows, fmt.Sprint(cell.Row))
		}
		all = append(all, fmt.Sprintf("%s.%s -> %s", strings.Join(rows, " "), f.Cells[0].Heading, f.Expected))
	}
	return strings.Join(all, "; ")
}

// A number alone below all rows, with an empty cell above in its column, is the end of
// a column that slipped down at that cell; with none it is a total.
func TestColumnSlippedDownNamesItsGap(t *testing.T) {
	for _, c := range []struct{ pulses, tail, slipped, alone string }{
		{"70 71 - 72 73 74", ",,75,", "4 8.pulse_per_min -> perhaps 72", ""},
		{"70 71 72 73 74 -", ",,75,", "7 8.pulse_per_min -> perhaps 75", ""},
		{"- 71 72 73 74 75", ",,76,", "2 8.pulse_per_min -> perhaps 71", ""},
		{"70 71 72 73 74 75", ",,76,", "", "8.pulse_per_min -> "},             // no empty cell
		{"70 - 72 - 74 75", ",,76,", "5 3 8.pulse_per_min -> perhaps 74", ""}, // the lower one first
		{"- - - - - -", ",,76,", "", "8.pulse_per_min -> "},                   // the column is empty
		{"70 71 - 72 73 74", ",,,", "", ""},
		{"70 71 - 72 73 74", ",,75,90", "", ""}, // two numbers are no tail
	} {
		readings := "session,time,pulse_per_min,venous_pressure_mmhg\n"
		for i, pulse := range strings.Fields(c.pulses) {
			readings += fmt.Sprintf("s%d,%d:00,%s,120\n", i/2, 15+i%2, strings.Trim(pulse, "-"))
		}
		files := map[string]string{sessionsFile: mondays(3, "notes", everyRow("")), readingsFile: readings + c.tail + "\n"}
		if got := cellsTold(t, "month-column-slipped", files); got != c.slipped {
			t.Errorf("%s %s: slipped %q, want %q", c.pulses, c.tail, got, c.slipped)
		}
		if got := cellsTold(t, "log-row-foreign", files); c.tail != ",,75,90" && got != c.alone {
			t.Errorf("%s %s: left out %q, want %q", c.pulses, c.tail, got, c.alone)
		}
	}
	// In the sessions the upper of two empty cells comes first: the column had all.
	sessions := mondays(6, "pulse_before_per_min", func(i int) string { return []string{"70", "", "71", "", "72", "73"}[i] }) + ",,,,,74\n"
	if got, want := cellsTold(t, "month-column-slipped", map[string]string{sessionsFile: sessions}), "3 5 8.pulse_before_per_min -> perhaps 71"; got != want {
		t.Errorf("sessions: %q, want %q", got, want)
	}
}

// A lower number and a pulse in each other's cell: each within 20 of where the other
// one is in three other rows, and the pulse further from its own.
func TestPulseInTheLowerCellAtItsLimits(t *testing.T) {
	const exchanged, swapped = "clin-exchanged 4.bp_diastolic_mmhg ", "clin-bp-swapped 4.bp_systolic_mmhg "
	files := func(pulse string) map[string]string {
		return map[string]string{sessionsFile: mondays(1, "notes", everyRow("")), readingsFile: readingsOf(1, 4, "bp_systolic_mmhg,bp_diastolic_mmhg,pulse_per_min", "98,62,"+pulse)}
	}
	changes(t, "clin-exchanged clin-bp-swapped clin-apart", "", files("100"), []change{
		{"readings:4.bp_diastolic_mmhg=100;readings:4.pulse_per_min=62", exchanged + "100 -> perhaps 62 and 100"},
		{"readings:4.bp_diastolic_mmhg=120;readings:4.pulse_per_min=62", exchanged + "120 -> perhaps 62 and 120"},
		{"readings:4.bp_diastolic_mmhg=121;readings:4.pulse_per_min=62", swapped + "98 -> perhaps 121 over 98"},
		{"readings:4.bp_diastolic_mmhg=100;readings:4.pulse_per_min=79", exchanged + "100 -> perhaps 79 and 100"},
		{"readings:4.bp_diastolic_mmhg=100;readings:4.pulse_per_min=80", swapped + "98 -> perhaps 100 over 98"},
		{"readings:4.bp_diastolic_mmhg=100;readings:4.pulse_per_min=42", exchanged + "100 -> perhaps 42 and 100"},
		{"readings:4.bp_diastolic_mmhg=100;readings:4.pulse_per_min=41", swapped + "98 -> perhaps 100 over 98"},
		{"readings:4.bp_diastolic_mmhg=100", swapped + "98 -> perhaps 100 over 98"},
		{"readings:4.bp_diastolic_mmhg=100;readings:4.pulse_per_min=", swapped + "98 -> perhaps 100 over 98"},
		{"readings:4.bp_systolic_mmhg=62;readings:4.bp_diastolic_mmhg=100;readings:4.pulse_per_min=62", swapped + "62 -> perhaps 100 over 62"},
		{"readings:4.bp_diastolic_mmhg=100;readings:4.pulse_per_min=62;readings:5.pulse_per_min=", swapped + "98 -> perhaps 100 over 98"},
	})
	sessions := map[string]string{sessionsFile: mondays(2, "bp_before_systolic_mmhg,bp_before_diastolic_mmhg,pulse_before_per_min", everyRow("98,62,100")), readingsFile: files("100")[readingsFile]}
	changes(t, "clin-exchanged clin-bp-swapped clin-apart", "", sessions, []change{
		{"2.bp_before_diastolic_mmhg=100;2.pulse_before_per_min=62", "clin-exchanged 2.bp_before_diastolic_mmhg 100 -> perhaps 62 and 100"},
	})
}

// A pressure number and a pulse in each other's cell where the two numbers stay in
// order: less than 20 mmHg apart, and not when exchanged.
func TestPulseInAPressureCellAtItsLimits(t *testing.T) {
	files := map[string]string{sessionsFile: mondays(8, "bp_after_systolic_mmhg,bp_after_diastolic_mmhg,pulse_after_per_min", everyRow("131,76,112"))}
	changes(t, "clin-exchanged clin-bp-swapped", "", files, []change{
		{"5.bp_after_diastolic_mmhg=112;5.pulse_after_per_min=76", "clin-exchanged 5.bp_after_diastolic_mmhg 112 -> perhaps 76 and 112"},
		{"5.bp_after_systolic_mmhg=132;5.bp_after_diastolic_mmhg=112;5.pulse_after_per_min=76", ""},
		{"5.bp_after_diastolic_mmhg=112", ""}, {"5.pulse_after_per_min=76", ""},
	})
	slow := map[string]string{sessionsFile: mondays(8, "bp_after_systolic_mmhg,bp_after_diastolic_mmhg,pulse_after_per_min", everyRow("100,50,62"))}
	changes(t, "clin-exchanged clin-bp-swapped", "", slow, []change{
		{"5.bp_after_systolic_mmhg=70;5.bp_after_diastolic_mmhg=62;5.pulse_after_per_min=50", "clin-exchanged 5.bp_after_diastolic_mmhg 62 -> perhaps 50 and 62"},
		{"5.bp_after_systolic_mmhg=69;5.bp_after_diastolic_mmhg=62;5.pulse_after_per_min=50", ""},
	})
}
