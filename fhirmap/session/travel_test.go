package session

import (
	"slices"
	"testing"
	"time"
)

// Times of a session away from home are those of the clocks there, in every
// sheet; its day stays a day that compares with those at home.
func TestSessionInAnotherZone(t *testing.T) {
	log, findings := read(t, map[string]string{
		"sessions.csv":  "session,date,start,end,status,before_at,after_at,entered_at,time_zone\na,2025-11-03,18:30,21:30,done,18:00,22:00,23:00,\nb,2025-11-05,22:30,01:30,done,22:00,02:00,03:00,Asia/Tokyo\nc,2025-11-07,18:30,21:30,done,,,,-\n",
		"readings.csv":  "session,time,pulse_per_min\nb,23:00,70\nb,00:30,71\nc,19:00,72\n",
		"medicines.csv": "session,time,medicine,dose,dose_unit,until\nb,22:35,heparin,2000,IU,01:00\n",
		"labs.csv":      "session,drawn_date,drawn_time,when,test,value,unit\nb,,22:25,before,urea,22,mmol/L\nb,2025-11-06,12:00,other,potassium,4.8,mmol/L\n",
		"events.csv":    "session,time,kind,what\nb,23:30,alarm,air\n",
		"checks.csv":    "session,time,what,result\nb,21:50,alarm test,ok\n",
	})
	if got := said(findings); len(got) != 0 {
		t.Fatalf("found %q", got)
	}
	b := log.Sessions[1]
	times := []Moment{b.Start, b.End, b.BeforeAt, b.AfterAt, b.EnteredAt, b.Readings[0].At, b.Readings[1].At,
		b.Medicines[0].At, b.Medicines[0].Until, b.Labs[0].Drawn, b.Labs[1].Drawn, b.Events[0].At, b.Checks[0].At}
	var got []string
	for _, m := range times {
		got = append(got, m.Time.Format("02T15:04Z07:00"))
	}
	want := []string{"05T22:30+09:00", "06T01:30+09:00", "05T22:00+09:00", "06T02:00+09:00", "06T03:00+09:00", "05T23:00+09:00", "06T00:30+09:00",
		"05T22:35+09:00", "06T01:00+09:00", "05T22:25+09:00", "06T12:00+09:00", "05T23:30+09:00", "05T21:50+09:00"}
	if !slices.Equal(got, want) {
		t.Errorf("times are %q, want %q", got, want)
	}
	if a, c := log.Sessions[0], log.Sessions[2]; a.Start.Time.Format(time.RFC3339) != "2025-11-03T18:30:00Z" || c.Readings[0].At.Time.Format(time.RFC3339) != "2025-11-07T19:00:00Z" {
		t.Errorf("at home %v and %v", a.Start.Time, c.Readings[0].At.Time)
	}
	if day := b.Date.Time; day.Format(time.RFC3339) != "2025-11-05T00:00:00Z" {
		t.Errorf("the day is %v", day)
	}
}

// The hour that comes twice or not at all is that of the zone of the session.
func TestClockChangeAway(t *testing.T) {
	const heads = "session,date,start,end,status,clock_change,time_zone\n"
	for _, tt := range []struct {
		row, want, start string
	}{
		{"a,2025-11-02,01:30,04:30,done,,America/New_York", "log-time-repeated-hour sessions.csv C2 (start)", ""},
		{"a,2025-11-02,01:30,04:30,done,after,America/New_York", "", "2025-11-02T01:30:00-05:00"},
		{"a,2025-10-26,01:30,04:30,done,,America/New_York", "", "2025-10-26T01:30:00-04:00"},
		{"a,2026-03-08,02:30,05:30,done,,America/New_York", "log-time-missing-hour sessions.csv C2 (start)", ""},
	} {
		log, findings := read(t, map[string]string{"sessions.csv": heads + tt.row + "\n"})
		got := ""
		if all := said(findings); len(all) > 0 {
			got = all[0]
		}
		start := ""
		if one := log.Sessions[0]; one.Start.OK() {
			start = one.Start.Time.Format(time.RFC3339)
		}
		if got != tt.want || start != tt.start {
			t.Errorf("%s: found %q and start %q, want %q and %q", tt.row, got, start, tt.want, tt.start)
		}
	}
}
