package check

import (
	"fmt"
	"regexp"
	"strings"
	"testing"
)

// Two like cells of a row, or two times, that are told as exchanged because the
// row agrees with itself only the other way round.
func TestCellsExchangedInARow(t *testing.T) {
	const rules = "clin-exchanged clin-uf-weights clin-uf-rate clin-clock clin-outside-session clin-uf-falls"
	const headings = "reason,weight_before_kg,weight_after_kg,dry_weight_kg,uf_goal_l,uf_removed_l,drinks_l,before_at,after_at,bp_after_systolic_mmhg,bp_after_diastolic_mmhg,pulse_after_per_min,treated_min"
	files := map[string]string{
		sessionsFile: mondays(9, headings, func(i int) string {
			return []string{",72.1,70.1,70.0,2.0,2.0,0,13:45,17:20,131,76,71,180", ",72.2,70.2,70.0,2.0,2.0,0,13:44,17:22,138,79,74,180", ",72.0,69.9,70.0,2.0,2.0,0,13:46,17:19,127,74,68,180"}[i%3]
		}),
		readingsFile: readingsOf(9, 3, "uf_rate_l_h", "0.66"),
	}
	short := "5.status=cut short;5.reason=alarm;5.end=15:40;5.after_at=15:50;5.treated_min=92;5.weight_after_kg=71.3;"
	changes(t, rules, "", files, []change{
		{"5.weight_before_kg=70.0;5.dry_weight_kg=72.1", "clin-exchanged 5.weight_before_kg 70.0 -> perhaps 72.1 and 70.0"},
		{"5.dry_weight_kg=72.1", ""},
		{short + "5.uf_goal_l=2.0;5.uf_removed_l=1.0", ""},
		{short + "5.uf_goal_l=1.0;5.uf_removed_l=1.6", "clin-exchanged 5.uf_goal_l 1.0 -> perhaps 1.6 and 1.0"},
		{"5.end=17:20;5.after_at=17:10", "clin-exchanged 5.end 17:20 -> perhaps 17:10 and 17:20"},
		{"5.start=13:46;5.before_at=14:00", "clin-exchanged 5.before_at 14:00 -> perhaps 13:46 and 14:00"},
		{"5.end=17:20;5.after_at=17:10;5.treated_min=194", ""}, // the treatment went on
		// An exchange would not explain how long the session is then.
		{"5.start=13:42", "clin-clock 5.start 13:42 -> about 14:00"}, {"5.end=17:33", "clin-clock 5.end 17:33 -> about 17:10"},
		{"5.bp_after_systolic_mmhg=71;5.pulse_after_per_min=131", "clin-exchanged 5.bp_after_systolic_mmhg 71 -> perhaps 131 and 71"},
		{"5.bp_after_systolic_mmhg=71;5.bp_after_diastolic_mmhg=45;5.pulse_after_per_min=131", ""}, // a low pressure, a fast pulse
		{"5.bp_after_systolic_mmhg=71", ""},
	})
	// Weights and fluid of the row above, beside readings that say otherwise.
	copied := changed(t, files, "4.weight_before_kg=73.1;4.weight_after_kg=70.2;4.uf_removed_l=2.8;5.weight_before_kg=73.1;5.weight_after_kg=70.2;5.uf_removed_l=2.8;"+
		"readings:8.uf_rate_l_h=0.93;readings:9.uf_rate_l_h=0.93;readings:10.uf_rate_l_h=0.93")
	if got := told(t, "clin-uf-rate month-copied", "", copied); !strings.HasPrefix(got, "month-copied 5.uf_removed_l 2.8 -> perhaps about 2 L removed, and other weights") || strings.Contains(got, "clin-uf-rate") {
		t.Errorf("weights and fluid of the row above: %s", got)
	}
}

