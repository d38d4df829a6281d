package check

import (
	"fmt"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// named20 are twenty sessions on Mondays, Wednesdays and Fridays of 2025 from
// November 3rd, named by their day; date gives what is written for a day.
func named20(name func(time.Time) string, date func(i int, day time.Time) time.Time) string {
	rows := weighedHeadings
	day := time.Date(2025, 11, 3, 0, 0, 0, 0, time.UTC)
	for i := range 20 {
		rows += fmt.Sprintf("%s,%s,18:0%d,21:1%d,done,,72.%d,70.%d\n", name(day), date(i, day).Format(time.DateOnly), i%7, i%9, i*7%10, i*3%10)
		day = day.AddDate(0, 0, []int{2, 2, 3}[i%3])
	}
	return rows
}

const planOf2025 = "[[prescription]]\nvalid_from = 2025-01-01\nweekdays = [\"mon\", \"wed\", \"fri\"]\n"

// TestDatesOfAWholeLog holds that each slip of all dates gives one finding.
func TestDatesOfAWholeLog(t *testing.T) {
	byDay := func(day time.Time) string { return day.Format(time.DateOnly) }
	bySerial := func(day time.Time) string { return fmt.Sprint("s", day.YearDay()) }
	byYear := func(day time.Time) string { return "2025-" + fmt.Sprint(day.YearDay()) }
	as := func(_ int, day time.Time) time.Time { return day }
	years := func(n int) func(int, time.Time) time.Time {
		return func(_ int, day time.Time) time.Time { return day.AddDate(n, 0, 0) }
	}
	days := func(n int) func(int, time.Time) time.Time {
		return func(_ int, day time.Time) time.Time { return day.AddDate(0, 0, n) }
	}
	today := time.Date(2026, 1, 15, 12, 0, 0, 0, time.UTC)
	for _, tt := range []struct {
		name, about, sessions string
		rule, file, expected  string
	}{
		{"honest", planOf2025, named20(byDay, as), "", "", ""},
		{"a year early, names", "", named20(byDay, years(-1)), "month-year", sessionsFile, "perhaps 2025-11-03"},
		{"a year late, names of the year", "", named20(byYear, years(1)), "month-year", sessionsFile, "perhaps 2025-11-03"},
		{"1904 read as 1900, names", "", named20(byDay, days(-1462)), "month-year", sessionsFile, "perhaps 2025-11-03"},
		{"1900 read as 1904, names", "", named20(byDay, days(1462)), "month-year", sessionsFile, "perhaps 2025-11-03"},
		{"a year late, today", "", named20(bySerial, years(1)), "month-year", sessionsFile, "a day up to 2026-01-15"},
		{"a year early, planned days", strings.Replace(planOf2025, "2025-01-01", "2024-01-01", 1), named20(bySerial, years(-1)), "month-year", sessionsFile, "perhaps 2025-11-0"},
		{"1904, planned days", strings.Replace(planOf2025, "2025-01-01", "2020-01-01", 1), named20(bySerial, days(-1462)), "month-year", sessionsFile, "perhaps 2025-11-0"},
		{"one date", "", named20(byDay, func(i int, day time.Time) time.Time {
			if i == 5 {
				return day.AddDate(0, 0, 11)
			}
			return day
		}), "month-date-name", sessionsFile, "perhaps 2025-11-14"},
		{"one date before birth", "birth 1960-05-04", named20(bySerial, func(i int, day time.Time) time.Time {
			if i == 5 {
				return day.AddDate(-70, 0, 0)
			}
			return day
		}), "log-date-absurd", sessionsFile, ""},
		{"birth date of another century", "birth 2062-05-04", named20(byDay, as), "month-birth-date", "log.toml", "perhaps 1962-05-04"},
		{"birth date of this year", "birth 2025-05-04", named20(byDay, as), "month-birth-date", "log.toml", ""},
		{"born 123 years before", "birth 1902-05-04", named20(byDay, as), "month-birth-date", "log.toml", ""},
		{"prescribed after", strings.Replace(planOf2025, "2025-01-01", "2025-12-27", 1), named20(byDay, as), "month-plan-later", "log.toml", "a day up to 2025-11-03"},
		{"access after", "[[access]]\nvalid_from = 2026-11-01\nkind = \"fistula\"\n", named20(byDay, as), "month-plan-later", "log.toml", "a day up to 2025-11-03"},
	} {
		about := aboutNoPlan
		if birth, ok := strings.CutPrefix(tt.about, "birth "); ok {
			about += "birth_date = " + birth + "\n"
		} else {
			about += tt.about
		}
		folder := fstest.MapFS{"log.toml": {Data: []byte(about)}, sessionsFile: {Data: []byte(tt.sessions)}}
		log, findings, err := session.ReadFS(folder, session.Options{Today: today})
		if err != nil {
			t.Fatal(err)
		}
		var found []issue.Finding
		for _, f := range append(findings, Check(log, nil)...) {
			if f.Severity != issue.Information && f.Rule != "month-session-absent" && f.Rule != "clin-weight-gain" && f.Rule != "month-gap" {
				found = append(found, f)
			}
		}
		if tt.rule == "" && len(found) == 0 {
			continue
		}
		if len(found) != 1 || found[0].Rule != tt.rule || found[0].Cells[0].File != tt.file || !strings.Contains(found[0].Expected.String(), tt.expected) {
			t.Errorf("%s: %d findings", tt.name, len(found))
			for _, f := range found[:min(3, len(found))] {
				t.Logf("%s at %v: %q, %s, %s", f.Rule, f.Cells[0], f.Value, f.Details, f.Expected)
			}
		}
	}
}

// TestTodayIsPassedIn: without it, nothing is in the future.
func TestTodayIsPassedIn(t *testing.T) {
	rows := weighedHeadings + "a,2025-11-03,18:00,21:00,done,,72.0,70.5\nb,2025-11-05,18:00,21:00,done,,72.1,70.6\n"
	folder := fstest.MapFS{"log.toml": {Data: []byte(aboutNoPlan)}, sessionsFile: {Data: []byte(rows)}}
	for day, want := range map[int]int{1: 2, 3: 1, 4: 0, 0: 0} {
		opts := session.Options{}
		if day > 0 {
			opts.Today = time.Date(2025, 11, day, 0, 0, 0, 0, time.UTC)
		}
		log, _, err := session.ReadFS(folder, opts)
		if err != nil {
			t.Fatal(err)
		}
		n := 0
		for _, f := range Check(log, nil) {
			if f.Rule == "month-date-future" {
				n++
			}
		}
		if n != want {
			t.Errorf("read on day %d: %d in the future, want %d", day, n, want)
		}
	}
}

// Names of day and month in either order say the date, where most do. A session
// whose wrong date falls on another one is the only one held back.
func TestNamesOfDayAndMonth(t *testing.T) {
	for _, layout := range []string{"1-02", "02.01.", "Mon 2/1", "0102", "T-0201", "02Jan"} {
		byDay := func(day time.Time) string { return day.Format(layout) }
		for days, severity := range map[int]issue.Severity{1: issue.Warning, -1: issue.Warning, 3: issue.Error, 30: issue.Warning} {
			rows := named20(byDay, func(i int, day time.Time) time.Time {
				if i == 5 {
					return day.AddDate(0, 0, days)
				}
				return day
			})
			var got []string
			for _, f := range findingsIn(t, planOf2025, map[string]string{sessionsFile: rows}) {
				if f.Severity >= issue.Warning && strings.HasPrefix(f.Rule, "month-") {
					got = append(got, fmt.Sprint(f.Rule, f.Cells[0].Row, f.Expected, f.Severity == severity))
				}
			}
			if want := "[month-date-name7 perhaps 2025-11-14 true]"; fmt.Sprint(got) != want {
				t.Errorf("%s, %d days: %v", layout, days, got)
			}
		}
	}
	counted := named20(func(day time.Time) string { return fmt.Sprintf("%d-%d", day.YearDay()/7, day.Weekday()) }, func(_ int, day time.Time) time.Time { return day })
	expectations(t, "numbers", ruleIn(t, "month-date-name", "", map[string]string{sessionsFile: counted}), 0, "", "")
}
