package check

import (
	"fmt"
	"slices"
	"strings"
	"testing"
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
