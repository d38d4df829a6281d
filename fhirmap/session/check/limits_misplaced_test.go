package check

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"runsheet.example/validate/issue"
)

// datesOf is a log of sessions on these dates.
func datesOf(dates ...string) map[string]string {
	rows := "session,date,start,end,status\n"
	for i, date := range dates {
		rows += fmt.Sprintf("s%d,%s,14:%02d,17:10,done\n", i, date, i%60)
	}
	return map[string]string{sessionsFile: rows}
}

// sixOfMarch are dates two days apart.
var sixOfMarch = []string{"2025-03-10", "2025-03-12", "2025-03-14", "2025-03-16", "2025-03-18", "2025-03-20"}

// A date more than 20 days from those of the others is told where another year
// or month would bring it among them or up to ten days beside them, or where it
// is more than three years away; the others are three or more and four fifths.
func TestMisplacedDatesAtTheirLimits(t *testing.T) {
	withThe19th := append(slices.Clone(sixOfMarch), "2025-03-19")
	for _, c := range []struct {
		others []string
		date   string
		name   string
		want   string
	}{
		{sixOfMarch, "2025-04-09", "x", ""}, // 20 days after the last
		{sixOfMarch, "2025-04-10", "x", ""}, // 21 days, and 10 March is taken
		{sixOfMarch, "2025-04-11", "x", "perhaps 2025-03-11, month"},
		{sixOfMarch, "2025-02-18", "x", ""}, // 20 days before the first
		{sixOfMarch, "2025-02-17", "x", "perhaps 2025-03-17, month"},
		{sixOfMarch, "2025-05-30", "x", "perhaps 2025-03-30, month"}, {sixOfMarch, "2025-05-31", "x", ""},
		{sixOfMarch, "2024-03-13", "x", "perhaps 2025-03-13, year"},
		{sixOfMarch, "2026-03-30", "x", "perhaps 2025-03-30, year"}, {sixOfMarch, "2026-03-31", "x", ""},
		{sixOfMarch, "2026-03-12", "x", ""}, // taken
		{sixOfMarch, "2024-02-28", "x", "perhaps 2025-02-28, year"}, {sixOfMarch, "2024-02-27", "x", ""},
		{sixOfMarch, "2025-11-03", "x", "perhaps 2025-03-11, month"}, // day and month exchanged
		{sixOfMarch, "2025-12-13", "x", "perhaps 2025-03-13, month"}, {sixOfMarch, "2025-01-13", "x", "perhaps 2025-03-13, month"},
		{withThe19th, "2028-03-19", "x", ""}, {withThe19th, "2028-03-20", "x", ", "}, // 1095 and 1096 days
		{sixOfMarch[:4], "2026-03-13", "x", "perhaps 2025-03-13, year"}, {sixOfMarch[:3], "2026-03-13", "x", ""},
		{sixOfMarch, "2026-04-13", "2025-03-13", "perhaps 2025-03-13, year"}, {sixOfMarch, "2025-05-12", "2025-03-12", "perhaps 2025-03-12, month"},
		{sixOfMarch, "2025-05-30", "2025-03-30", "perhaps 2025-03-30, month"}, {sixOfMarch, "2025-05-31", "2025-03-31", ""},
		{[]string{"2025-12-20", "2025-12-22", "2025-12-24", "2026-01-02", "2026-01-04"}, "2020-01-03", "x", "perhaps 2026-01-03, year"},
		{[]string{"2025-11-20", "2025-11-22", "2025-11-24", "2025-12-02", "2025-12-04"}, "2025-04-03", "x", "perhaps 2025-12-03, month"},
		{[]string{"2025-01-20", "2025-01-22", "2025-01-24", "2025-01-26", "2025-01-28"}, "2025-04-23", "x", "perhaps 2025-01-23, month"},
	} {
		files := datesOf(append(slices.Clone(c.others), c.date)...)
		files[sessionsFile] = strings.Replace(files[sessionsFile], fmt.Sprintf("s%d,", len(c.others)), c.name+",", 1)
		got := ""
		for _, f := range ruleIn(t, "month-date-far", "", files) {
			_, part, _ := strings.Cut(f.Details.String(), "; the ")
			got += f.Expected.String() + ", " + strings.TrimSuffix(part, " may be wrong")
		}
		if got != c.want {
			t.Errorf("%s, named %s, beside %v: %q, want %q", c.date, c.name, c.others, got, c.want)
		}
	}
}

// A log of sessions without dates has none that is misplaced.
func TestLogWithoutDates(t *testing.T) {
	expectations(t, "no dates", ruleIn(t, "month-date-far", "", datesOf("", "")), 0, "", "")
}

