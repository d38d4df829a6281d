package check

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"runsheet.example/fhirmap/session"
	"runsheet.example/profiles"
	"runsheet.example/validate/issue"
)

// entered is a number as a person entered it, in a row of its own.
func entered(t *testing.T, row int, text string) session.Value {
	t.Helper()
	d, err := session.ParseDecimal(text, '.')
	if err != nil {
		t.Fatal(err)
	}
	return session.Value{Text: text, Decimal: d, Absence: session.Present, Cell: issue.Cell{Row: row, Heading: text}}
}

// ofFields are the numbers of a session, as "field=number field=number".
func ofFields(t *testing.T, texts string) *session.Session {
	s := &session.Session{Status: session.Done, Values: map[session.Field]session.Value{}}
	for i, text := range strings.Fields(texts) {
		field, number, _ := strings.Cut(text, "=")
		s.Values[session.Field(field)] = entered(t, i, number)
	}
	return s
}

// The comparisons of single numbers, at both sides of each limit.
func TestComparisonsAtTheirLimits(t *testing.T) {
	positive, signed := profiles.Limit{SoftLow: 3, SoftHigh: 10}, profiles.Limit{SoftLow: 0, SoftHigh: 10}
	perHour := func(number float64) bool { return litresAsMillilitres(session.Value{Unit: "mL/h"}, number) }
	near := func(number float64) bool { return nearlyUsual(number, positive) }
	around := func(number float64) bool { return nearlyUsual(number, signed) }
	monday := week{from: time.Date(2025, 11, 3, 0, 0, 0, 0, time.UTC)}
	after := func(days float64) bool { return week{from: monday.from.AddDate(0, 0, int(days))}.adjoins(monday) }
	six := usually{{0, 1}: {mid: 1, n: 6}}
	pairs := func(n float64) bool {
		six[[2]int{0, 1}] = measure{n: int(n)}
		_, _, ok := six.expect(sighting{place: 0}, sighting{place: 1}, true)
		return ok
	}
	times := func(n float64) bool { return usualTime(make([]float64, int(n))).known }
	evening := func(hour float64) bool {
		return keepsEvening(&session.Session{Start: session.Moment{Absence: session.Present, Time: monday.from.Add(time.Duration(hour) * time.Hour)}}, -1)
	}
	place := func(number float64) bool {
		return odd{number: number, expected: 100, room: 5}.exchangedWith(odd{number: 100, expected: 60}) ||
			odd{number: 60, expected: 60, room: 5}.exchangedWith(odd{number: number, expected: 60, room: 5})
	}
	room := func(number float64) bool {
		return odd{number: number, expected: 100}.exchangedWith(odd{number: 100, expected: 60, room: 5})
	}
	pounds := func(kg float64) bool {
		_, meant := weightMeant(entered(t, 2, short(kg)), kg, 100)
		return meant != ""
	}
	for name, c := range map[string]struct {
		holds   func(float64) bool
		yes, no []float64
	}{
		"a rate in litres":                {perHour, []float64{0.1, 4.9}, []float64{0, 5}},
		"nearly usual":                    {near, []float64{15, 2}, []float64{15.1, 1.9}},
		"nearly usual about 0":            {around, []float64{15, -5}, []float64{15.1, -5.1}},
		"far from a weight":               {func(kg float64) bool { return far(kg, 100) }, []float64{125.1, 74.9}, []float64{125, 75}},
		"adjoining weeks":                 {after, []float64{7, -7}, []float64{8, -8}},
		"numbers of pairs":                {pairs, []float64{7}, []float64{6}},
		"times of day":                    {times, []float64{4}, []float64{3}},
		"small hours":                     {evening, []float64{5}, []float64{6}},
		"near the other one's place":      {place, []float64{65, 55}, []float64{66, 54}},
		"near its own place in the other": {room, []float64{65, 55}, []float64{66, 54}},
		"a slip of the point in a weight": {pounds, []float64{10.7}, []float64{10.8}},
		"within a share":                  {func(a float64) bool { return within(a, 2, 0.5) }, []float64{3, 1}, []float64{3.1, 0.9}},
		"a ratio of nothing":              {func(v float64) bool { return offUsual(v, v/2) > 0 }, []float64{1}, []float64{0, -1}},
		"a ratio to nothing":              {func(v float64) bool { return offUsual(1, v) > 0 }, []float64{2}, []float64{0, -1}},
		"near another one that is not 0":  {func(v float64) bool { return !math.IsInf(offNearest(v, []float64{0, 2}), 1) }, []float64{1, 3}, []float64{0, 0.9, 3.1}},
		"a time within, on the clock": {func(m float64) bool {
			return clockWithin(monday.from.Add(time.Duration(m)*time.Minute), monday.from, monday.from.Add(time.Hour))
		}, []float64{0, 60}, []float64{-1, 61}},
		"the first and the last of a circle": {func(n float64) bool { _, _, ok := besides(0, int(n)); return ok }, []float64{3}, []float64{2}},
	} {
		for _, number := range c.yes {
			if !c.holds(number) {
				t.Errorf("%s: %v is not", name, number)
			}
		}
		for _, number := range c.no {
			if c.holds(number) {
				t.Errorf("%s: %v is", name, number)
			}
		}
	}
}

