package check

import (
	"fmt"
	"strings"
	"testing"
	"time"
)

// Sessions that share time, and those of one day or start that are one session
// entered twice: three measurements that are all the same.
func TestOverlapsAtTheirLimits(t *testing.T) {
	const heads = "session,date,start,end,status,weight_before_kg,weight_after_kg,pulse_before_per_min\n"
	const rules = "month-overlap month-session-twice"
	const both = "month-overlap 2.start 14:00 -> times that do not overlap those of b\nmonth-overlap 3.start "
	const first = " -> times that do not overlap those of a"
	const twice = "month-session-twice 3.session  -> one row for each session; the other is a"
	for _, c := range []struct{ a, b, want string }{
		{"2025-11-03,14:00,17:00,done,72,70,60", "2025-11-03,17:00,20:00,done,71,70,61", ""},
		{"2025-11-03,14:00,17:00,done,72,70,60", "2025-11-03,16:59,20:00,done,71,70,61", both + "16:59" + first},
		{"2025-11-03,14:00,17:00,done,72,70,60", "2025-11-03,17:00,20:00,done,72,70,60", twice},
		{"2025-11-03,14:00,17:00,done,72,70,", "2025-11-03,17:00,20:00,done,72,70,", ""},
		{"2025-11-03,14:00,17:00,done,72,70,60", "2025-11-03,17:00,20:00,done,72,70,61", ""},
		{"2025-11-03,14:00,17:00,done,72,70,60", "2025-11-04,17:00,20:00,done,72,70,60", ""},
		{"2025-11-03,14:00,17:00,done,72,,", "2025-11-03,14:00,17:05,done,72,,", twice},
		{"2025-11-03,14:00,17:00,done,,,", "2025-11-03,14:00,17:05,done,,,", twice},
		{"2025-11-03,14:00,17:00,done,72,,", "2025-11-03,14:00,17:05,done,71,,", both + "14:00" + first},
		{"2025-11-03,14:00,,done,72,,", "2025-11-03,16:59,20:00,done,71,,", ""},
		{"2025-11-03,14:00,17:00,not done,,,", "2025-11-03,14:00,17:05,done,72,,", twice},
		{"2025-11-03,14:00,17:00,not done,,,", "2025-11-03,14:01,17:05,done,72,,", ""},
		{"2025-11-03,14:00,17:00,done,72,,", "2025-11-03,14:00,,not done,,,", twice},
	} {
		rows := heads + "a," + c.a + "\nb," + c.b + "\n"
		if got := told(t, rules, "", map[string]string{sessionsFile: rows}); got != c.want {
			t.Errorf("%s beside %s:\n%s\nwant\n%s", c.b, c.a, got, c.want)
		}
	}
}

// The row that stands later in the file is the one entered twice.
func TestSessionTwiceIsToldAtTheLaterRow(t *testing.T) {
	files := map[string]string{sessionsFile: "session,date,start,end,status,weight_before_kg,weight_after_kg,pulse_before_per_min\n" +
		"a,2025-11-03,17:00,20:00,done,72,70,60\nb,2025-11-03,14:00,17:00,done,72,70,60\n"}
	found := ruleIn(t, "month-session-twice", "", files)
	expectations(t, "b after a", found, 1, "", "one row for each session; the other is a")
	if len(found) == 1 && (found[0].Cells[0].Row != 3 || found[0].Cells[1].Row != 2) {
		t.Errorf("%v", found[0].Cells)
	}
}

// More than five days without a row in a log without a prescription.
func TestGapsAtTheirLimits(t *testing.T) {
	for _, c := range []struct {
		dates []string
		want  string
	}{
		{[]string{"2025-11-03", "2025-11-08"}, ""}, {[]string{"2025-11-03", "2025-11-09"}, "month-gap 3.date 6 days -> "},
		{[]string{"2025-11-03", "2025-11-09", ""}, ""},
		{[]string{"2025-11-03", "2025-11-09", "2025-11-16"}, "month-gap 3.date 6 days -> \nmonth-gap 4.date 7 days -> "},
	} {
		if got := told(t, "month-gap", "", datesOf(c.dates...)); got != c.want {
			t.Errorf("%v: %s", c.dates, got)
		}
	}
}