// Readings of two sessions under each other's name are told once.
func TestReadingsOfTwoSessionsExchanged(t *testing.T) {
	sessions := mondays(4, "uf_removed_l", everyRow("2.0"))
	sessions = strings.Replace(sessions, "s2,2025-01-20,14:00,17:10", "s2,2025-01-20,16:00,19:10", 1)
	readings := readingsOf(4, 4, "pulse_per_min", "70")
	for _, r := range []string{"15:00=18:50", "15:15=17:30", "15:30=18:30", "15:45=18:45"} {
		from, to, _ := strings.Cut(r, "=")
		readings = strings.Replace(readings, "s2,"+from, "s2,"+to, 1)
	}
	files := map[string]string{sessionsFile: sessions, readingsFile: readings}
	files[readingsFile] = strings.Replace(files[readingsFile], "s1,15:00", "s1,14:05", 1)
	files[readingsFile] = strings.NewReplacer("s1,", "s2,", "s2,", "s1,").Replace(files[readingsFile])
	const want = "clin-outside-session 10.session s1 -> perhaps s2 here and s1 there"
	if got := told(t, "clin-outside-session clin-uf-rate clin-clock", "", files); got != want {
		t.Errorf("told %s, want %s", got, want)
	}
	// One of them in another time zone: the times are those of the clocks there.
	files[sessionsFile] = strings.Replace(strings.Replace(files[sessionsFile], "uf_removed_l", "uf_removed_l,time_zone", 1), "s2,2025-01-20,16:00,19:10,done,2.0", "s2,2025-01-20,16:00,19:10,done,2.0,America/New_York", 1)
	if got := told(t, "clin-outside-session clin-uf-rate clin-clock", "", files); got != want {
		t.Errorf("in another time zone: told %s, want %s", got, want)
	}
}

// Results of one sample, and pressures of the circuit, in each other's place.
func TestResultsAndLinePressuresExchanged(t *testing.T) {
	files := map[string]string{
		sessionsFile: mondays(4, "notes", everyRow("")),
		"labs.csv": "session,when,test,value,unit\n" + strings.Repeat("s0,before,zinc,11,umol/L\n", 2) +
			"s1,before,creatinine,690,umol/L\ns1,before,phosphate,1.63,mmol/L\ns1,before,potassium,5.3,mmol/L\ns1,after,phosphate,0.8,mmol/L\n",
		readingsFile: readingsOf(4, 2, "venous_pressure_mmhg,tmp_mmhg,blood_flow_ml_min", "120,60,300"),
	}
	const rules = "clin-exchanged clin-unit clin-unusual clin-impossible clin-decimal-point"
	const lines = "clin-exchanged 5.venous_pressure_mmhg "
	changes(t, rules, "", files, []change{
		{"labs:4.value=1.63;labs:5.value=690", "clin-exchanged 4.value 1.63 -> perhaps 690 and 1.63"},
		{"labs:5.value=5.3;labs:6.value=1.63", "clin-exchanged 5.value 5.3 -> perhaps 1.63 and 5.3"},
		{"labs:6.value=0.8;labs:7.value=5.3", "clin-unusual 6.value 0.8 -> usually 3 to 6.5 mmol/L\nclin-unit 7.value 5.3 -> perhaps 5.3 mg/dL"}, // of two samples
		{"labs:4.value=5.3;labs:6.value=690", "clin-exchanged 4.value 5.3 -> perhaps 690 and 5.3"},
		{"readings:5.venous_pressure_mmhg=60;readings:5.tmp_mmhg=120", lines + "60 -> perhaps 120 and 60"},
		{"readings:5.venous_pressure_mmhg=60", ""}, {"readings:5.tmp_mmhg=120", ""},
		{"readings:5.venous_pressure_mmhg=60;readings:5.tmp_mmhg=121", ""},
		{"readings:5.blood_flow_ml_min=120;readings:5.venous_pressure_mmhg=300", "clin-exchanged 5.blood_flow_ml_min 120 -> perhaps 300 and 120"},
		{"readings:5.venous_pressure_mmhg=61;readings:5.tmp_mmhg=120", ""},
	})
}