// Fluid read in millilitres, from two readings above 100 on.
func TestFluidInMillilitresAtItsLimits(t *testing.T) {
	for readings, want := range map[string]bool{"101 101": true, "101 100": false, "101": false, "100 101 101": true} {
		s := &session.Session{}
		for _, text := range strings.Fields(readings) {
			s.Readings = append(s.Readings, &session.Reading{Values: map[session.Field]session.Value{"uf_so_far": entered(t, 2, text)}})
		}
		if got := inMillilitres(s); got != want {
			t.Errorf("%s: %v", readings, got)
		}
	}
}

// Weights that fit only the other way round, from more than half a litre on and
// within half a litre.
func TestWeightsFitSwappedAtTheirLimits(t *testing.T) {
	for texts, want := range map[string]bool{
		"weight_before=70 weight_after=72 uf_removed=2.5": true, "weight_before=70 weight_after=72 uf_removed=2.75": false, "weight_before=70 weight_after=72 uf_removed=1.5": true,
		"weight_before=70 weight_after=70.5 uf_removed=0.75": false, "weight_before=70 weight_after=70.75 uf_removed=0.75": true, "weight_before=70 weight_after=70.75 uf_removed=0.5": false,
		"weight_before=70 weight_after=71.5 uf_removed=2.5 drinks=0.5": true, "weight_before=70 weight_after=71.5 uf_removed=2.75 drinks=0.5": false,
	} {
		c := &checker{log: &session.Log{}}
		if got := c.fitSwapped(ofFields(t, texts)); got != want {
			t.Errorf("%s: %v", texts, got)
		}
	}
}

// Names of sessions with day and month are those of the dates from four dated
// sessions on, of which four fifths have their own day.
func TestNamesOfDaysAtTheirLimits(t *testing.T) {
	for names, want := range map[string]bool{"3-10 3-12 3-14": false, "3-10 3-12 3-14 3-16": true, "3-10 3-12 3-14 3-16 3-19": true, "3-10 3-12 3-14 3-17": false} {
		log := &session.Log{}
		for i, name := range strings.Fields(names) {
			log.Sessions = append(log.Sessions, &session.Session{ID: name, Date: session.Moment{Absence: session.Present, Time: time.Date(2025, 3, 10+2*i, 0, 0, 0, 0, time.UTC)}})
		}
		if _, got := (&checker{log: log}).namedDay(log.Sessions[0]); got != want {
			t.Errorf("%s: %v", names, got)
		}
	}
}

// A child from 6 to 12 years is no heavy one where it is taller than 97 cm and 6 for
// each year; below 5 kg for each year it is light for its height.
func TestBodyOfAChildAtItsLimits(t *testing.T) {
	for _, c := range []struct {
		years  int
		height string
		kg     float64
		want   bool
	}{
		{6, "133", 29, true}, {6, "134", 29, false}, {12, "169", 55, true}, {12, "170", 55, false}, {13, "176", 55, true}, {5, "128", 20, true},
	} {
		c2 := &checker{log: &session.Log{About: session.About{HeightCm: entered(t, 2, c.height)}}}
		if got, _ := c2.bodyAt(c.years, slices.Repeat([]float64{c.kg}, fewest)); got != c.want {
			t.Errorf("%+v: %v", c, got)
		}
	}
}