// A session dated weeks late is told by its name alone: its own week lacks no
// session, and the log does not last until that date.
func TestMisdatedSessionIsNotAbsent(t *testing.T) {
	const thrice = "[[prescription]]\nvalid_from = 2025-01-01\nsessions_per_week = 3\n"
	rows := "session,date,start,end,status\n"
	for i := range 9 {
		day := time.Date(2025, 11, 3+7*(i/3)+2*(i%3), 0, 0, 0, 0, time.UTC).Format(time.DateOnly)
		date := day
		if i == 4 {
			date = "2025-12-05"
		}
		rows += day + "a," + date + ",14:00,17:10,done\n"
	}
	const want = "month-date-name 6.date 2025-12-05 -> perhaps 2025-11-12"
	if got := told(t, "month-session-absent month-date-name month-gap", thrice, map[string]string{sessionsFile: rows}); got != want {
		t.Errorf("%s, want %s", got, want)
	}
}

// Weeks with fewer rows than planned: a session moved into the next week, or
// one whose date is unreadable, is not absent.
func TestAbsentSessionsAtTheirLimits(t *testing.T) {
	const thrice = "[[prescription]]\nvalid_from = 2025-01-01\nsessions_per_week = 3\n"
	const weekdays = "[[prescription]]\nvalid_from = 2025-01-01\nweekdays = [\"Monday\", \"Wednesday\", \"Friday\"]\n"
	const second = "2025-11-03 2025-11-05 2025-11-07 "
	const last = " 2025-11-17 2025-11-19 2025-11-21"
	absent := func(row, n int, monday, expected string) string {
		return fmt.Sprintf("month-session-absent %d.session %d sessions in the seven days from %s -> %s", row, n, monday, expected)
	}
	for _, c := range []struct{ plan, dates, want string }{
		{thrice, second + "2025-11-10 2025-11-12 2025-11-14" + last, ""},
		{thrice, second + "2025-11-10 2025-11-14" + last, absent(5, 2, "2025-11-10", "3 sessions, or a row that says not done")},
		{weekdays, second + "2025-11-10 2025-11-14" + last, absent(5, 2, "2025-11-10", "a row for 2025-11-12")},
		{thrice, second + "2025-11-12 2025-11-14" + last, absent(4, 2, "2025-11-10", "3 sessions, or a row that says not done")},
		{thrice, second + "2025-11-10 2025-11-12" + last, absent(6, 2, "2025-11-10", "3 sessions, or a row that says not done")},
		{thrice, second + "2025-11-10 2025-11-12 2025-11-17 2025-11-18 2025-11-19 2025-11-21", ""},
		{thrice, "2025-11-03 2025-11-05 2025-11-07 2025-11-09 2025-11-12 2025-11-14" + last, ""},
		{thrice, second + "2025-11-10 2025-11-14" + last + " -", ""},
		{thrice, second + "2025-11-10" + last + " -", absent(5, 1, "2025-11-10", "3 sessions, or a row that says not done")},
		{thrice, second + "2025-11-10" + last + " - -", ""},
	} {
		dates := strings.Fields(c.dates)
		for i, date := range dates {
			if date == "-" {
				dates[i] = ""
			}
		}
		if got := told(t, "month-session-absent", c.plan, datesOf(dates...)); got != c.want {
			t.Errorf("%s:\n%s\nwant\n%s", c.dates, got, c.want)
		}
	}
}

