package check

import (
	"fmt"
	"strings"
	"testing"

	"runsheet.example/fhirmap/session"
)

// One slip of the pen is two digits exchanged, one lost or too many, or one
// wrong.
func TestOneSlipAtItsLimits(t *testing.T) {
	for pair, want := range map[string]bool{
		"300 300": false, "300 301": true, "300 400": true, "300 310": true, "300 411": false, "300 311": false, "123 132": true, "123 213": true, "123 321": false,
		"1234 1243": true, "1234 2143": false, "1234 2134": true, "1234 2135": false,
		"300 30": true, "30 300": true, "300 3000": true, "300 3": false, "1234 124": true, "1234 134": true, "1234 234": true, "1234 125": false, "1234 12": false, "3 4": true,
	} {
		a, b, _ := strings.Cut(pair, " ")
		if got := oneSlip(a, b); got != want {
			t.Errorf("%s: %v", pair, got)
		}
	}
}

// The one number with two neighbouring digits exchanged that fits.
func TestExchangedDigitsAtTheirLimits(t *testing.T) {
	for _, c := range []struct {
		text      string
		low, high float64
		want      string
	}{
		{"27.1", 72, 72.5, "72.1"}, {"72.1", 71, 71.5, "71.2"}, {"71,2", 72, 72.5, "72,1"}, {"71.2", 60, 70, ""},
		{"123", 132, 132, "132"}, {"123", 213, 213, "213"}, {"123", 132, 213, ""}, {"123", 321, 321, ""}, {"7", 0, 100, ""}, {"77", 0, 100, ""}, {"72", 27, 27, "27"},
	} {
		number, err := session.ParseDecimal(strings.Replace(c.text, ",", ".", 1), '.')
		if err != nil {
			t.Fatal(err)
		}
		v := session.Value{Text: c.text, Decimal: number, Absence: session.Present}
		text, ok := exchangedDigits(v, func(f float64) bool { return f >= c.low && f <= c.high })
		if text != c.want && ok || ok != (c.want != "") {
			t.Errorf("%+v: %q, %v", c, text, ok)
		}
	}
}

// A flow that differs by one slip from two readings that agree and three other
// rows.
func TestFlowsUnlikeTheReadingsAtTheirLimits(t *testing.T) {
	files := func(sessions, readings int) map[string]string {
		return map[string]string{
			sessionsFile:   mondays(sessions, "blood_flow_ml_min", everyRow("300")),
			"readings.csv": readingsOf(sessions, readings, "blood_flow_ml_min", "300"),
		}
	}
	const found = "clin-unlike-own 3.blood_flow_ml_min "
	changes(t, "clin-unlike-own", "", files(4, 2), []change{
		{"3.blood_flow_ml_min=310", found + "310 -> perhaps 300 mL/min"}, {"3.blood_flow_ml_min=311", ""}, {"3.blood_flow_ml_min=330", found + "330 -> perhaps 300 mL/min"},
		{"3.blood_flow_ml_min=310;4.blood_flow_ml_min=310", ""}, {"3.blood_flow_ml_min=310;readings:4.blood_flow_ml_min=305", ""},
	})
	changes(t, "clin-unlike-own", "", files(4, 1), []change{{"3.blood_flow_ml_min=310", ""}})
	changes(t, "clin-unlike-own", "", files(3, 2), []change{{"3.blood_flow_ml_min=310", ""}})
}

// The one date out of the order of the rows, that is in order with the digits of
// its day exchanged.
func TestDatesOutOfOrderAtTheirLimits(t *testing.T) {
	dates := datesOf("2025-03-10", "2025-03-11", "2025-03-13", "2025-03-16", "2025-03-18", "2025-03-20")
	const far = "month-date-far "
	changes(t, "month-date-far", "", dates, []change{
		{"4.date=2025-03-31", far + "4.date 2025-03-31 -> perhaps 2025-03-13"},
		{"3.date=2025-03-21", far + "3.date 2025-03-21 -> perhaps 2025-03-12"},
		{"5.date=2025-03-04", ""}, {"4.date=2025-03-22", ""}, {"4.date=2025-03-21", far + "4.date 2025-03-21 -> perhaps 2025-03-12"},
		{"4.date=2025-03-31;6.date=2025-03-12", ""},
		{"2.date=2025-03-01;3.date=2025-03-02;4.date=2025-03-01", far + "4.date 2025-03-01 -> perhaps 2025-03-10"},
		{"3.date=2025-03-12;4.date=2025-03-21;5.date=2025-03-12", ""}, // the day before and after are not between
	})
}

// A digit too many in a whole number: what is left is whole too, and within the
// person's own numbers.
func TestDigitTooManyInAWholeNumber(t *testing.T) {
	files := map[string]string{
		sessionsFile: mondays(8, "bp_before_standing_systolic_mmhg,bp_before_standing_diastolic_mmhg", func(i int) string { return fmt.Sprintf("%d,75", 126+2*i) }),
		readingsFile: readingsOf(8, 3, "venous_pressure_mmhg", "150"),
	}
	const cell, tmp = "clin-impossible 5.bp_before_standing_systolic_mmhg ", "clin-decimal-point 5.venous_pressure_mmhg "
	changes(t, "clin-impossible clin-decimal-point clin-apart", "", files, []change{
		{"5.bp_before_standing_systolic_mmhg=1338", cell + "1338 -> perhaps 133 or 138 mmHg"},
		{"5.bp_before_standing_systolic_mmhg=1337", cell + "1337 -> perhaps 133 or 137 mmHg"},
		{"5.bp_before_standing_systolic_mmhg=1333", cell + "1333 -> perhaps 133 mmHg"},
		{"5.bp_before_standing_systolic_mmhg=1979", cell + "1979 -> about 134 mmHg"},
		{"5.bp_before_standing_systolic_mmhg=133.8", ""},
		{"readings:5.venous_pressure_mmhg=1500", tmp + "1500 -> perhaps 150 mmHg"},
		{"readings:5.venous_pressure_mmhg=1501", "clin-impossible 5.venous_pressure_mmhg 1501 -> perhaps 150 mmHg"},
	})
}

// Urine of more than the person's other ones: that of the day, or with the decimal point
// moved among them.
func TestUrineWithThePointMoved(t *testing.T) {
	for _, c := range []struct{ others, urine, want string }{
		{"0.1", "1.0", "perhaps 0.1 L, or urine passed during the treatment, not that of the day"},
		{"0.0", "1.0", "urine passed during the treatment, not that of the day"},
		{"1.0", "1.0", "urine passed during the treatment, not that of the day"},
	} {
		files := map[string]string{sessionsFile: mondays(6, "weight_before_kg,weight_after_kg,uf_removed_l,drinks_l,urine_l", func(i int) string {
			if i == 3 {
				return "70.0,68.0,2.1,0.2," + c.urine
			}
			return "70.0,68.0,2.1,0.2," + c.others
		})}
		got := told(t, "clin-urine-day", "", files)
		if _, got, _ = strings.Cut(got, "clin-urine-day 5.urine_l "+c.urine+" -> "); got != c.want && !strings.HasPrefix(got, c.want+"\n") {
			t.Errorf("%+v: %s", c, got)
		}
	}
}
