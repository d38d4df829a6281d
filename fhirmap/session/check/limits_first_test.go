package check

import (
	"fmt"
	"testing"
	"time"
)

// Readings of an earlier session explain that more fluid was read than removed.
func TestCopiedReadingsBeforeFluid(t *testing.T) {
	readings := "session,time,bp_systolic_mmhg,bp_diastolic_mmhg,pulse_per_min,uf_so_far_l\n"
	for i := range 3 {
		for r := range 3 {
			readings += fmt.Sprintf("s%d,%d:00,%d,%d,%d,%.1f\n", i, 15+r, 130+i+r, 70+i*r, 66+2*i+r, 0.6*float64(r+1))
		}
	}
	files := map[string]string{sessionsFile: mondays(3, "uf_removed_l", everyRow("2.0")), readingsFile: readings}
	copied := ""
	for r := range 3 {
		copied += fmt.Sprintf("readings:%d.bp_systolic_mmhg=%d;readings:%d.bp_diastolic_mmhg=%d;readings:%d.pulse_per_min=%d;", 8+r, 131+r, 8+r, 70+r, 8+r, 68+r)
	}
	const falls = "clin-uf-falls 10.uf_so_far_l 1.8 -> 1.5 or less"
	changes(t, "month-copied clin-uf-falls", "", files, []change{
		{"4.uf_removed_l=1.5", falls}, {copied + "4.uf_removed_l=1.5", "month-copied 8.session  -> "},
	})
}

// A date a day off, on that of another session and in its time, is told in place of
// the time that they share. Rows are in the order of time.
func TestDateBeforeOverlap(t *testing.T) {
	const about = "[[prescription]]\nvalid_from = 2025-01-01\nweekdays = [\"Monday\", \"Wednesday\", \"Friday\", \"Sunday\"]\n"
	files := func(changed int, by int) map[string]string {
		rows := "session,date,start,end,status,weight_before_kg,pulse_before_per_min\n"
		for i := range 16 {
			day := time.Date(2025, 11, 3+7*(i/4)+2*(i%4), 0, 0, 0, 0, time.UTC)
			if i == changed {
				day = day.AddDate(0, 0, by)
			}
			rows += fmt.Sprintf("a%d,%s,14:00,17:10,done,7%d,6%d\n", i, day.Format(time.DateOnly), i%5, i%10)
		}
		return map[string]string{sessionsFile: rows}
	}
	for _, c := range []struct {
		changed, by int
		want        string
	}{
		{7, 1, "month-date-far 9.date 2025-11-17 -> perhaps 2025-11-16"}, {8, -1, "month-date-far 10.date 2025-11-16 -> perhaps 2025-11-17"},
	} {
		if got := told(t, "month-overlap month-date-far month-session-absent", about, files(c.changed, c.by)); got != c.want {
			t.Errorf("%+v: %s", c, got)
		}
	}
}