// A date with one slip is told by the order of the rows or the month in the
// sessions' names, and a planned day is not missed beside it.
func TestDatesOfRowsWithOneSlip(t *testing.T) {
	at := []string{"2025-09-01", "2025-09-03", "2025-09-05", "2025-09-08", "2025-09-10", "2025-09-12", "2025-09-15", "2025-09-17", "2025-09-19", "2025-09-22", "2025-09-24"}
	for _, c := range []struct {
		name string // the layout of the names, or a plain one
		row  int
		date string
		want string
	}{
		{"s", 4, "2025-08-08", "month-date-far perhaps 2025-09-08"}, {"s", 4, "2025-10-08", "month-date-far perhaps 2025-09-08"},
		{"s", 4, "2025-07-10", ""}, // its day is taken
		{"s", 5, "2025-10-09", "month-date-far perhaps 2025-09-10"},
		{"s", 1, "2025-10-01", "month-date-far perhaps 2025-09-01"}, {"s", 1, "2025-09-11", ""},
		{"s", 11, "2025-08-24", "month-date-far perhaps 2025-09-24"}, {"s", 11, "2025-09-02", ""},
		{"s", 6, "2024-09-12", "month-date-far perhaps 2025-09-12"}, {"s", 8, "2025-09-06", ""},
		{"jan2", 4, "2025-08-08", "month-date-far perhaps 2025-09-08"}, {"2jan", 2, "2025-03-03", "month-date-far perhaps 2025-09-03"},
		{"Jan-2", 11, "2025-09-25", "month-date-name perhaps 2025-09-24"}, {"2. January", 1, "2025-08-01", "month-date-far perhaps 2025-09-01"},
		{"2. Jan. a", 11, "2025-08-24", "month-date-name perhaps 2025-09-24"},
	} {
		for _, newest := range []bool{false, true} {
			dates := slices.Clone(at)
			dates[c.row-1] = c.date
			if newest {
				slices.Reverse(dates)
			}
			files := datesOf(dates...)
			for i := range dates {
				day, _ := time.Parse(time.DateOnly, at[i])
				if newest {
					day, _ = time.Parse(time.DateOnly, at[len(at)-1-i])
				}
				if c.name != "s" {
					files[sessionsFile] = strings.Replace(files[sessionsFile], fmt.Sprintf("\ns%d,", i), "\n"+day.Format(c.name)+",", 1)
				}
			}
			got := ""
			for _, f := range findingsIn(t, "", files) {
				if strings.HasPrefix(f.Rule, "month-") {
					got += f.Rule + " " + f.Expected.String()
				}
			}
			if c.want != "" && got != c.want || c.want == "" && strings.Contains(got, "month-date") {
				t.Errorf("%s of row %d, newest first %v: %q, want %q", c.date, c.row, newest, got, c.want)
			}
		}
	}
}

// Sessions named by their days are told from dates of another month, however many
// they are.
func TestManyDatesOfAnotherMonth(t *testing.T) {
	days := []string{"2025-03-10", "2025-03-12", "2025-03-14", "2025-03-17", "2025-03-19", "2025-03-21", "2025-03-24"}
	for n := 0; n <= 3; n++ {
		rows, want := "session,date,start,end,status\n", 0
		for i, day := range days {
			date := day
			if i >= len(days)-n {
				date, want = strings.Replace(day, "-03-", "-05-", 1), want+1
			}
			rows += day + "," + date + ",14:00,17:10,done\n"
		}
		got := ""
		for _, f := range findingsIn(t, "[[prescription]]\nvalid_from = 2024-01-01\nsessions_per_week = 3\n", map[string]string{sessionsFile: rows}) {
			if strings.HasPrefix(f.Rule, "month-") {
				got += f.Rule + " " + f.Expected.String() + ";"
			}
		}
		for _, day := range days[len(days)-n:] {
			got = strings.Replace(got, "month-date-far perhaps "+day+";", "", 1)
			want--
		}
		if got != "" || want != 0 {
			t.Errorf("%d of another month: besides %q", n, got)
		}
	}
}

