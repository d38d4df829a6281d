package session_test

import (
	"testing"
	"testing/fstest"

	"runsheet.example/fhirmap/session"
)

// Every filled row is in the log or counted as left out, with its reason, and
// every filled cell under a heading that the log does not know is counted.
func TestTally(t *testing.T) {
	files := fstest.MapFS{
		"log.toml":     {Data: []byte("[log]\nformat = 1\nid = \"7f1c5a44-9c1e-4f7b-8a54-9d1f7f0c2a11\"\ntime_zone = \"UTC\"\n")},
		"sessions.csv": {Data: []byte("session,date,start,end,status,mood,\na,2025-11-03,18:30,22:30,done,good,\n,,,,,,\nb,2025-11-05,18:30,22:30,done,,stray\n")},
		"readings.csv": {Data: []byte("session,time,pulse_per_min\na,19:00,70\nz,19:00,71\na,19:30,\"72\n")},
	}
	log, _, err := session.ReadFS(files, session.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if log.Tally.Rows != 3 {
		t.Errorf("%d rows are in the log, want 3", log.Tally.Rows)
	}
	got := map[session.Why][]string{}
	for _, l := range log.Tally.Left {
		for range l.Rows {
			got[l.Why] = append(got[l.Why], l.At.String())
		}
	}
	want := map[session.Why]string{
		session.RowEmpty: "sessions.csv", session.RowUnplaced: "readings.csv", session.RowBroken: "readings.csv",
		session.CellUnknown: "sessions.csv column F (mood)",
	}
	for why, at := range want {
		if len(got[why]) == 0 || got[why][0] != at {
			t.Errorf("reason %d: %q, want %q", why, got[why], at)
		}
	}
	if len(got[session.CellUnknown]) != 2 {
		t.Errorf("cells not sent: %q, want those of mood and of the column without a heading", got[session.CellUnknown])
	}
}
