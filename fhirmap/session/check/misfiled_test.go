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

// All rows of a session under the name of the one before or after it are told at
// their names, in each sheet, and nothing is asked for twice.
func TestRowsOfASessionUnderAnotherName(t *testing.T) {
	sheets := map[string][]string{
		"readings.csv":  {"session,time,uf_so_far_l\n", "14:30,0.20", "15:30,0.60", "16:30,1.00"},
		"medicines.csv": {"session,time,medicine,kind,dose,dose_unit\n", "14:00,heparin,anticoagulant,2000,IU", "17:15,citrate,other,3,mL"},
		"checks.csv":    {"session,time,what,result\n", "13:30,disinfection,ok", "13:40,access redness,no"},
	}
	for sheet, rows := range sheets {
		for _, tt := range []struct {
			moved, under string
			want         int // the row of the first name, 0 for none
		}{{"s3", "s3", 0}, {"s3", "s2", 2 + 3*(len(rows)-1)}, {"s3", "s4", 2 + 3*(len(rows)-1)}} {
			text := rows[0]
			for i := range 7 {
				for _, row := range rows[1:] {
					name := fmt.Sprint("s", i)
					if name == tt.moved {
						name = tt.under
					}
					text += name + "," + row + "\n"
				}
			}
			files := map[string]string{sessionsFile: mondays(7, "weight_before_kg,weight_after_kg", everyRow("72.0,70.0")), sheet: text}
			want := ""
			if tt.want > 0 {
				want = fmt.Sprintf("clin-outside-session %d.session %s -> perhaps %s", tt.want, tt.under, tt.moved)
			}
			if got := told(t, "clin-outside-session clin-no-readings clin-uf-falls clin-reading-twice clin-medicine-twice", "", files); got != want {
				t.Errorf("%s, %s under %s: %s, want %s", sheet, tt.moved, tt.under, got, want)
			}
		}
	}
}
