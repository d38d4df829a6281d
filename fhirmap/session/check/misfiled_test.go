package check

import (
	"fmt"
	"testing"
	"time"

	"runsheet.example/fhirmap/session"
)

// A reading under the name of another session is told at its name where its
// time, its place among the rows or the fluid removed so far says so.
func TestReadingUnderAnotherName(t *testing.T) {
	rows := func(names, times, litres [6]string) map[string]string {
		readings := "session,time,uf_so_far_l\n"
		for i := range names {
			readings += fmt.Sprintf("%s,%s,%s\n", names[i], times[i], litres[i])
		}
		return map[string]string{
			sessionsFile:   "session,date,start,end,status\na,2025-11-03,14:00,17:00,done\nb,2025-11-05,14:30,17:30,done\n",
			"readings.csv": readings,
		}
	}
	names, times, litres := [6]string{"a", "a", "a", "b", "b", "b"}, [6]string{"14:05", "15:00", "16:00", "14:35", "15:30", "16:30"}, [6]string{"0.05", "0.50", "1.00", "0.05", "0.50", "1.00"}
	for _, c := range []struct {
		names, times [6]string
		want         string
	}{
		{names, times, ""},
		{[6]string{"b", "a", "a", "b", "b", "b"}, times, "clin-outside-session 2.session b -> perhaps a"},
		{[6]string{"a", "b", "a", "b", "b", "b"}, times, "clin-outside-session 3.session b -> perhaps a"},
		{[6]string{"a", "a", "a", "b", "b", "a"}, times, ""}, // added below all rows
	} {
		if got := told(t, "clin-outside-session", "", rows(c.names, c.times, litres)); got != c.want {
			t.Errorf("%v: %s, want %s", c.names, got, c.want)
		}
	}
}

// A time is mended by the slip that comes closest to the likely one.
func TestClockMeant(t *testing.T) {
	at := func(clock string) time.Time {
		parsed, err := time.Parse("15:04", clock)
		if err != nil {
			t.Fatal(err)
		}
		return parsed
	}
	for _, c := range []struct{ written, likely, want string }{
		{"12:42", "22:40", "22:42"}, {"13:11", "18:05", "18:11"}, {"09:30", "09:00", "09:03"}, {"15:40", "16:45", "16:40"}, {"07:50", "19:45", "19:50"},
		{"12:42", "22:22", "22:42"}, {"12:42", "22:21", ""}, {"09:30", "09:13", "09:03"}, {"09:30", "09:14", ""}, {"16:51", "17:10", ""},
	} {
		meant, ok := clockMeant(session.Moment{Time: at(c.written)}, at(c.likely))
		if ok != (c.want != "") || ok && meant.Format("15:04") != c.want {
			t.Errorf("%s near %s: %s, %v; want %s", c.written, c.likely, meant.Format("15:04"), ok, c.want)
		}
	}
}

// Where the log shows when something is usual, its room before the start is
// smaller, and never larger than the limit.
func TestFarthest(t *testing.T) {
	for _, c := range []struct {
		usual      measure
		sign, room float64
		want       time.Duration
	}{
		{measure{2, 3, 6}, -1, 15, time.Hour}, {measure{2, 3, 7}, -1, 15, 15 * time.Minute}, {measure{2, 6, 7}, -1, 15, 18 * time.Minute},
		{measure{-10, 3, 7}, -1, 15, 25 * time.Minute}, {measure{10, 3, 7}, 1, 15, 25 * time.Minute}, {measure{2, 30, 7}, -1, 15, time.Hour},
	} {
		if got := c.usual.farthest(c.sign, c.room, time.Hour); got != c.want {
			t.Errorf("%+v: %v, want %v", c, got, c.want)
		}
	}
}