// The last digit of a pressure is lost, or another one where with that it is none of
// the person's.
func TestDigitLostByOwnPressures(t *testing.T) {
	files := map[string]string{sessionsFile: mondays(9, "bp_after_systolic_mmhg,bp_after_diastolic_mmhg", func(i int) string {
		return []string{"112,70", "118,72", "121,75"}[i%3]
	})}
	changes(t, "clin-impossible", "", files, []change{
		{"5.bp_after_systolic_mmhg=15", "clin-impossible 5.bp_after_systolic_mmhg 15 -> perhaps 115 mmHg"},
		{"5.bp_after_systolic_mmhg=12", "clin-impossible 5.bp_after_systolic_mmhg 12 -> perhaps 120 to 129 mmHg"},
		{"5.bp_after_systolic_mmhg=19", "clin-impossible 5.bp_after_systolic_mmhg 19 -> perhaps 119 mmHg"},
	})
}

// Times of weighing inside a session with its treatment time: exchanged with start
// or end up to 30 minutes in, where the treatment fits between them; else the start
// or the end is in doubt from ten minutes too long on.
func TestWeighingInsideASessionAtItsLimits(t *testing.T) {
	files := func(n int) map[string]string {
		return map[string]string{sessionsFile: mondays(n, "before_at,after_at,treated_min", func(i int) string {
			return []string{"13:45,17:20", "13:44,17:22", "13:46,17:19"}[i%3] + ",180"
		})}
	}
	const before, after = "clin-exchanged 5.before_at ", "clin-exchanged 5.end 17:10 -> perhaps "
	changes(t, "clin-exchanged clin-clock", "", files(9), []change{
		{"5.before_at=14:30;5.treated_min=", before + "14:30 -> perhaps 14:00 and 14:30"}, {"5.before_at=14:31;5.treated_min=", ""},
		{"5.after_at=16:45;5.treated_min=", after + "16:45 and 17:10"}, {"5.after_at=16:44;5.treated_min=", ""},
		{"5.before_at=14:07;5.treated_min=186", before + "14:07 -> perhaps 14:00 and 14:07"}, {"5.before_at=14:07;5.treated_min=187", ""},
		{"5.start=13:42;5.before_at=13:51", before + "13:51 -> perhaps 13:42 and 13:51"}, {"5.start=13:42;5.before_at=13:50", "clin-clock 5.start 13:42 -> about 14:00"},
		{"5.end=17:33;5.after_at=17:19", "clin-exchanged 5.end 17:33 -> perhaps 17:19 and 17:33"}, {"5.end=17:33;5.after_at=17:20", "clin-clock 5.end 17:33 -> about 17:10"},
	})
	changes(t, "clin-exchanged", "", files(7), []change{{"5.before_at=14:07", before + "14:07 -> perhaps 14:00 and 14:07"}})
	changes(t, "clin-exchanged", "", files(6), []change{{"5.before_at=14:07", ""}})
}

// What a result that rises is proposed to be: from a quarter to nine tenths of that
// before, and no less than the dialysate holds.
func TestMeantOfRisingResultsAtTheirLimits(t *testing.T) {
	files := map[string]string{
		sessionsFile: mondays(2, "dialysate_potassium_mmol_l", everyRow("")),
		"labs.csv":   "session,when,test,value,unit\ns0,before,potassium,5.0,mmol/L\ns0,after,potassium,3.6,mmol/L\n",
	}
	const found = "clin-solute-rises 3.value "
	changes(t, "clin-solute-rises", "", files, []change{
		{"labs:3.value=5.4", found + "5.4 -> perhaps 4.5 mmol/L"}, {"labs:2.value=4.9;labs:3.value=5.4", found + "5.4 -> less than 4.9 mmol/L"},
		{"labs:2.value=7.2;labs:3.value=8.1", found + "8.1 -> perhaps 1.8 mmol/L"}, {"labs:2.value=7.3;labs:3.value=8.1", found + "8.1 -> less than 7.3 mmol/L"},
		{"labs:2.value=3.0;labs:3.value=7.2;2.dialysate_potassium_mmol_l=2.7", found + "7.2 -> perhaps 2.7 mmol/L"},
		{"labs:2.value=3.0;labs:3.value=7.2;2.dialysate_potassium_mmol_l=2.8", found + "7.2 -> perhaps 7.2 before and 3.0 after"},
	})
}

