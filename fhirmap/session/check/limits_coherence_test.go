package check

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// change is a sound log with some cells changed, as "row.heading=value" apart
// by ";", "readings:" before those of another file, and the findings it must
// give, as "rule row.heading value -> expected", each on a line.
type change struct{ cells, want string }

// changed returns the files of a log with cells changed.
func changed(t *testing.T, files map[string]string, cells string) map[string]string {
	t.Helper()
	out := map[string]string{}
	sheets := map[string][][]string{}
	for name, text := range files {
		for line := range strings.Lines(text) {
			sheets[name] = append(sheets[name], strings.Split(strings.TrimSuffix(line, "\n"), ","))
		}
	}
	for cell := range strings.SplitSeq(cells, ";") {
		if cell == "" {
			continue
		}
		file := "sessions"
		if name, rest, other := strings.Cut(cell, ":"); other && !strings.Contains(name, ".") {
			file, cell = name, rest
		}
		place, value, ok := strings.Cut(cell, "=")
		number, heading, _ := strings.Cut(place, ".")
		row, err := strconv.Atoi(number)
		sheet := sheets[file+".csv"]
		if !ok || err != nil || row < 1 || row > len(sheet) || !slices.Contains(sheet[0], heading) {
			t.Fatalf("%q names no cell", cell)
		}
		sheet[row-1][slices.Index(sheet[0], heading)] = value
	}
	for name, sheet := range sheets {
		for _, row := range sheet {
			out[name] += strings.Join(row, ",") + "\n"
		}
	}
	return out
}

// told lists the findings of rules, each on a line.
func told(t *testing.T, rules, about string, files map[string]string) string {
	t.Helper()
	var lines []string
	for _, f := range findingsIn(t, about, files) {
		if slices.Contains(strings.Fields(rules), f.Rule) {
			lines = append(lines, fmt.Sprintf("%s %d.%s %s -> %s", f.Rule, f.Cells[0].Row, f.Cells[0].Heading, f.Value, f.Expected))
		}
	}
	return strings.Join(lines, "\n")
}

// changes checks the findings of rules on a log after each change.
func changes(t *testing.T, rules, about string, files map[string]string, table []change) {
	t.Helper()
	for _, c := range append([]change{{"", ""}}, table...) {
		if got := told(t, rules, about, changed(t, files, c.cells)); got != c.want {
			t.Errorf("%s:\n%s\nwant\n%s", c.cells, got, c.want)
		}
	}
}

// mondays is a log of n sessions on Mondays from 14:00 to 17:10 with more
// columns: row i gives their values.
func mondays(n int, headings string, row func(i int) string) string {
	text := "session,date,start,end,status," + headings + "\n"
	for i := range n {
		text += fmt.Sprintf("s%d,%s,14:00,17:10,done,%s\n", i, monday(i), row(i))
	}
	return text
}

// everyRow is a row that is the same in all sessions.
func everyRow(values string) func(int) string { return func(int) string { return values } }

// readingsOf are n readings of each session from 15:00 on, a quarter of an hour
// apart.
func readingsOf(sessions, n int, headings, values string) string {
	text := "session,time," + headings + "\n"
	for s := range sessions {
		for r := range n {
			text += fmt.Sprintf("s%d,%d:%02d,%s\n", s, 15+r/4, r%4*15, values)
		}
	}
	return text
}