// A planned day without sessions, beside another one with three.
func TestEmptyWeekdaysAtTheirLimits(t *testing.T) {
	const plan = "[[prescription]]\nvalid_from = 2025-01-01\nweekdays = [\"Monday\", \"Wednesday\"]\n"
	const tuesdays = "2025-11-04 2025-11-11 2025-11-18"
	for _, c := range []struct{ dates, want string }{
		{"2025-11-03 2025-11-10 2025-11-17 " + tuesdays, "Wednesday, perhaps Tuesday among the weekdays"},
		{tuesdays, "Monday, Wednesday, perhaps Tuesday among the weekdays"},
		{"2025-11-04 2025-11-11 2025-11-03 2025-11-10 2025-11-17", ""},
		{"2025-11-05 2025-11-03 " + tuesdays, ""},
		{"2025-11-05 2025-11-12 2025-11-19 " + tuesdays, "Monday, perhaps Tuesday among the weekdays"},
		{"2025-11-04 2025-11-11 2025-11-11 2025-11-03", ""},
	} {
		got := ""
		for _, f := range ruleIn(t, "month-weekday-never", plan, datesOf(strings.Fields(c.dates)...)) {
			got += f.Value + ", " + f.Expected.String()
		}
		if got != c.want {
			t.Errorf("%s: %s", c.dates, got)
		}
	}
}

// A number of sessions a week that four weeks or more do not meet, all to one
// side, is told once at the prescription.
func TestNumberOfSessionsAtItsLimits(t *testing.T) {
	for _, c := range []struct {
		weeks    []int // sessions in each week
		perWeek  string
		n        int
		expected string
	}{
		{[]int{2, 2, 2, 2}, "5", 1, "perhaps 2, or rows that say not done"}, {[]int{2, 1, 2, 2}, "3", 1, "perhaps 2, or rows that say not done"},
		{[]int{2, 3, 2, 2}, "3", 3, "3 sessions, or a row that says not done"}, {[]int{2, 2, 2}, "3", 3, "3 sessions, or a row that says not done"},
		{[]int{4, 4, 4, 4}, "3", 1, "perhaps 4"}, {[]int{4, 4, 4, 4}, "3.5", 0, ""}, {[]int{4, 3, 4, 4}, "3", 0, ""}, {[]int{4, 4, 4}, "3", 0, ""},
	} {
		rows := weighedHeadings
		for w, n := range c.weeks {
			for d := range n {
				day := time.Date(2025, 11, 3+7*w+6*d/(n-1+1/n), 0, 0, 0, 0, time.UTC).Format(time.DateOnly)
				rows += fmt.Sprintf("s%d%d,%s,18:0%d,21:00,done,,72.%d,70.%d\n", w, d, day, d, (w+d)%7, (w+3*d)%10)
			}
		}
		found := ruleIn(t, "month-session-absent", "[[prescription]]\nvalid_from = 2025-01-01\nsessions_per_week = "+c.perWeek+"\n", map[string]string{sessionsFile: rows})
		expectations(t, fmt.Sprintf("%+v", c), found, c.n, "", c.expected)
	}
}

// A date on which another session was, that does not fit the rows beside it.
func TestDateOfAnotherSession(t *testing.T) {
	files := datesOf("2025-03-10", "2025-03-12", "2025-03-14", "2025-03-17", "2025-03-19", "2025-03-21", "2025-03-24")
	const found = "month-overlap "
	changes(t, "month-overlap", "", files, []change{
		{"4.date=2025-03-19", found + "4.date 2025-03-19 -> a day from 2025-03-12 to 2025-03-17"},
		{"6.date=2025-03-12", found + "6.date 2025-03-12 -> a day from 2025-03-17 to 2025-03-21"},
		{"4.date=2025-03-17", found + "4.date 2025-03-17 -> a day from 2025-03-12 to 2025-03-17"},
		{"6.date=2025-03-21", found + "6.date 2025-03-21 -> a day from 2025-03-17 to 2025-03-21"},
	})
}