// A blood pressure with its numbers the wrong way round, beside three readings of
// 140 over 75: which cell, and what is proposed.
func TestSwappedPressureAtItsLimits(t *testing.T) {
	files := func(others int, reading string) map[string]string {
		rows := "session,time,bp_systolic_mmhg,bp_diastolic_mmhg,pulse_per_min\ns0,15:00,140,75," + reading + "\n"
		for i := range others {
			rows += fmt.Sprintf("s0,15:%d,%s\n", 15+15*i, reading)
		}
		return map[string]string{sessionsFile: mondays(1, "notes", everyRow("")), readingsFile: rows}
	}
	const exchanged, cell = "clin-exchanged 2.bp_diastolic_mmhg ", "clin-bp-swapped 2.bp_"
	set := func(high, low, pulse int) string {
		return fmt.Sprintf("readings:2.bp_systolic_mmhg=%d;readings:2.bp_diastolic_mmhg=%d;readings:2.pulse_per_min=%d", high, low, pulse)
	}
	for _, c := range []struct {
		others           int
		reading          string
		high, low, pulse int
		want             string
	}{
		{3, "140,75,120", 110, 120, 75, exchanged + "120 -> perhaps 75 and 120"},
		{3, "140,75,120", 110, 120, 95, exchanged + "120 -> perhaps 95 and 120"}, {3, "140,75,120", 110, 120, 96, ""},
		{3, "140,75,120", 110, 140, 75, exchanged + "140 -> perhaps 75 and 140"}, {3, "140,75,120", 110, 141, 75, ""},
		{3, "140,75,120", 76, 120, 75, exchanged + "120 -> perhaps 75 and 120"}, {3, "140,75,120", 75, 120, 75, ""},
		{3, "140,85,120", 110, 120, 99, exchanged + "120 -> perhaps 99 and 120"}, {3, "140,85,120", 110, 120, 100, ""},
		{2, "140,75,120", 110, 120, 75, ""},
		{3, "140,75,70", 40, 105, 70, cell + "systolic_mmhg 40 -> perhaps 140 over 105"}, {3, "140,75,70", 40, 106, 70, cell + "systolic_mmhg 40 -> perhaps 106 over 40"},
		{3, "140,75,70", 110, 175, 70, cell + "diastolic_mmhg 175 -> perhaps 110 over 75"},
		{3, "140,75,70", 75, 80, 70, cell + "systolic_mmhg 75 -> perhaps 80 over 75"}, {3, "140,75,70", 75, 79, 70, cell + "systolic_mmhg 75 -> "},
	} {
		got := told(t, "clin-exchanged clin-bp-swapped", "", changed(t, files(c.others, c.reading), set(c.high, c.low, c.pulse)))
		if got != c.want && (c.want != "" || strings.Contains(got, "clin-exchanged")) {
			t.Errorf("%+v: %s", c, got)
		}
	}
}

// A line of log.toml beside seven sessions that agree on another number: more than
// a twentieth off, outside all of them, and three times as far as they are apart.
func TestLinesOfThePlanAtTheirLimits(t *testing.T) {
	const about = "[[prescription]]\nvalid_from = 2025-01-01\nblood_flow_ml_min = 400\n"
	flows := func(text string) map[string]string {
		all := strings.Fields(text)
		return map[string]string{sessionsFile: mondays(len(all), "blood_flow_ml_min", func(i int) string { return all[i] })}
	}
	for text, want := range map[string]string{
		"420 420 420 420 420 420 420": "", "430 430 430 430 430 430": "", "430 430 430 430 430 430 430": "430", "300 300 300 300 300 300 300": "300",
		"430 430 430 400 430 430 430 430": "", "430 430 430 401 430 430 430 430": "430", "300 300 300 400 300 300 300 300": "", "300 300 300 399 300 300 300 300": "300",
		"420 430 440 430 430 420 440 430 430": "", "421 430 439 430 430 421 439 430 430": "430",
	} {
		if want != "" {
			want = "perhaps " + want + " mL/min, as in the sessions"
		}
		got := ""
		for _, f := range ruleIn(t, "clin-unlike-plan", about, flows(text)) {
			if strings.HasPrefix(f.Cells[0].Heading, "prescription.") && f.Session == "" {
				got = f.Expected.String()
			}
		}
		if got != want {
			t.Errorf("%s: %q, want %q", text, got, want)
		}
	}
}