// Treatment time, volumes, fluid and clock at the ends of what the others leave
// room for. 180 minutes of treatment and 10 of pauses; row 5 is changed.
func TestAccountsOfASessionAtTheirLimits(t *testing.T) {
	const rules = "clin-treated-time clin-dialysate-volume clin-blood-volume clin-uf-rate clin-clock"
	const headings = "treated_min,dialysate_l,dialysate_flow_ml_min,blood_processed_l,blood_flow_ml_min,uf_removed_l,weight_before_kg,weight_after_kg,drinks_l"
	files := map[string]string{
		sessionsFile:   mondays(9, headings, everyRow("180,27,150,54,300,2.00,,,0")),
		"readings.csv": readingsOf(9, 2, "uf_rate_l_h", "0.67"),
	}
	changes(t, rules, "", files, []change{
		// The treatment time is exact to 3 minutes; the clock leaves 5.
		{"5.treated_min=192", ""},
		{"5.treated_min=193", "clin-treated-time 5.treated_min 193 -> about 180 minutes"},
		// 177 to 183 minutes at 150 mL/min, within 5 % of the other rows.
		{"5.dialysate_l=28.8", ""},
		{"5.dialysate_l=29.0", "clin-dialysate-volume 5.dialysate_l 29.0 -> about 27 L"},
		{"5.dialysate_l=25.3", ""},
		{"5.dialysate_l=25.1", "clin-dialysate-volume 5.dialysate_l 25.1 -> about 27 L"},
		// The flow is to be mended where it is further from the usual one than
		// the volume, by a tenth or more.
		{"5.dialysate_flow_ml_min=200", "clin-dialysate-volume 5.dialysate_flow_ml_min 200 -> about 150 mL/min"},
		{"5.dialysate_l=24.5;5.dialysate_flow_ml_min=166", "clin-dialysate-volume 5.dialysate_flow_ml_min 166 -> about 136 mL/min"},
		{"5.dialysate_l=24.5;5.dialysate_flow_ml_min=165", "clin-dialysate-volume 5.dialysate_l 24.5 -> about 29.7 L"},
		{"5.dialysate_l=24;5.dialysate_flow_ml_min=167", "clin-dialysate-volume 5.dialysate_l 24 -> about 30.1 L"},
		// The blood within 5 %, by nine rows that agree.
		{"5.blood_processed_l=57.7", ""},
		{"5.blood_processed_l=57.8", "clin-blood-volume 5.blood_processed_l 57.8 -> about 54 L"},
		{"5.blood_processed_l=50.6", ""},
		{"5.blood_processed_l=50.5", "clin-blood-volume 5.blood_processed_l 50.5 -> about 54 L"},
		{"5.blood_flow_ml_min=400", "clin-blood-volume 5.blood_flow_ml_min 400 -> about 300 mL/min"},
		// The fluid within 15 %; where the weights bear it out, the rate is to
		// be mended.
		{"5.uf_removed_l=2.40", ""},
		{"5.uf_removed_l=2.41", "clin-uf-rate 5.uf_removed_l 2.41 -> about 2 L"},
		{"5.uf_removed_l=2.41;5.weight_before_kg=72;5.weight_after_kg=70", "clin-uf-rate 8.uf_rate_l_h  -> "},
		{"5.uf_removed_l=2.41;readings:9.uf_rate_l_h=", ""},
		{"5.uf_removed_l=2.41;readings:8.uf_rate_l_h=;readings:9.uf_rate_l_h=", ""},
		// Start and end: 183 minutes and pauses of 10 and 40.
		{"5.end=17:53", ""},
		{"5.end=17:54", "clin-clock 5.end 17:54 -> perhaps 16:54"},
		{"5.end=18:30", "clin-clock 5.end 18:30 -> perhaps 17:30"},
		{"5.end=18:31", "clin-clock 5.end 18:31 -> about 17:10"},
		{"5.start=13:16", "clin-clock 5.start 13:16 -> perhaps 14:16"},
		{"5.start=13:17", ""},
		{"5.end=16:52", ""},
		{"5.end=16:51", "clin-clock 5.end 16:51 -> about 17:10"},
	})
}

