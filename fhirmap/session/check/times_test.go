package check

import (
	"fmt"
	"testing"
	"testing/fstest"
)

// An hour by which all readings of a session are off is told once, at the first
// of them; a late last reading, and a session read an hour apart, are not.
func TestReadingsAnHourOff(t *testing.T) {
	for _, tt := range []struct {
		name     string
		times    []string
		row      int
		expected string
	}{
		{"an hour late", []string{"19:06", "20:00", "21:00", "22:50"}, 34, "perhaps 18:06"},
		{"an hour early", []string{"17:06", "18:00", "19:00", "20:50"}, 34, "perhaps 18:06"},
		{"first reading late", []string{"19:06", "20:00", "21:00", "21:50"}, 0, ""},
		{"last reading late", []string{"18:06", "19:00", "21:00", "22:20"}, 0, ""},
	} {
		t.Run(tt.name, func(t *testing.T) {
			sessions, readings := "session,date,start,end,status\n", "session,time,pulse_per_min\n"
			for day := 3; day < 15; day++ {
				sessions += fmt.Sprintf("s%d,2025-11-%02d,18:0%d,22:0%d,done\n", day, day, day%5, day%4)
				times := []string{fmt.Sprintf("18:%02d", 5+day%3), "19:00", "20:00", "21:50"}
				if day == 11 {
					times = tt.times
				}
				for i, at := range times {
					readings += fmt.Sprintf("s%d,%s,%d\n", day, at, 60+day+5*i)
				}
			}
			findings := checkFolder(t, fstest.MapFS{
				"log.toml": {Data: []byte(aboutNoPlan)}, sessionsFile: {Data: []byte(sessions)}, readingsFile: {Data: []byte(readings)},
			})
			want := 0
			for _, f := range findings {
				if f.Rule != "clin-outside-session" {
					continue
				}
				if want++; f.Cells[0].Row != tt.row || f.Expected.String() != tt.expected {
					t.Errorf("at %v, expected %q; want row %d and %q", f.Cells, f.Expected.String(), tt.row, tt.expected)
				}
			}
			if (want == 1) != (tt.row > 0) || want > 1 {
				t.Errorf("%d findings of times outside the session: %v", want, findings)
			}
		})
	}
}