// Headings of the weights, from three weights of each column on; both exchanged from
// four sessions on, of which four fifths fit only so.
func TestHeadingsOfWeightsAtTheirLimits(t *testing.T) {
	for rows, want := range map[string]string{
		"154.3,70,70 154.3,70,70 154.3,70,70": "clin-heading-unit 1.weight_before_kg", "154.3,70,70 154.3,70,70": "",
		"70,72,2 70,72,2 70,72,2 70,72,2": "clin-weights-swapped 1.weight_before_kg", "70,72,2 70,72,2 70,72,2": "",
		"70,72,2 70,72,2 70,72,2 70,72,2 72,70,2": "clin-weights-swapped 1.weight_before_kg", "70,72,2 70,72,2 70,72,2 72,70,2 72,70,2": "",
	} {
		all, heads := strings.Fields(rows), "weight_before_kg,weight_after_kg,dry_weight_kg"
		if strings.HasSuffix(rows, ",2") {
			heads = "weight_before_kg,weight_after_kg,uf_removed_l"
		}
		got := ""
		for _, f := range findingsIn(t, "", map[string]string{sessionsFile: mondays(len(all), heads, func(i int) string { return all[i] })}) {
			if f.Cells[0].Row == 1 {
				got = f.Rule + " 1." + f.Cells[0].Heading
			}
		}
		if got != want {
			t.Errorf("%s: %q, want %q", rows, got, want)
		}
	}
}

// A dose given twice in one session of three, up to 15 minutes later.
func TestDoseGivenAgainAtItsLimits(t *testing.T) {
	for rows, want := range map[string]bool{
		"s0 14:30 s1 14:30 s1 14:45 s2 14:30": true, "s0 14:30 s1 14:30 s1 14:46 s2 14:30": false, "s1 14:30 s1 14:45 s2 14:30": false,
		"s0 14:30 s0 14:40 s1 14:30 s1 14:45 s2 14:30": false, "s0 14:30 s1 14:30 s1 14:35 s1 14:40 s2 14:30": false,
	} {
		text, all := "session,time,medicine,kind,dose,dose_unit\n", strings.Fields(rows)
		for i := 0; i < len(all); i += 2 {
			text += all[i] + "," + all[i+1] + ",heparin,anticoagulant,2000,IU\n"
		}
		if got := told(t, "clin-medicine-twice", "", map[string]string{sessionsFile: mondays(3, "notes", everyRow("")), medicinesFile: text}); (got != "") != want {
			t.Errorf("%s: %s", rows, got)
		}
	}
}

// Settings dragged down: three cells that go back to where they began, four up to
// the last row, beside three others that are all the same.
func TestSettingsDraggedDownAtTheirLimits(t *testing.T) {
	for numbers, want := range map[string]string{
		"2 2 2 2 3 4 2 2": "6 3", "2 2 2 2 3 4 3 2": "", "2 2 2 2 3 4 5": "6 3", "2 2 2 2 3 4": "", "2 2 3 4 2 2": "4 3", "2 2 3 4 2": "", "2 2 2 3 4 5": "",
		"2 2 2 2 3 2 2 2": "", "2 2 2 2 1 0 2": "6 1",
	} {
		all := strings.Fields(numbers)
		got := told(t, "month-copied", "", map[string]string{sessionsFile: mondays(len(all), "dialysate_potassium_mmol_l", func(i int) string { return all[i] })})
		if row, number, found := strings.Cut(want, " "); found {
			want = "month-copied " + row + ".dialysate_potassium_mmol_l " + number + " -> perhaps 2"
		}
		if got != want {
			t.Errorf("%s: %q, want %q", numbers, got, want)
		}
	}
}

// An arterial pressure of 0 has no sign.
func TestArterialPressureAtZero(t *testing.T) {
	files := map[string]string{sessionsFile: mondays(1, "notes", everyRow("")), readingsFile: readingsOf(1, 1, "arterial_pressure_mmhg", "-120")}
	changes(t, "clin-arterial-sign", "", files, []change{{"readings:2.arterial_pressure_mmhg=0", ""}, {"readings:2.arterial_pressure_mmhg=1", "clin-arterial-sign 2.arterial_pressure_mmhg 1 -> perhaps -1"}})
}