// Where only start and end tell the length, 50 minutes more or less than usual
// are fine, and so is a length that the dialysate bears out.
func TestUnusualLengthsAtTheirLimits(t *testing.T) {
	files := func(n int) map[string]string {
		return map[string]string{sessionsFile: mondays(n, "treated_min,dialysate_l", everyRow(","))}
	}
	changes(t, "clin-clock", "", files(8), []change{
		{"5.end=18:00", ""}, {"5.end=18:01", "clin-clock 5.end 18:01 -> perhaps 17:01"},
		{"5.end=16:20", ""}, {"5.end=16:19", "clin-clock 5.end 16:19 -> perhaps 17:19"},
		{"5.end=18:31", "clin-clock 5.end 18:31 -> about 17:10"},
		{"5.start=13:09", "clin-clock 5.start 13:09 -> perhaps 14:09"},
		{"5.start=02:00", "clin-clock 5.start 02:00 -> perhaps 14:00"},
	})
	changes(t, "clin-clock", "", files(7), []change{{"5.end=18:01", "clin-clock 5.end 18:01 -> perhaps 17:01"}})
	changes(t, "clin-clock", "", files(6), []change{{"5.end=18:01", ""}})
	changes(t, "clin-clock", "", files(6), []change{{"5.end=23:01", ""}})
	const plan = "[[prescription]]\nvalid_from = 2025-01-01\nsessions_per_week = 1\nduration_min = 190\n"
	changes(t, "clin-clock", plan, files(6), []change{
		{"5.end=20:20", ""}, {"5.end=20:21", "clin-clock 5.end 20:21 -> about 17:10"},
		{"5.end=15:35", ""}, {"5.end=15:34", "clin-clock 5.end 15:34 -> about 17:10"},
	})

	used := map[string]string{sessionsFile: mondays(9, "treated_min,dialysate_l", everyRow(",27"))}
	changes(t, "clin-clock", "", used, []change{
		{"5.end=18:01;5.dialysate_l=30.9", ""}, {"5.end=18:01;5.dialysate_l=30.8", "clin-clock 5.end 18:01 -> perhaps 17:01"},
		{"5.end=18:01;5.dialysate_l=37.6", ""}, {"5.end=18:01;5.dialysate_l=37.7", "clin-clock 5.end 18:01 -> perhaps 17:01"},
	})

	// The treatment time bears the clock out where it is closer to it than to
	// the usual length.
	treated := map[string]string{sessionsFile: mondays(9, "treated_min,dialysate_l", everyRow("180,"))}
	changes(t, "clin-clock", "", treated, []change{
		{"5.end=18:04;5.treated_min=208", ""},
		{"5.end=18:04;5.treated_min=207", "clin-clock 5.end 18:04 -> about 17:35"},
	})
}

// Two readings or more, and half of all, on the other side of the start or end
// by more than half an hour.
func TestReadingsOutsideAtTheirLimits(t *testing.T) {
	files := map[string]string{
		sessionsFile:   mondays(1, "reason", everyRow("")),
		"readings.csv": readingsOf(1, 5, "pulse_per_min", "70"),
	}
	const two = "readings:2.time=13:29;readings:3.time=13:20;"
	changes(t, "clin-clock", "", files, []change{
		{two, ""},
		{two + "readings:4.time=13:25", "clin-clock 2.start 14:00 -> perhaps 13:00"},
		{"readings:2.time=13:29;readings:3.time=13:21;readings:4.time=13:25", "clin-clock 2.start 14:00 -> about 13:20"},
		{"readings:2.time=13:30;readings:3.time=13:20;readings:4.time=13:29", ""},
		{"readings:4.time=17:41;readings:5.time=17:50;readings:6.time=17:45", "clin-clock 2.end 17:10 -> perhaps 18:10"},
		{"readings:4.time=17:41;readings:5.time=17:49;readings:6.time=17:45", "clin-clock 2.end 17:10 -> about 17:50"},
		{"readings:4.time=17:40;readings:5.time=17:50;readings:6.time=17:45", ""},
	})
	files["readings.csv"] = readingsOf(1, 4, "pulse_per_min", "70")
	changes(t, "clin-clock", "", files, []change{{two, "clin-clock 2.start 14:00 -> perhaps 13:00"}})
	files["readings.csv"] = readingsOf(1, 1, "pulse_per_min", "70")
	changes(t, "clin-clock", "", files, []change{{"readings:2.time=13:20", ""}})

	// What is usual of pauses is not added twice.
	paused := map[string]string{sessionsFile: mondays(9, "treated_min", everyRow("180")), "readings.csv": readingsOf(1, 3, "pulse_per_min", "70")}
	changes(t, "clin-clock", "", paused, []change{
		{"readings:2.time=13:29;readings:3.time=13:21;readings:4.time=13:25", "clin-clock 2.start 14:00 -> about 13:20"},
	})
}

// Where no treatment time is written, six times the usual deviation of the
// dialysate from its share of the time is left, and a twentieth at least.
func TestShareOfTheDialysateAtItsLimits(t *testing.T) {
	files := func(litres ...string) map[string]string {
		return map[string]string{sessionsFile: mondays(9, "dialysate_l,dialysate_flow_ml_min", func(i int) string { return litres[i%3] + ",150" })}
	}
	const early = "clin-clock 5.end 16:"
	changes(t, "clin-clock", "", files("27", "26.7", "27.3"), []change{{"5.end=16:44", ""}, {"5.end=16:42", early + "42 -> about 17:10"}})
	changes(t, "clin-clock", "", files("27", "27", "27"), []change{{"5.end=16:47", ""}, {"5.end=16:45", early + "45 -> about 17:10"}})
}