// A session that a week lacks on the day beside another one's is the second of
// that day.
func TestDateThatIsADayOff(t *testing.T) {
	for _, c := range []struct{ plan, dates, want string }{
		{"sessions_per_week = 3", "2025-03-03 2025-03-09 2025-03-09 2025-03-12 2025-03-14 2025-03-17 2025-03-19 2025-03-21", "month-date-far 4 perhaps 2025-03-10;"},
		{`weekdays = ["mon", "wed", "fri"]`, "2025-03-03 2025-03-09 2025-03-09 2025-03-12 2025-03-14 2025-03-17 2025-03-19 2025-03-21", "month-date-far 4 perhaps 2025-03-10;"},
		{`weekdays = ["tue", "wed", "fri"]`, "2025-03-04 2025-03-09 2025-03-09 2025-03-12 2025-03-14 2025-03-18 2025-03-19 2025-03-21", "month-session-absent 4 a row for 2025-03-11;"},
		{`weekdays = ["mon", "wed", "fri"]`, "2025-03-03 2025-03-05 2025-03-07 2025-03-10 2025-03-12 2025-03-12 2025-03-17 2025-03-19 2025-03-21", ""}, // twice
		{"sessions_per_week = 3", "2025-03-03 2025-03-05 2025-03-07 2025-03-10 2025-03-12 2025-03-17 2025-03-19 2025-03-21", "month-session-absent 6 3 sessions, or a row that says not done;"},
		{"sessions_per_week = 3", "2025-03-03 2025-03-05 2025-03-07 2025-03-10 2025-03-12 2025-03-12 2025-03-14 2025-03-17 2025-03-19 2025-03-21", ""},
	} {
		rows := "session,date,start,end,status\n"
		before := ""
		for i, day := range strings.Fields(c.dates) {
			hour := 7
			if day == before {
				hour = 17
			}
			rows += fmt.Sprintf("s%d,%s,%02d:00,%02d:30,done\n", i, day, hour, hour+3)
			before = day
		}
		got := ""
		for _, f := range findingsIn(t, "[[prescription]]\nvalid_from = 2024-01-01\n"+c.plan+"\n", map[string]string{sessionsFile: rows}) {
			if strings.HasPrefix(f.Rule, "month-") && f.Severity != issue.Information {
				got += fmt.Sprintf("%s %d %s;", f.Rule, f.Cells[0].Row, f.Expected)
			}
		}
		if got != c.want {
			t.Errorf("%s, %s: %q, want %q", c.plan, c.dates, got, c.want)
		}
	}
}

// A date far off and out of order is one session on its likely day: no week lacks it.
func TestWeeksCountTheLikelyDay(t *testing.T) {
	for _, date := range []string{"2026-03-11", "2026-10-03", "2025-11-03"} {
		dates := []string{}
		for day := time.Date(2026, 10, 26, 0, 0, 0, 0, time.UTC); len(dates) < 12; day = day.AddDate(0, 0, 1) {
			if day.Weekday() != time.Saturday && day.Weekday() != time.Sunday {
				dates = append(dates, day.Format(time.DateOnly))
			}
		}
		dates[6] = date
		got := told(t, "month-session-absent month-date-far month-overlap", "[[prescription]]\nvalid_from = 2026-01-01\nsessions_per_week = 5\n", datesOf(dates...))
		if want := "month-date-far 8.date " + date + " -> perhaps 2026-11-03"; got != want {
			t.Errorf("%s: %s", date, got)
		}
	}
}

// The first or the last row is out of order among the others where it is on the day of
// another one, or the first on no planned day; one added late below is on its own day.
func TestFirstAndLastDateWithOneSlip(t *testing.T) {
	at := []string{"2026-09-02", "2026-09-03", "2026-09-05", "2026-09-07", "2026-09-09", "2026-09-10", "2026-09-12", "2026-09-14", "2026-09-16", "2026-09-17",
		"2026-09-19", "2026-09-21", "2026-09-23", "2026-09-24", "2026-09-26", "2026-09-28", "2026-09-30"}
	const plan = "[[prescription]]\nvalid_from = 2026-01-01\nweekdays = [\"mon\", \"wed\", \"thu\", \"sat\"]\n"
	for _, c := range []struct {
		row        int
		date, want string
	}{
		{1, "2026-09-20", "2026-09-02"}, {1, "2026-09-12", "2026-09-02"}, {17, "2026-09-03", "2026-09-30"}, {17, "2026-09-10", "2026-09-30"},
		{17, "2026-09-20", "2026-09-30"},
		{1, "2026-09-24", ""}, {1, "2026-09-02", ""},
	} {
		for _, newest := range []bool{false, true} {
			dates := slices.Clone(at)
			dates[c.row-1] = c.date
			row, want := c.row, ""
			if newest {
				slices.Reverse(dates)
				row = len(at) + 1 - row
			}
			if c.want != "" && (row == 1 || c.date != "2026-09-20") { // a day without another session
				want = fmt.Sprintf("month-date-far %d.date %s -> perhaps %s", row+1, c.date, c.want)
			}
			if got := told(t, "month-date-far", plan, datesOf(dates...)); got != want {
				t.Errorf("%s in row %d, newest first %v: %q, want %q", c.date, c.row, newest, got, want)
			}
		}
	}
}