// Readings that are all an hour off: among seven sessions that differ by no more
// than 15 minutes, and no more than that from them.
func TestReadingsAnHourOffAtTheirLimits(t *testing.T) {
	at := func(minutes int) session.Moment {
		return session.Moment{Absence: session.Present, Time: time.Date(2025, 11, 3, 14, minutes, 0, 0, time.UTC)}
	}
	for _, c := range []struct {
		first, last measure
		readings    [3]int
		want        bool
	}{
		{measure{20, 15, 7}, measure{10, 15, 7}, [3]int{-40, 20, 110}, true}, {measure{20, 15, 6}, measure{10, 15, 6}, [3]int{-40, 20, 110}, false},
		{measure{20, 16, 7}, measure{10, 15, 7}, [3]int{-40, 20, 110}, false}, {measure{20, 15, 7}, measure{10, 16, 7}, [3]int{-40, 20, 110}, false},
		{measure{5, 0, 7}, measure{25, 0, 7}, [3]int{-40, 20, 110}, true}, {measure{35, 0, 7}, measure{-5, 0, 7}, [3]int{-40, 20, 110}, true},
		{measure{4, 0, 7}, measure{10, 0, 7}, [3]int{-40, 20, 110}, false}, {measure{20, 0, 7}, measure{26, 0, 7}, [3]int{-40, 20, 110}, false},
		{measure{-60, 0, 7}, measure{70, 0, 7}, [3]int{0, 60, 170}, false},
	} {
		s := &session.Session{Start: at(0), End: at(180)}
		for _, minutes := range c.readings {
			s.Readings = append(s.Readings, &session.Reading{At: at(minutes)})
		}
		checker := &checker{log: &session.Log{}, routine: routine{first: c.first, last: c.last}}
		if got := checker.otherHour(s); got != c.want {
			t.Errorf("%+v: %v", c, got)
		}
	}
}

// Sessions after today are one wrong year where they are four or more, and most.
func TestSessionsAfterTodayAtTheirLimits(t *testing.T) {
	day := time.Date(2025, 11, 3, 0, 0, 0, 0, time.UTC)
	for _, c := range []struct {
		before, after int
		want          bool
	}{{3, 4, true}, {4, 4, false}, {0, 3, false}, {0, 4, true}} {
		log := &session.Log{Today: day}
		for i := range c.before + c.after {
			log.Sessions = append(log.Sessions, &session.Session{Status: session.Done, Date: session.Moment{Absence: session.Present, Time: day.AddDate(0, 0, 2-c.before+i)}})
		}
		if got := (&checker{log: log}).future(); got != c.want {
			t.Errorf("%+v: %v", c, got)
		}
	}
}

// Nobody has less than 10 kg/m².
func TestHeightBesideWeightsAtItsLimit(t *testing.T) {
	for kg, want := range map[string]bool{"25.6": false, "25.5": true} {
		log := &session.Log{Sessions: []*session.Session{ofFields(t, "weight_after="+kg), ofFields(t, "weight_after="+kg), ofFields(t, "weight_after="+kg)}}
		c := &checker{log: log, suspect: map[issue.Cell]bool{}}
		if c.height(entered(t, 9, "160")); slices.ContainsFunc(c.findings, func(f issue.Finding) bool {
			return f.Details.String() == "the height does not fit the weights of the sessions"
		}) != want {
			t.Errorf("%s kg: %+v", kg, c.findings)
		}
	}
}

// A name that is a slip of one of three other rows; a dose of 0; a dry weight that
// four rows contradict; a short session with a reason.
func TestSlipsOfRowsAtTheirLimits(t *testing.T) {
	names := func(n int) map[string]string {
		return map[string]string{sessionsFile: mondays(n, "notes", everyRow("")), medicinesFile: medicinesOf(n, "mometarin", "other", "40", "mg")}
	}
	const slip = "clin-unlike-own 3.medicine mometairn -> perhaps mometarin"
	changes(t, "clin-unlike-own clin-impossible", "", names(4), []change{{"medicines:3.medicine=mometairn", slip}, {"medicines:3.dose=0", "clin-impossible 3.dose 0 -> "}})
	changes(t, "clin-unlike-own", "", names(3), []change{{"medicines:3.medicine=mometairn", ""}})
	dry := func(n int) map[string]string {
		return map[string]string{sessionsFile: mondays(n, "dry_weight_kg", everyRow("71.5"))}
	}
	const plan = "[[prescription]]\nvalid_from = 2025-01-01\nduration_min = 200\ndry_weight_kg = 70.5\n"
	for n, want := range map[int]int{3: 0, 4: 1} {
		found := slices.DeleteFunc(ruleIn(t, "clin-unlike-plan", plan, dry(n)), func(f issue.Finding) bool { return f.Session != "" })
		if len(found) != want {
			t.Errorf("%d rows: %+v", n, found)
		}
	}
	cut := map[string]string{sessionsFile: mondays(3, "treated_min,reason", everyRow("200,"))}
	changes(t, "clin-done-short", plan, cut, []change{{"3.treated_min=160;3.reason=cramp", ""}, {"3.treated_min=159;3.reason=cramp", "clin-done-short 3.status done -> perhaps cut short"}})
}

