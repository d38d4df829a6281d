package check

import (
	"fmt"
	"strings"
	"testing"
)

// A column of weights that was sorted alone: where it no longer fits the fluid
// removed in three rows; or that slipped: where in four it fits with that beside.
func TestColumnsAloneAtTheirLimits(t *testing.T) {
	const rules = "month-column-alone month-column-slipped"
	before := func(values string) map[string]string {
		removed := []string{"1.0", "3.0", "1.2", "2.8", "1.1", "3.1", "1.3", "2.9", "1.0"}
		text := strings.Fields(values)
		return map[string]string{sessionsFile: mondays(len(text), "uf_removed_l,weight_before_kg,weight_after_kg,drinks_l", func(i int) string {
			return removed[i] + "," + strings.Replace(text[i], "-", "", 1) + ",70,0"
		})}
	}
	for _, c := range []struct{ before, want string }{
		{"71 73 71.2 72.8 71.1 73.1 71.3 72.9", ""},
		{"71 71.1 71.2 71.3 72.8 72.9 73 73.1", "month-column-alone 2.weight_before_kg 71 -> "},
		{"73.1 73 72.9 72.8 71.3 71.2 71.1 71", "month-column-alone 2.weight_before_kg 73.1 -> "},
		{"71 71.1 71.2 71.3 72.8 73 73.1", ""}, // seven rows
		{"71 71 71 71 73 73 73 73", ""},        // two different values
		{"71 73 72.8 71.1 73.1 71.3 72.9 -", "month-column-slipped 4.weight_before_kg 72.8 -> "},
		{"71 73 72.8 71.1 73.1 71.3 72.9 72", "month-column-slipped 4.weight_before_kg 72.8 -> "},
		{"71 73 71.2 - 72.8 71.1 73.1 71.3", "month-column-slipped 5.weight_before_kg  -> "},
		{"71 73 71.2 72.8 72.8 71.1 73.1 71.3", ""}, // four rows, no empty cell
		{"71 73 71.2 71.2 72.8 71.1 73.1 71.3 72.9", "month-column-slipped 5.weight_before_kg 71.2 -> "},
		{"71 73 71.2 72.8 71.1 71.1 73.1 71.3", ""}, // three rows
		{"71 73 71.2 71.2 71.1 73.1 71.3 72.9", ""}, // one row
		{"71 73 71.2 - 71.1 73.1 71.3 72.9", ""},
	} {
		if got := told(t, rules, "", before(c.before)); got != c.want {
			t.Errorf("%s: %s, want %s", c.before, got, c.want)
		}
	}
}

// Dates in another order than the names, in four rows or more.
func TestDatesAloneAtTheirLimits(t *testing.T) {
	names := []string{"2025-03-10", "2025-03-12", "2025-03-14", "2025-03-16", "2025-03-18"}
	for dates, want := range map[string]string{
		"10 12 14 16 18": "", "12 10 16 14 18": "month-column-alone 2.date 2025-03-12 -> perhaps 2025-03-10", "12 14 10 16 18": "", "12 10 16 14 20": "",
		"10 18 16 14 12": "month-column-alone 3.date 2025-03-18 -> perhaps 2025-03-12", "18 10 12 14 16": "month-column-alone 2.date 2025-03-18 -> perhaps 2025-03-10",
	} {
		rows := "session,date,start,end,status\n"
		for i, day := range strings.Fields(dates) {
			rows += fmt.Sprintf("%s,2025-03-%s,14:0%d,17:10,done\n", names[i], day, i)
		}
		if got := told(t, "month-column-alone", "", map[string]string{sessionsFile: rows}); got != want {
			t.Errorf("%s: %s, want %s", dates, got, want)
		}
	}
}

// What a column that slipped leaves empty, or puts in a session not done, is not
// told beside it.
func TestColumnSlippedIsToldAlone(t *testing.T) {
	const rules = "month-column-slipped clin-weight-missing clin-not-done clin-uf-weights"
	removed := []string{"1.0", "3.0", "1.2", "2.8", "0", "3.1", "1.3", "2.9"}
	after := []string{"70", "67", "", "68.8", "67.2", "70", "66.9", "68.7"}
	text := mondays(8, "uf_removed_l,weight_before_kg,weight_after_kg,drinks_l,reason", func(i int) string {
		return removed[i] + ",70," + after[i] + ",0,"
	})
	for row, changes := range map[string]string{"6.status=not done;6.reason=ill;7.weight_after_kg=": "month-column-slipped 4.weight_after_kg  -> "} {
		files := changed(t, map[string]string{sessionsFile: text}, "2.weight_after_kg=69;3.weight_after_kg=67;"+row)
		if got := told(t, rules, "", files); got != changes {
			t.Errorf("%s: %s, want %s", row, got, changes)
		}
	}
}
