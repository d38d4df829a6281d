package check

import (
	"fmt"
	"testing"
)

// Times an hour from when they are in the other sessions, of seven or more that are
// close together and as long.
func TestTimesOfOtherSessions(t *testing.T) {
	text := "session,time,medicine,kind,dose,dose_unit\n"
	for i := range 9 {
		text += fmt.Sprintf("s%d,14:0%d,heparin,anticoagulant,2000,IU\n", i, i)
	}
	files := map[string]string{sessionsFile: mondays(9, "before_at,after_at", everyRow("13:45,17:20")), "medicines.csv": text}
	changes(t, "clin-outside-session", "", files, []change{
		{"5.before_at=12:45", "clin-outside-session 5.before_at 12:45 -> perhaps 13:45"},
		{"5.before_at=13:06", ""}, {"5.before_at=12:00", "clin-outside-session 5.before_at 12:00 -> a time shortly before 14:00"},
		{"5.after_at=18:20", "clin-outside-session 5.after_at 18:20 -> perhaps 17:20"},
		{"medicines:5.time=15:03", "clin-outside-session 5.time 15:03 -> perhaps 14:03"},
		{"medicines:5.time=15:03;5.end=18:10", ""}, // a longer session
		{"medicines:5.time=15:30", ""},
	})
}
