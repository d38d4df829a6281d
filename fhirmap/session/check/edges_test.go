package check

import (
	"fmt"
	"strings"
	"testing"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// A session with rows of its own in any other sheet is not one whose rows have
// another name.
func TestSessionWithRowsIsNotMisnamed(t *testing.T) {
	files := map[string]string{
		sessionsFile: mondays(3, "notes", everyRow("")),
		readingsFile: "session,time,pulse_per_min\ns0,15:00,70\ns1,15:00,70\ns9,15:00,70\ns9,15:30,70\n",
	}
	for sheet, want := range map[string]string{
		"": "4.session s2 -> perhaps s9", "checks.csv|session,time,what,result\ns2,13:30,disinfection,ok\n": "4.session s9 -> ",
		"medicines.csv|session,time,medicine,kind,dose,dose_unit\ns2,14:10,heparin,anticoagulant,2000,IU\n": "4.session s9 -> ",
		"labs.csv|session,when,test,value,unit\ns2,before,urea,20,mmol/L\n":                                 "4.session s9 -> ", "events.csv|session,time,kind,what\ns2,15:00,symptom,cramp\n": "4.session s9 -> ",
	} {
		name, text, _ := strings.Cut(sheet, "|")
		more := map[string]string{sessionsFile: files[sessionsFile], readingsFile: files[readingsFile]}
		if name != "" {
			more[name] = text
		}
		if got := told(t, "log-session-unknown", "", more); got != "log-session-unknown "+want {
			t.Errorf("with %q: %s, want %s", name, got, want)
		}
	}
}

// A row that is none of its sheet is told once, and not as too long as well; a
// row too long elsewhere is still told.
func TestForeignRowIsNotTooLong(t *testing.T) {
	read := func(rule, file, sheet string, row int) issue.Finding {
		f := issue.At(rule)
		f.File, f.Cells = file, []issue.Cell{{File: file, Sheet: sheet, Row: row}}
		return f
	}
	foreign := read("log-row-foreign", "a.xlsx", "June", 3)
	for _, c := range []struct {
		long issue.Finding
		told bool
	}{
		{read("log-row-too-long", "a.xlsx", "June", 3), false}, {read("log-row-too-long", "a.xlsx", "June", 4), true},
		{read("log-row-too-long", "a.xlsx", "July", 3), true}, {read("log-row-too-long", "b.xlsx", "June", 3), true},
	} {
		c2 := &checker{log: &session.Log{}, read: []issue.Finding{foreign, c.long}}
		c2.otherNames()
		if got := c2.read[1].Rule != ""; got != c.told || c2.read[0].Rule != "log-row-foreign" {
			t.Errorf("%v beside %v: told %v", c.long.Cells, foreign.Cells, got)
		}
	}
}

// Start and end half a day from four other times and more; fewer say nothing.
func TestHalfADayOffAtItsLimits(t *testing.T) {
	const moved = "clin-clock 2.start 02:00 -> perhaps 14:00 to 17:00"
	for times, want := range map[string]string{
		"14:10 14:30 15:00": "", "14:10 14:30 15:00 16:00": moved, "13:00 14:30 15:00 18:00": moved,
		"12:59 14:30 15:00 16:00": "", "14:10 14:30 15:00 06:00": "", "14:10 14:30 15:00 16:00 04:00": "",
	} {
		readings := "session,time,pulse_per_min\n"
		for time := range strings.FieldsSeq(times) {
			readings += "a," + time + ",70\n"
		}
		got := told(t, "clin-clock", "", map[string]string{sessionsFile: "session,date,start,end,status\na,2025-11-03,02:00,05:00,done\n", readingsFile: readings})
		if got != want && !(want == "" && !strings.Contains(got, "perhaps 14:00 to 17:00")) {
			t.Errorf("%s: %q, want %q", times, got, want)
		}
	}
}

// A flow by the minute in the column for litres an hour.
func TestFlowByTheMinuteInLitresAnHour(t *testing.T) {
	for row, want := range map[string]string{"150": "clin-unit 3.dialysate_flow_l_h 150 -> perhaps 9 L/h", "9.0": ""} {
		files := map[string]string{sessionsFile: mondays(4, "dialysate_flow_l_h", everyRow("9.0"))}
		if got := told(t, "clin-unit clin-decimal-point clin-unusual clin-impossible", "", changed(t, files, "3.dialysate_flow_l_h="+row)); got != want {
			t.Errorf("%s: %q, want %q", row, got, want)
		}
	}
	for unit, want := range map[string]bool{"4.9": true, "5": false, "0": false, "0.1": true} {
		d, err := session.ParseDecimal(unit, '.')
		if err != nil {
			t.Fatal(err)
		}
		for _, u := range []string{"mL/h", "L/h"} {
			if got := litresAsMillilitres(session.Value{Unit: u}, d.Float64()); got != (want && u == "mL/h") {
				t.Errorf("%s %s: %v", unit, u, got)
			}
		}
	}
}

// The higher number of a blood pressure is above the lower one; equal ones are not
// said to be swapped.
func TestPressureNumbersAtTheirLimits(t *testing.T) {
	for row, want := range map[string]string{
		"121,120": "", "120,120": "clin-bp-swapped 2.bp_before_systolic_mmhg 120 -> ", "119,120": "clin-bp-swapped 2.bp_before_systolic_mmhg 119 -> perhaps 120 over 119",
	} {
		files := map[string]string{sessionsFile: mondays(1, "bp_before_systolic_mmhg,bp_before_diastolic_mmhg", everyRow(row))}
		if got := told(t, "clin-bp-swapped", "", files); got != want {
			t.Errorf("%s: %q, want %q", row, got, want)
		}
	}
}

// A lower number of one digit beside a higher one above any it can mean, and a
// higher one of two beside a lower one of twice as much, lack a digit.
func TestDigitLostAtItsLimits(t *testing.T) {
	pressure := func(row int, text string) session.Value {
		d, err := session.ParseDecimal(text, '.')
		if err != nil {
			t.Fatal(err)
		}
		return session.Value{Text: text, Decimal: d, Absence: session.Present, Cell: issue.Cell{Row: row, Heading: text}}
	}
	for _, c := range []struct {
		high, low string
		of        int // 0 for the higher number
		want      bool
	}{
		{"80", "7", 1, true}, {"79", "7", 1, false}, {"40", "3", 1, true}, {"40", "2", 1, false}, {"12", "24", 0, true}, {"12", "23", 0, false},
		{"19", "80", 0, true}, {"20", "80", 0, false}, {"120", "80", 0, false}, {"120", "12", 1, false}, {"9", "80", 0, false},
	} {
		high, low := pressure(2, c.high), pressure(3, c.low)
		v := []session.Value{high, low}[c.of]
		for name, s := range map[string]*session.Session{
			"before":  {Values: map[session.Field]session.Value{"bp_before_systolic": high, "bp_before_diastolic": low}},
			"reading": {Readings: []*session.Reading{{Values: map[session.Field]session.Value{"bp_systolic": high, "bp_diastolic": low}}}},
		} {
			if got := digitLost(s, v, v.Decimal.Float64()); got != c.want {
				t.Errorf("%s over %s, %s: %v", c.high, c.low, name, got)
			}
		}
	}
	if digitLost(nil, pressure(2, "12"), 12) {
		t.Error("a digit is lost outside a session")
	}
}

// A reading of 0 is no treatment in a session not done; one above it is.
func TestReadingsOfASessionNotDone(t *testing.T) {
	for rate, want := range map[string]string{"0": "", "0.3": "clin-not-done 2.uf_rate_l_h 0.3 -> "} {
		files := map[string]string{sessionsFile: "session,date,start,end,status,reason\na,2025-11-03,,,not done,ill\n", readingsFile: "session,time,uf_rate_l_h\na,15:00," + rate + "\n"}
		if got := told(t, "clin-not-done", "", files); got != want {
			t.Errorf("%s: %q, want %q", rate, got, want)
		}
	}
}

// A result is far from the others beyond half the usual range, as a ratio.
func TestResultsFarFromTheOthersAtTheLimit(t *testing.T) {
	for value, want := range map[string]string{"1.51": "", "1.52": "clin-lab-far 6.unit 1.52 mmol/L -> perhaps 1.52 mg/dL"} {
		labs := "session,when,test,value,unit\n"
		for i, number := range []string{"0.8", "0.8", "0.8", "0.8", value} {
			labs += fmt.Sprintf("s%d,before,magnesium,%s,mmol/L\n", i, number)
		}
		if got := told(t, "clin-lab-far", "", map[string]string{sessionsFile: mondays(5, "notes", everyRow("")), "labs.csv": labs}); got != want {
			t.Errorf("%s: %q, want %q", value, got, want)
		}
	}
}

// Two numbers are each in the other one's range if the ranges lie apart by a
// fifth.
func TestRangesApartAtTheirLimits(t *testing.T) {
	small, large := []float64{200, 210, 220, 230, 240, 250}, []float64{300, 310, 320, 330, 340, 350}
	written := func(field session.Field, number float64) place { return place{field: field, number: number} }
	for _, c := range []struct {
		low        float64
		inA, inB   float64
		exchanged  bool
		leastOfOwn int
	}{
		{300, 310, 220, true, 6}, {299, 310, 220, false, 6}, {300, 300, 250, true, 6}, {300, 299, 220, false, 6}, {300, 350, 200, true, 6}, {300, 351, 200, false, 6},
		{300, 310, 251, false, 6}, {300, 310, 199, false, 6}, {300, 310, 220, false, 5},
	} {
		own := map[session.Field][]float64{"a": small[:c.leastOfOwn], "b": append([]float64{c.low}, large[1:]...)}
		for _, pair := range [][2]place{{written("a", c.inA), written("b", c.inB)}, {written("b", c.inB), written("a", c.inA)}} {
			if got := ownElsewhere(own, pair[0], pair[1]); got != c.exchanged {
				t.Errorf("%+v: %v", c, got)
			}
		}
	}
}

// The two numbers of one measurement, and two weights, have rules of their own.
func TestFieldsOfOnePair(t *testing.T) {
	for pair, want := range map[[2]session.Field]bool{
		{"bp_systolic", "bp_diastolic"}: true, {"bp_systolic", "pulse"}: false, {"pulse", "bp_diastolic"}: false, {"bp_before_systolic", "bp_before_diastolic"}: true,
		{"bp_before_systolic", "bp_after_diastolic"}: false, {"weight_before", "weight_after"}: true, {"weight_before", "dry_weight"}: false, {"bp_diastolic", "bp_systolic"}: false,
	} {
		if got := ofOnePair(pair[0], pair[1]); got != want {
			t.Errorf("%v: %v", pair, got)
		}
	}
}

// A pulse in place of a pressure is compared with the lower number of its own
// reading.
func TestPulseForPressureInAReading(t *testing.T) {
	rows := "session,time,bp_systolic_mmhg,bp_diastolic_mmhg,pulse_per_min\n"
	for i := range 8 {
		rows += fmt.Sprintf("s%d,15:00,131,50,71\ns%d,15:30,133,76,72\ns%d,16:00,134,77,73\n", i, i, i)
	}
	files := map[string]string{sessionsFile: mondays(8, "notes", everyRow("")), readingsFile: rows}
	changes(t, "clin-exchanged", "", files, []change{
		{"readings:6.bp_systolic_mmhg=72;readings:6.pulse_per_min=133", "clin-exchanged 6.bp_systolic_mmhg 72 -> perhaps 133 and 72"},
		{"readings:5.bp_systolic_mmhg=71;readings:5.pulse_per_min=131", ""}, // a low pressure, a fast pulse
	})
}

// A time of weighing that is the start or the end is exchanged with neither.
func TestWeighingAtTheStart(t *testing.T) {
	files := map[string]string{sessionsFile: mondays(9, "before_at,after_at", func(i int) string { return []string{"13:45,17:20", "13:44,17:22", "13:46,17:19"}[i%3] })}
	changes(t, "clin-exchanged", "", files, []change{
		{"5.before_at=14:00", ""}, {"5.before_at=14:01", "clin-exchanged 5.before_at 14:01 -> perhaps 14:00 and 14:01"},
		{"5.after_at=17:10", ""}, {"5.after_at=17:09", "clin-exchanged 5.end 17:10 -> perhaps 17:09 and 17:10"},
	})
}

// Readings of two sessions look exchanged from three outside on, of which each
// session has one.
func TestReadingsExchangedAtTheirLimits(t *testing.T) {
	sessions := strings.Replace(mondays(3, "notes", everyRow("")), "s2,2025-01-20,14:00,17:10", "s2,2025-01-20,16:00,19:10", 1)
	const both = "clin-outside-session 2.session s1 -> perhaps s2 here and s1 there"
	for rows, want := range map[string]bool{
		"s1,17:50 s1,18:30 s2,14:05": true, "s1,17:50 s2,14:05 s2,14:20": true, "s1,17:50 s2,14:05": false, "s1,17:50 s1,18:30 s1,18:40 s2,16:45": false,
		"s1,16:45 s2,14:05 s2,14:20 s2,14:30": false,
	} {
		text := "session,time,pulse_per_min\n"
		for row := range strings.FieldsSeq(rows) {
			text += row + ",70\n"
		}
		if got := told(t, "clin-outside-session", "", map[string]string{sessionsFile: sessions, readingsFile: text}); (got == both) != want {
			t.Errorf("%s: %s", rows, got)
		}
	}
}

// A column that slipped by a row: the first row counts as well.
func TestColumnSlippedByTheFirstRow(t *testing.T) {
	weights := func(texts ...string) map[string]string {
		removed := []string{"1.0", "3.0", "1.2", "2.8", "1.1"}
		return map[string]string{sessionsFile: mondays(len(texts), "uf_removed_l,weight_before_kg,weight_after_kg,drinks_l", func(i int) string {
			return removed[i] + "," + strings.Replace(texts[i], "-", "", 1) + ",70,0"
		})}
	}
	for _, tt := range []struct {
		texts []string
		want  string
	}{
		{[]string{"71", "73", "71.2", "72.8", "71.1"}, ""},
		{[]string{"73", "71.2", "72.8", "71.1", "-"}, "month-column-slipped 2.weight_before_kg 73 -> "},
	} {
		if got := told(t, "month-column-slipped", "", weights(tt.texts...)); got != tt.want {
			t.Errorf("%v: %q, want %q", tt.texts, got, tt.want)
		}
	}
}

// Starts an hour later from row to row are told as dragged down where one of them
// lies after its end, which is then not told by itself.
func TestStartsDraggedDownPastAnEnd(t *testing.T) {
	const rules = "month-copied log-end-before-start"
	for rows, want := range map[string]string{
		"14:00-17:10 15:00-17:20 16:00-15:50": "month-copied 3.start 15:00 -> ",
		"14:00-17:10 15:00-17:20 16:00-17:30": "", "14:00-17:10 15:00-17:20 16:01-15:50": "log-end-before-start 4.end 15:50 -> an end within 16 hours after 16:01", "14:00-17:10 15:01-17:20 16:01-15:50": "log-end-before-start 4.end 15:50 -> an end within 16 hours after 16:01",
	} {
		text := "session,date,start,end,status\n"
		for i, row := range strings.Fields(rows) {
			text += fmt.Sprintf("s%d,%s,%s,done\n", i, monday(i), strings.Replace(row, "-", ",", 1))
		}
		if got := told(t, rules, "", map[string]string{sessionsFile: text}); got != want {
			t.Errorf("%s: %q, want %q", rows, got, want)
		}
	}
}

// A digit lost or added in a blood pressure is told before an exchange, which both
// numbers have to fit.
func TestDigitOfAPressureBeforeAnExchange(t *testing.T) {
	files := map[string]string{sessionsFile: mondays(7, "bp_before_systolic_mmhg,bp_before_diastolic_mmhg,bp_after_systolic_mmhg,bp_after_diastolic_mmhg", everyRow("143,75,139,73"))}
	const cell = "clin-bp-swapped 5.bp_before_"
	changes(t, "clin-bp-swapped", "", files, []change{
		{"5.bp_before_systolic_mmhg=43", cell + "systolic_mmhg 43 -> perhaps 143 over 75"},
		{"5.bp_before_diastolic_mmhg=175", cell + "diastolic_mmhg 175 -> perhaps 143 over 75"},
		{"5.bp_before_systolic_mmhg=75;5.bp_before_diastolic_mmhg=143", cell + "systolic_mmhg 75 -> perhaps 143 over 75"},
		{"5.bp_before_systolic_mmhg=60;5.bp_before_diastolic_mmhg=105", cell + "systolic_mmhg 60 -> perhaps 105 over 60"},
		{"5.bp_before_systolic_mmhg=100;5.bp_before_diastolic_mmhg=100", cell + "systolic_mmhg 100 -> perhaps 140 over 100"},
	})
}
