package session

import (
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func TestResolveLocal(t *testing.T) {
	tests := []struct {
		zone, wall string
		want       []string
	}{
		{"Europe/London", "2025-11-03 18:30", []string{"2025-11-03T18:30:00Z"}},
		{"Europe/London", "2026-03-29 01:30", nil},
		{"Europe/London", "2026-03-29 01:00", nil},
		{"Europe/London", "2026-03-29 00:59", []string{"2026-03-29T00:59:00Z"}},
		{"Europe/London", "2026-03-29 02:00", []string{"2026-03-29T02:00:00+01:00"}},
		{"Europe/London", "2025-10-26 01:30", []string{"2025-10-26T01:30:00+01:00", "2025-10-26T01:30:00Z"}},
		{"Europe/London", "2025-10-26 02:00", []string{"2025-10-26T02:00:00Z"}},
		{"America/New_York", "2025-11-02 01:15", []string{"2025-11-02T01:15:00-04:00", "2025-11-02T01:15:00-05:00"}},
		// Lord Howe Island shifts by half an hour, from +11 to +10:30.
		{"Australia/Lord_Howe", "2026-04-05 01:45", []string{"2026-04-05T01:45:00+11:00", "2026-04-05T01:45:00+10:30"}},
		{"Australia/Lord_Howe", "2026-04-05 01:15", []string{"2026-04-05T01:15:00+11:00"}},
		{"Australia/Lord_Howe", "2025-10-05 02:15", nil},
		{"Australia/Lord_Howe", "2025-10-05 02:30", []string{"2025-10-05T02:30:00+11:00"}},
		{"Asia/Kolkata", "2025-10-26 01:30", []string{"2025-10-26T01:30:00+05:30"}},
		{"UTC", "2025-10-26 01:30", []string{"2025-10-26T01:30:00Z"}},
		// Samoa left out a whole day when it crossed the date line.
		{"Pacific/Apia", "2011-12-30 12:00", nil},
		// In leap years beyond the table of the zone file the library's own
		// bounds do not advance on the last day.
		{"Europe/London", "2060-12-31 23:30", []string{"2060-12-31T23:30:00Z"}},
		{"Europe/London", "2060-06-30 23:30", []string{"2060-06-30T23:30:00+01:00"}},
	}
	for _, tt := range tests {
		loc, err := loadZone(tt.zone)
		if err != nil {
			t.Fatal(err)
		}
		wall, err := time.Parse("2006-01-02 15:04", tt.wall)
		if err != nil {
			t.Fatal(err)
		}
		var got []string
		for _, at := range resolveLocal(wall, loc) {
			got = append(got, at.Format(time.RFC3339))
		}
		if !slices.Equal(got, tt.want) {
			t.Errorf("%s %s = %q, want %q", tt.zone, tt.wall, got, tt.want)
		}
	}
}

// TestResolveLocalIsTheInverse: every instant is among those its own wall time
// resolves to, and every one of those shows that wall time.
func TestResolveLocalIsTheInverse(t *testing.T) {
	zones := []string{"Europe/London", "America/New_York", "Australia/Lord_Howe", "Asia/Kolkata", "Africa/Casablanca", "Pacific/Apia", "America/Sao_Paulo", "Asia/Tehran"}
	rapid.Check(t, func(t *rapid.T) {
		loc, err := loadZone(rapid.SampledFrom(zones).Draw(t, "zone"))
		if err != nil {
			t.Fatal(err)
		}
		// From 1985 to 2065.
		instant := time.Unix(rapid.Int64Range(473385600, 3000000000).Draw(t, "second"), 0).In(loc)
		found := resolveLocal(wallOf(instant), loc)
		if !slices.ContainsFunc(found, instant.Equal) || len(found) > 2 {
			t.Fatalf("%s resolves to %v", instant, found)
		}
		for _, at := range found {
			if !wallOf(at).Equal(wallOf(instant)) {
				t.Fatalf("%s resolves to %s", instant, at)
			}
		}
	})
}

func TestZonesRefused(t *testing.T) {
	for _, name := range []string{"", "Local", "London", "../etc/passwd", "/etc/localtime", "GMT+25"} {
		if _, err := loadZone(name); err == nil {
			t.Errorf("zone %q was taken", name)
		}
	}
}

// nightRows are readings in the night of 25 to 26 October 2025, when the hour
// from 01:00 came twice in London.
func nightRows(rows string) map[string]string {
	return map[string]string{
		"sessions.csv": "session,date,start,end,status\nn,2025-10-25,22:40,04:55,done\n",
		"readings.csv": "session,time,clock_change,venous_pressure_mmhg\n" + rows,
	}
}

func TestRepeatedHourInReadings(t *testing.T) {
	const after, before = "Z", "+01:00"
	tests := []struct {
		name, rows string
		want       []string // offsets, "" for unreadable
		said       []string
	}{
		{"marked", "n,00:40,,140\nn,01:40,after,141\nn,02:40,,142\n", []string{before, after, after}, nil},
		{"order tells", "n,00:40,,140\nn,01:10,,140\nn,01:40,,140\nn,01:10,,140\nn,01:40,,140\nn,02:10,,141\n",
			[]string{before, before, before, after, after, after},
			[]string{"log-time-order readings.csv B3 (time)", "log-time-order readings.csv B4 (time)", "log-time-order readings.csv B5 (time)", "log-time-order readings.csv B6 (time)"}},
		{"after a marked one", "n,01:20,after,140\nn,01:40,,140\n", []string{after, after}, []string{"log-time-order readings.csv B3 (time)"}},
		{"before a marked one", "n,01:40,,140\nn,01:50,before,140\n", []string{before, before}, []string{"log-time-order readings.csv B2 (time)"}},
		{"nothing tells", "n,00:40,,140\nn,01:40,,140\nn,02:40,,140\n", []string{before, "", after}, []string{"log-time-repeated-hour readings.csv B3 (time)"}},
		{"full date does not tell either", "n,2025-10-26 01:40,,140\n", []string{""}, []string{"log-time-repeated-hour readings.csv B2 (time)"}},
	}
	for _, tt := range tests {
		log, findings := read(t, nightRows(tt.rows))
		if got := said(findings); !slices.Equal(got, tt.said) {
			t.Errorf("%s: found %q, want %q", tt.name, got, tt.said)
		}
		for i, r := range log.Sessions[0].Readings {
			got := ""
			if r.At.OK() {
				got = r.At.Time.Format("Z07:00")
			}
			if got != tt.want[i] {
				t.Errorf("%s: reading %d at offset %q, want %q", tt.name, i+1, got, tt.want[i])
			}
		}
	}
}

// TestSessionEndsSettleTheHour: a session that ends in the first of the two
// hours leaves no doubt about a reading near its end.
func TestSessionEndsSettleTheHour(t *testing.T) {
	log, findings := read(t, map[string]string{
		"sessions.csv": "session,date,start,end,clock_change,status\nn,2025-10-25,22:40,01:50,before,done\n",
		"readings.csv": "session,time,clock_change,venous_pressure_mmhg\nn,01:40,,140\n",
	})
	if got := said(findings); !slices.Equal(got, []string{"log-time-order readings.csv B2 (time)"}) {
		t.Errorf("found %q", got)
	}
	if got := log.Sessions[0].Readings[0].At.Time.Format(time.RFC3339); got != "2025-10-26T01:40:00+01:00" {
		t.Errorf("reading at %s", got)
	}
}

func TestSessionSpans(t *testing.T) {
	tests := []struct {
		name, date, start, end, marker string
		hours                          float64 // 0 for a finding
	}{
		{"evening", "2025-11-03", "18:30", "21:30", "", 3},
		{"past midnight", "2025-11-03", "22:00", "05:30", "", 7.5},
		{"over the autumn change", "2025-10-25", "22:40", "04:55", "", 7.25},
		{"over the spring change", "2026-03-28", "22:40", "04:55", "", 5.25},
		{"within the repeated hour", "2025-10-26", "01:50", "01:10", "before", 20.0 / 60},
		{"sixteen hours", "2025-11-03", "18:00", "10:00", "", 16},
		{"more than sixteen hours", "2025-11-03", "18:00", "10:01", "", 0},
		{"same time", "2025-11-03", "18:00", "18:00", "", 0},
		{"end with its date", "2025-11-03", "22:00", "2025-11-04 05:30", "", 7.5},
		{"end with a wrong date", "2025-11-03", "22:00", "2025-11-03 05:30", "", 0},
		{"afternoon in twelve hours", "2025-11-03", "6:30 pm", "9:30PM", "", 3},
	}
	for _, tt := range tests {
		log, findings := read(t, map[string]string{"sessions.csv": "session,date,start,end,clock_change,status\n" +
			strings.Join([]string{"a", tt.date, tt.start, tt.end, tt.marker, "done"}, ",") + "\n"})
		one := log.Sessions[0]
		if tt.hours == 0 {
			if one.End.OK() || !one.Broken || len(said(findings)) != 1 {
				t.Errorf("%s: end %+v, found %q", tt.name, one.End, said(findings))
			}
			continue
		}
		if got := one.End.Time.Sub(one.Start.Time).Hours(); got != tt.hours || len(said(findings)) > 0 {
			t.Errorf("%s: %g hours, want %g; found %q", tt.name, got, tt.hours, said(findings))
		}
	}
}

// TestTimesTakeTheNearestDay places rows around a night session.
func TestTimesTakeTheNearestDay(t *testing.T) {
	log, findings := read(t, map[string]string{
		"sessions.csv":  "session,date,start,end,status,before_at,after_at,entered_at\nn,2025-11-03,23:30,06:00,done,23:10,06:20,08:00\n",
		"medicines.csv": "session,time,medicine,dose,dose_unit,rate,rate_unit,until\nn,23:25,heparin,1000,iu,500,IU/h,05:00\n",
		"labs.csv": "session,drawn_date,drawn_time,when,test,value,unit\nn,,23:15,before,urea,22,mmol/L\nn,,05:55,after,BUN,<20,mg/dL\n" +
			"n,2025-11-05,10:00,other,Haemoglobin,108,g/L\nn,,14:00,other,potassium,4.4,mmol/L\n",
		"events.csv": "session,time,kind,what,action\nn,00:10,alarm,venous high,turned\n",
	})
	if len(said(findings)) > 0 {
		t.Fatalf("found %q", said(findings))
	}
	one := log.Sessions[0]
	m := one.Medicines[0]
	for name, pair := range map[string][2]string{
		"before":  {one.BeforeAt.Time.Format(time.DateTime), "2025-11-03 23:10:00"},
		"after":   {one.AfterAt.Time.Format(time.DateTime), "2025-11-04 06:20:00"},
		"entered": {one.EnteredAt.Time.Format(time.DateTime), "2025-11-04 08:00:00"},
		"given":   {m.At.Time.Format(time.DateTime), "2025-11-03 23:25:00"},
		"until":   {m.Until.Time.Format(time.DateTime), "2025-11-04 05:00:00"},
		"drawn 1": {one.Labs[0].Drawn.Time.Format(time.DateTime), "2025-11-03 23:15:00"},
		"drawn 2": {one.Labs[1].Drawn.Time.Format(time.DateTime), "2025-11-04 05:55:00"},
		"drawn 3": {one.Labs[2].Drawn.Time.Format(time.DateTime), "2025-11-05 10:00:00"},
		"drawn 4": {one.Labs[3].Drawn.Time.Format(time.DateTime), "2025-11-03 14:00:00"},
		"event":   {one.Events[0].At.Time.Format(time.DateTime), "2025-11-04 00:10:00"},
		"dose":    {m.Dose.Decimal.String() + m.Dose.Unit + m.Rate.Unit, "1000[iU][iU]/h"},
		"sign":    {one.Labs[1].Value.Comparator + one.Labs[1].Value.Decimal.String() + one.Labs[1].Test.Text, "<20bun"},
	} {
		if pair[0] != pair[1] {
			t.Errorf("%s = %s, want %s", name, pair[0], pair[1])
		}
	}
}

func TestDates(t *testing.T) {
	tests := []struct{ text, style, day, rule string }{
		{"2025-11-03", "", "2025-11-03", ""},
		{"2025-11-3", "dmy", "2025-11-03", ""},
		{"2025-11-03 00:00:00", "", "2025-11-03", ""},
		{"3/11/2025", "dmy", "2025-11-03", ""},
		{"3.11.2025", "dmy", "2025-11-03", ""},
		{"11/3/2025", "mdy", "2025-11-03", ""},
		{"3/11/2025", "", "", "log-date-ambiguous"},
		{"3/11/2025", "iso", "", "log-date-ambiguous"},
		{"25/10/2025", "", "2025-10-25", ""},
		{"5/5/2025", "", "2025-05-05", ""},
		{"25/10/2025", "iso", "2025-10-25", "log-date-style"},
		{"10/25/2025", "dmy", "", "log-date"},
		{"31/2/2025", "dmy", "", "log-date"},
		{"3/11/25", "dmy", "", "log-date"},
		{"3/11", "dmy", "", "log-date"},
		{"0000-00-00", "", "", "log-date"},
		{"2024-02-29", "", "2024-02-29", ""},
		{"2025-02-29", "", "", "log-date"},
	}
	for _, tt := range tests {
		got := readDate(tt.text, tt.style)
		day := ""
		if got.usable() {
			day = got.day.Format(time.DateOnly)
		}
		if day != tt.day || got.rule != tt.rule {
			t.Errorf("%q in style %q: %s %s, want %s %s", tt.text, tt.style, day, got.rule, tt.day, tt.rule)
		}
	}
}