// Fluid removed so far and its rate: that of the rate since the start within a step,
// and a rate half as much again as the fluid says, or a tenth where a slip explains it.
func TestFlowingFluidAtItsLimits(t *testing.T) {
	start := time.Date(2025, 11, 3, 14, 0, 0, 0, time.UTC)
	s := &session.Session{Start: session.Moment{Absence: session.Present, Time: start}}
	reading := func(rate string) *session.Reading {
		return &session.Reading{At: session.Moment{Absence: session.Present, Time: start.Add(2 * time.Hour)}, Values: map[session.Field]session.Value{"uf_rate": entered(t, 2, rate)}}
	}
	for litres, want := range map[float64]bool{1: true, 1.25: true, 0.75: true, 1.375: false, 0.625: false} {
		if got := (flowing{reading: reading("0.5"), litres: litres, rate: 0.5}).ownRate(s, 0.25); got != want {
			t.Errorf("%v L at 0.5 L/h in two hours: %v", litres, got)
		}
	}
	noted := reading("0.5")
	noted.Note = session.Text{Text: "cramp", Absence: session.Present}
	for _, c := range []struct {
		reading *session.Reading
		rate    float64 // of the fluid
		want    bool
	}{
		{reading("0.75"), 0.5, false}, {reading("0.76"), 0.5, true}, {reading("0.5"), 0.75, false}, {reading("0.5"), 0.76, true}, {noted, 0.76, false},
		{reading("0.68"), 0.86, true}, {reading("0"), 0.5, false},
	} {
		one := flowing{reading: c.reading, rate: c.reading.Value("uf_rate").Decimal.Float64()}
		if _, got := oddRate(s, one, odd{}, c.rate); got != c.want {
			t.Errorf("%v L/h beside %v: %v", one.rate, c.rate, got)
		}
	}
}

// The one dose of a medicine is that of nine rows of ten, three or more.
func TestTheOneDoseAtItsLimits(t *testing.T) {
	for _, c := range []struct {
		same, others int
		want         float64
	}{{3, 0, 40}, {2, 0, 0}, {9, 1, 40}, {8, 1, 0}} {
		log, rows := &session.Log{}, &session.Session{}
		for i := range c.same + c.others {
			text := "40"
			if i >= c.same {
				text = "80"
			}
			rows.Medicines = append(rows.Medicines, &session.Medicine{Name: session.Text{Text: "mometarin", Absence: session.Present}, Dose: entered(t, i, text)})
		}
		log.Sessions = []*session.Session{rows}
		checker := &checker{log: log, suspect: map[issue.Cell]bool{}}
		if got := checker.only(&session.Medicine{Name: rows.Medicines[0].Name}, func(m *session.Medicine) session.Value { return m.Dose }); got != c.want {
			t.Errorf("%+v: %v", c, got)
		}
	}
}

// No amount below a twentieth of a litre is proposed, but for the rinse-back.
func TestAmountsTooSmallToPropose(t *testing.T) {
	for _, c := range []struct {
		field  session.Field
		litres float64
		unit   string
		low    float64
		want   bool
	}{{"drinks", 0.05, "L", 0, false}, {"drinks", 0.04, "L", 0, true}, {"uf_rate", -0.04, "L/h", 0, true}, {"rinseback", 0.04, "L", 0, false}, {"drinks", 0.04, "L", 0.01, false}, {"drinks", 0.04, "kg", 0, false}} {
		if got := tooNear(c.field, c.litres, profiles.Limit{Unit: c.unit, SoftLow: c.low}); got != c.want {
			t.Errorf("%+v: %v", c, got)
		}
	}
}