// Two results of one sample of which one is unusual, or far from the others of
// its test: by a quarter of the usual range, as a ratio.
func TestResultsExchangedByOwnOnes(t *testing.T) {
	const rules = "clin-exchanged clin-unusual clin-unit"
	files := func(samples int) map[string]string {
		labs := "session,when,test,value,unit\n"
		for i := range samples {
			labs += fmt.Sprintf("s%d,before,phosphate,1.50,mmol/L\ns%d,before,calcium,2.30,mmol/L\n", i, i)
		}
		return map[string]string{sessionsFile: mondays(4, "notes", everyRow("")), "labs.csv": labs}
	}
	const pair = "clin-exchanged 2.value "
	changes(t, rules, "", files(1), []change{
		{"labs:2.value=2.30;labs:3.value=1.69", pair + "2.30 -> perhaps 1.69 and 2.30"}, {"labs:2.value=2.30;labs:3.value=1.70", ""},
		{"labs:2.value=3.01;labs:3.value=1.69", "clin-unusual 3.value 1.69 -> usually 1.7 to 3 mmol/L"},
		{"labs:2.test=albumin;labs:2.unit=g/L;labs:2.value=4;labs:3.test=crp;labs:3.unit=mg/L;labs:3.value=38", pair + "4 -> perhaps 38 and 4, or 4 g/dL"},
		{"labs:2.test=albumin;labs:2.unit=g/L;labs:2.value=4;labs:3.test=crp;labs:3.unit=mg/L;labs:3.value=6", "clin-unit 2.value 4 -> perhaps 4 g/dL"},
		{"labs:2.test=albumin;labs:2.unit=g/L;labs:2.value=60", "clin-unusual 2.value 60 -> usually 20 to 55 g/L"},
	})
	changes(t, rules, "", files(2), []change{
		{"labs:2.value=2.28;labs:3.value=1.75", pair + "2.28 -> perhaps 1.75 and 2.28"},
		{"labs:4.value=2.28;labs:5.value=1.75", "clin-exchanged 4.value 2.28 -> perhaps 1.75 and 2.28"},
		{"labs:2.value=2.20;labs:3.value=2.00", ""},
	})
	changes(t, rules, "", files(3), []change{
		{"labs:2.value=2.30;labs:3.value=1.93", pair + "2.30 -> perhaps 1.93 and 2.30"},
		{"labs:2.value=2.30", ""}, {"labs:3.value=1.75", ""}, {"labs:2.value=1.76;labs:3.value=1.75", ""},
	})
}

// Two columns of the readings under each other's name for a whole session.
func TestColumnsOfReadingsExchanged(t *testing.T) {
	const columns = "bp_systolic_mmhg,bp_diastolic_mmhg,pulse_per_min,venous_pressure_mmhg,tmp_mmhg"
	files := func(sessions, readings int, third string) map[string]string {
		text := readingsOf(sessions, readings, columns, "130,78,70,150,50")
		return map[string]string{sessionsFile: mondays(sessions, "notes", everyRow("")), readingsFile: regexp.MustCompile(`(s2,[0-9:]*),130,78,70,150,50`).ReplaceAllString(text, "$1,"+third)}
	}
	for _, c := range []struct {
		sessions, readings int
		third, want        string
	}{
		{6, 3, "130,78,70,50,150", "clin-exchanged 8.venous_pressure_mmhg  -> "}, {5, 3, "130,78,70,50,150", ""}, {6, 2, "130,78,70,50,150", ""},
		{6, 3, "70,78,130,150,50", "clin-exchanged 8.bp_systolic_mmhg  -> "}, {6, 3, "130,70,78,150,50", ""}, {6, 3, "90,60,110,150,50", ""},
		{6, 3, "130,78,70,90,110", ""},
	} {
		if got := told(t, "clin-exchanged", "", files(c.sessions, c.readings, c.third)); got != c.want {
			t.Errorf("%+v: %q", c, got)
		}
	}
}
