package check

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"runsheet.example/fhirmap/session"
	"runsheet.example/profiles"
	"runsheet.example/validate/issue"
)

// ruleIn lists the findings of one rule on a log made of files.
func ruleIn(t *testing.T, rule, about string, files map[string]string) []issue.Finding {
	t.Helper()
	return slices.DeleteFunc(findingsIn(t, about, files), func(f issue.Finding) bool { return f.Rule != rule })
}

// findingsIn lists the findings on a log made of files.
func findingsIn(t *testing.T, about string, files map[string]string) []issue.Finding {
	t.Helper()
	folder := fstest.MapFS{"log.toml": {Data: []byte(aboutNoPlan + about)}}
	for name, text := range files {
		folder[name] = &fstest.MapFile{Data: []byte(text)}
	}
	log, read, err := session.ReadFS(folder, session.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return Check(log, read)
}

// expectations compares a count of findings, and value and expected of the
// first, where they are given.
func expectations(t *testing.T, what string, found []issue.Finding, n int, value, expected string) {
	t.Helper()
	if len(found) != n || n > 0 && (value != "" && found[0].Value != value || expected != "" && found[0].Expected.String() != expected) {
		t.Errorf("%s: %+v, want %d of %q, %q", what, found, n, value, expected)
	}
}

// Times that belong to a session, and those a minute further off.
func TestTimesAtTheirLimits(t *testing.T) {
	const sessions = "session,date,start,end,status\na,2025-11-03,14:00,17:00,done\n"
	for _, c := range []struct {
		file, heads, row string
		early, late      [2]string // the last that is fine, the first that is not
	}{
		{"readings.csv", "session,time,pulse_per_min\n", "a,TIME,70\n", [2]string{"13:30", "13:29"}, [2]string{"17:30", "17:31"}},
		{"medicines.csv", "session,time,medicine,kind,dose,dose_unit\n", "a,TIME,heparin,anticoagulant,2000,IU\n", [2]string{"12:00", "11:59"}, [2]string{"21:00", "21:01"}},
		{"events.csv", "session,time,kind,what\n", "a,TIME,symptom,cramp\n", [2]string{"12:00", "11:59"}, [2]string{"23:59", ""}},
		{"events.csv", "session,time,kind,what\n", "a,TIME,alarm,air in line\n", [2]string{"12:00", "11:59"}, [2]string{"21:00", "21:01"}},
		{"checks.csv", "session,time,what,result\n", "a,TIME,disinfection,ok\n", [2]string{"02:00", "01:59"}, [2]string{"17:30", ""}},
	} {
		for _, times := range [][2]string{c.early, c.late} {
			for i, time := range times {
				if time == "" {
					continue
				}
				found := ruleIn(t, "clin-outside-session", "", map[string]string{sessionsFile: sessions, c.file: c.heads + strings.Replace(c.row, "TIME", time, 1)})
				expectations(t, c.file+" at "+time, found, i, "", "a time from 14:00 to 17:00")
			}
		}
	}
}

// Times of weighing: up to a quarter of an hour into the session, three hours
// around it.
func TestWeighingAtItsLimits(t *testing.T) {
	for _, c := range []struct {
		before, after string
		n             int
		expected      string
	}{
		{"11:00", "20:00", 0, ""}, {"14:15", "16:45", 0, ""},
		{"10:59", "17:05", 1, "a time shortly before 14:00"}, {"14:16", "17:05", 1, "a time shortly before 14:00"},
		{"13:50", "16:44", 1, "a time shortly after 17:00"}, {"13:50", "20:01", 1, "a time shortly after 17:00"},
	} {
		rows := "session,date,start,end,status,before_at,weight_before_kg,after_at,weight_after_kg\na,2025-11-03,14:00,17:00,done," + c.before + ",72," + c.after + ",70\n"
		expectations(t, c.before+" and "+c.after, ruleIn(t, "clin-outside-session", "", map[string]string{sessionsFile: rows}), c.n, "", c.expected)
	}
}

// What was delivered, against the prescription, at the limits of each.
func TestDeliveredAtItsLimits(t *testing.T) {
	const plan = "[[prescription]]\nvalid_from = 2025-01-01\nsessions_per_week = 3\nduration_min = 180\ndialysate_l = 20\nuf_limit_ml_kg_h = 10\n"
	const heads = "session,date,start,end,status,treated_min,dialysate_l,uf_removed_l,weight_before_kg,weight_after_kg\n"
	for _, c := range []struct {
		row, rule string
		n         int
		value     string
		expected  string
	}{
		{"170,20,1.0,71,70", "clin-below-plan", 0, "", ""},
		{"169,20,1.0,71,70", "clin-below-plan", 1, "169 min", "prescribed: 180 min"},
		{"180,18,1.0,71,70", "clin-below-plan", 0, "", ""},
		{"180,17.9,1.0,71,70", "clin-below-plan", 1, "17.9 L", "prescribed: 20 L"},
		{"180,20,2.1,72.1,70", "clin-uf-limit", 0, "", ""}, // 2100 mL in 3 h at 70 kg are 10 mL/kg/h
		{"180,20,2.2,72.2,70", "clin-uf-limit", 1, "10.48 mL/kg/h", "up to 10 mL/kg/h"},
		{"180,20,2.101,72.1,70", "clin-uf-limit", 0, "", ""}, {"180,20,2.102,72.1,70", "clin-uf-limit", 1, "10.01 mL/kg/h", "up to 10 mL/kg/h"},
	} {
		found := ruleIn(t, c.rule, plan, map[string]string{sessionsFile: heads + "a,2025-11-03,14:00,17:05,done," + c.row + "\n"})
		expectations(t, c.row, found, c.n, c.value, c.expected)
	}
}

// The fluid removed so far neither falls nor passes the whole.
func TestFluidSoFarAtItsLimits(t *testing.T) {
	const sessions = "session,date,start,end,status,uf_removed_l\na,2025-11-03,14:00,17:00,done,1.50\n"
	for _, c := range []struct {
		first, second string
		n             int
		expected      string
	}{
		{"0.50", "0.50", 0, ""}, {"0.50", "0.49", 1, "0.50 or more"}, {"0.50", "1.60", 0, ""}, {"0.50", "1.61", 1, "1.50 or less"},
	} {
		readings := fmt.Sprintf("session,time,uf_so_far_l\na,15:00,%s\na,16:00,%s\n", c.first, c.second)
		expectations(t, c.second, ruleIn(t, "clin-uf-falls", "", map[string]string{sessionsFile: sessions, "readings.csv": readings}), c.n, c.second, c.expected)
	}
}

// A reading above the whole says nothing of the one after it.
func TestFluidSoFarAboveTheWhole(t *testing.T) {
	const sessions = "session,date,start,end,status,uf_removed_l\na,2025-11-03,14:00,17:00,done,1.50\n"
	const readings = "session,time,uf_so_far_l\na,14:10,0.20\na,15:00,4.0\na,16:00,0.90\n"
	found := ruleIn(t, "clin-uf-falls", "", map[string]string{sessionsFile: sessions, "readings.csv": readings})
	expectations(t, readings, found, 1, "4.0", "")
}

// A row pasted twice, with its name, is told once.
func TestRowPastedTwice(t *testing.T) {
	const row = "a,2025-11-03,14:00,17:00,done,72.6,71.2\n"
	heads := "session,date,start,end,status,weight_before_kg,weight_after_kg\n"
	for second, want := range map[string]string{
		row: "month-session-twice 3.session  -> one row for each session; the other is sessions.csv A2 (session)",
		strings.Replace(row, "03,14", "04,14", 1): "log-session-twice 3.session a -> ",
	} {
		if got := told(t, "month-session-twice log-session-twice", "", map[string]string{sessionsFile: heads + row + second}); got != want {
			t.Errorf("%s: %s, want %s", second, got, want)
		}
	}
}

// Rows that an open quotation mark swallows are not looked for by name.
func TestRowsBehindQuotationMark(t *testing.T) {
	readings := "session,time,pulse_per_min\nc,14:10,70\n"
	sessions := "session,date,start,end,status,notes\na,2025-11-03,14:00,17:00,done,\nb,2025-11-04,14:00,17:00,done,MARKwell\nd,2025-11-05,14:00,17:00,done,\n"
	for mark, want := range map[string]string{"": "log-session-unknown 2.session c -> ", "\"": "log-quote 3.  -> "} {
		if got := told(t, "log-quote log-session-unknown clin-no-readings", "", map[string]string{sessionsFile: strings.Replace(sessions, "MARK", mark, 1), "readings.csv": readings}); got != want {
			t.Errorf("%q: %s, want %s", mark, got, want)
		}
	}
}

// monday is the day of the nth session of a log of Mondays.
func monday(n int) string {
	return time.Date(2025, 1, 6+7*n, 0, 0, 0, 0, time.UTC).Format(time.DateOnly)
}

// A result is called far from the others only where a known slip brings it
// back among them, and where there are others.
func TestLabResultsFarFromTheOthers(t *testing.T) {
	for _, c := range []struct {
		others   int
		result   string
		n        int
		expected string
	}{
		{4, "5.0", 0, ""}, {4, "10.0", 0, ""}, {4, "50", 1, "perhaps 5 mmol/L"}, {2, "50", 1, "perhaps 5 mmol/L"}, {1, "50", 1, "perhaps 5 mmol/L"}, {0, "50", 0, ""},
		{4, "45", 1, "perhaps 4.5 mmol/L"}, {4, "30", 1, "perhaps 30 mg/dL"}, {4, "15", 0, ""},
	} {
		sessions, labs := "session,date,start,end,status\n", "session,drawn_time,when,test,value,unit\n"
		for i := range c.others + 1 {
			sessions += fmt.Sprintf("s%d,%s,14:00,17:00,done\n", i, monday(i))
			value := fmt.Sprintf("%.1f", []float64{4.9, 5.1, 5.0, 5.0, 5.0}[i%5])
			if i == c.others {
				value = c.result
			}
			labs += fmt.Sprintf("s%d,14:00,before,urea,%s,mmol/L\n", i, value)
		}
		found := ruleIn(t, "clin-lab-far", "", map[string]string{sessionsFile: sessions, "labs.csv": labs})
		expectations(t, fmt.Sprintf("%s beside %d", c.result, c.others), found, c.n, "", c.expected)
	}
}

// The same weight or pressure in so many sessions in a row is copied; one that
// ends in 0 or 5 takes more, and one that differs begins anew.
func TestCopiedDownAtItsLimits(t *testing.T) {
	for _, c := range []struct {
		column, value string
		rows, other   int // other is the row that differs, or -1
		n             int
	}{
		{"weight_before_kg", "72.3", 7, -1, 0}, {"weight_before_kg", "72.3", 8, -1, 1}, {"weight_before_kg", "72.3", 8, 4, 0}, {"weight_before_kg", "72.3", 9, 0, 1},
		{"weight_before_kg", "72.5", 11, -1, 0}, {"weight_before_kg", "72.5", 12, -1, 1},
		{"bp_before_systolic_mmhg", "143", 5, -1, 0}, {"bp_before_systolic_mmhg", "143", 6, -1, 1}, {"bp_before_systolic_mmhg", "140", 11, -1, 0}, {"bp_before_systolic_mmhg", "140", 12, -1, 1},
	} {
		rows := "session,date,start,end,status," + c.column + "\n"
		for i := range c.rows {
			value := c.value
			if i == c.other {
				value = map[bool]string{true: "71.9", false: "131"}[strings.HasPrefix(c.column, "weight")]
			}
			rows += fmt.Sprintf("s%d,%s,14:%02d,17:%02d,done,%s\n", i, monday(i), i*7%11, i*5%13, value)
		}
		found := 0
		for _, f := range ruleIn(t, "month-copied", "", map[string]string{sessionsFile: rows}) {
			if strings.HasPrefix(f.Details.String(), "the same value stands in many") {
				found++
			}
		}
		if found != c.n {
			t.Errorf("%d rows of %s %s, another in row %d: %d findings", c.rows, c.column, c.value, c.other, found)
		}
	}
}

// Results of two samples that are all the same are copied, from two results and
// five digits on.
func TestCopiedSamplesAtTheirLimits(t *testing.T) {
	const sessions = "session,date,start,end,status\na,2025-11-03,14:00,17:00,done\nb,2025-11-10,14:00,17:00,done\n"
	for labs, n := range map[string]int{
		"urea,20.12;potassium,5.1": 1, "urea,20.1;potassium,5.1": 1, "urea,20;potassium,5.1": 0, "urea,20.123": 0,
	} {
		rows := "session,drawn_time,when,test,value,unit\n"
		for _, s := range []string{"a", "b"} {
			for _, lab := range strings.Split(labs, ";") {
				rows += s + ",14:00,before," + lab + ",mmol/L\n"
			}
		}
		expectations(t, labs, ruleIn(t, "month-copied", "", map[string]string{sessionsFile: sessions, "labs.csv": rows}), n, "", "")
	}
}

// A session begun in the small hours may keep the name of the evening before,
// and of no other day.
func TestNameOfTheEveningBefore(t *testing.T) {
	for _, c := range []struct {
		later int // days of the date after its name
		start string
		n     int
	}{
		{1, "00:30", 0}, {1, "05:59", 0}, {1, "06:00", 1}, {2, "00:30", 1}, {-1, "00:30", 1}, {0, "00:30", 0},
	} {
		rows := weighedHeadings
		for i := range 20 {
			day := time.Date(2025, 11, 3+3*i, 0, 0, 0, 0, time.UTC)
			date, start, end := day, "18:00", "21:00"
			if i == 7 {
				date, start, end = day.AddDate(0, 0, c.later), c.start, "09:00"
			}
			rows += fmt.Sprintf("%s,%s,%s,%s,done,,72.%d,70.%d\n", day.Format(time.DateOnly), date.Format(time.DateOnly), start, end, i*7%10, i*3%10)
		}
		found := ruleIn(t, "month-date-name", "", map[string]string{sessionsFile: rows})
		expectations(t, fmt.Sprintf("%d days later at %s", c.later, c.start), found, c.n, "", "")
	}
}

// A birth date at which neither height nor weight is usual, but both are at another
// age, is to be looked at; what is usual for one of them is not.
func TestBodyOfAnotherAge(t *testing.T) {
	for _, c := range []struct {
		born, height string
		kg           float64
		n            int
		expected     string
	}{
		{"1917-03-11", "127", 26, 1, "perhaps 2017-03-11"}, {"2017-03-11", "127", 26, 0, ""}, {"1987-03-11", "127", 26, 1, ""},
		{"1987-03-11", "127", 35, 0, ""}, {"1987-03-11", "127", 34.9, 1, ""}, {"1987-03-11", "140", 26, 0, ""}, {"1987-03-11", "139", 26, 1, ""},
		{"1987-03-11", "1.27", 26, 0, ""}, {"2007-11-10", "127", 26, 0, ""}, {"2007-11-09", "127", 26, 1, ""},
		{"2016-11-09", "151", 50, 0, ""}, {"2016-11-09", "152", 45, 0, ""}, {"2016-11-09", "152", 45.1, 1, ""}, {"2019-11-09", "134", 31, 1, ""}, {"2019-11-10", "134", 31, 0, ""},
		{"2012-11-10", "170", 61, 1, ""}, {"2012-11-09", "180", 70, 0, ""},
		{"2020-03-11", "172", 72, 1, ""}, {"1971-03-11", "172", 72, 0, ""}, {"1917-03-11", "172", 72, 1, "perhaps 1971-03-11"},
		// A child shorter and lighter than most of half its age.
		{"2008-11-09", "113", 20, 1, "perhaps 2018-11-09"}, {"2008-11-09", "127", 20, 0, ""}, {"2008-11-09", "126.9", 24.9, 1, ""}, {"2008-11-09", "113", 25, 0, ""},
		{"2017-11-09", "103", 15, 0, ""}, {"2017-11-09", "102", 15, 1, ""}, {"2017-11-09", "102", 16, 0, ""}, {"2022-11-09", "74", 8, 0, ""},
	} {
		rows := weighedHeadings
		for i := range 4 {
			rows += fmt.Sprintf("s%d,2025-11-0%d,18:0%d,21:00,done,,%.1f,%.1f\n", i, 3+2*i, i, c.kg, c.kg-1)
		}
		found := ruleIn(t, "month-birth-date", "birth_date = "+c.born+"\nheight_cm = "+c.height+"\n", map[string]string{sessionsFile: rows})
		expectations(t, fmt.Sprintf("%+v", c), found, c.n, "", c.expected)
	}
}

// Names that hold the days agree with the dates in nearly all of three sessions
// or more, or nothing is said of a year.
func TestYearOfNamesAtItsLimits(t *testing.T) {
	for _, c := range []struct {
		named, plain, shift, n int
	}{
		{3, 0, -1, 1}, {2, 0, -1, 0}, {5, 5, 1, 1}, {4, 5, 1, 1}, {3, 5, 1, 0}, {6, 0, 0, 0},
	} {
		rows := weighedHeadings
		for i := range c.named + c.plain {
			day := time.Date(2025, 11, 3+2*i, 0, 0, 0, 0, time.UTC)
			name := fmt.Sprint("s", i)
			if i < c.named {
				name = day.Format(time.DateOnly)
			}
			rows += fmt.Sprintf("%s,%s,18:0%d,21:00,done,,72.%d,70.%d\n", name, day.AddDate(c.shift, 0, 0).Format(time.DateOnly), i%7, i*7%10, i*3%10)
		}
		found := ruleIn(t, "month-year", "", map[string]string{sessionsFile: rows})
		expectations(t, fmt.Sprintf("%+v", c), found, c.n, "", "")
	}
}

// A birth date that makes a heavy person an infant is the one to mend; that of
// a child is not; one of more than 100 years is to be looked at.
func TestBirthDateAtItsLimits(t *testing.T) {
	for _, c := range []struct {
		born     string
		kg       float64
		n        int
		severity issue.Severity
		expected string
	}{
		{"2022-11-09", 72, 0, 0, ""}, {"2022-11-10", 72, 1, issue.Error, "perhaps 1922-11-10"}, {"2022-11-10", 30, 0, 0, ""}, {"2022-11-10", 30.1, 1, issue.Error, ""}, {"2022-11-10", 36, 1, issue.Error, "perhaps 1922-11-10"},
		{"1925-11-09", 72, 0, 0, ""}, {"1925-11-08", 72, 1, issue.Warning, "perhaps 1952-11-08"}, {"1910-11-09", 72, 1, issue.Warning, ""}, {"1910-11-08", 72, 1, issue.Error, ""},
		{"2026-01-01", 72, 1, issue.Error, "perhaps 1926-01-01"},
	} {
		rows := weighedHeadings
		for i := range 4 {
			rows += fmt.Sprintf("s%d,2025-11-0%d,18:0%d,21:00,done,,%.1f,%.1f\n", i, 3+2*i, i, c.kg, c.kg-1)
		}
		found := ruleIn(t, "month-birth-date", "birth_date = "+c.born+"\n", map[string]string{sessionsFile: rows})
		expectations(t, fmt.Sprintf("born %s, %v kg", c.born, c.kg), found, c.n, "", c.expected)
		if c.n > 0 && found[0].Severity != c.severity {
			t.Errorf("born %s: %v", c.born, found[0].Severity)
		}
	}
}

// Three readings in a row with the same three values or more are copied, two are
// not; so are two values or more in two readings that all come again in another
// session.
func TestCopiedReadingsAtTheirLimits(t *testing.T) {
	const sessions = "session,date,start,end,status\na,2025-11-03,14:00,17:00,done\nb,2025-11-10,14:00,17:00,done\n"
	const heads = "session,time,bp_systolic_mmhg,bp_diastolic_mmhg,pulse_per_min\n"
	for _, c := range []struct {
		what string
		rows []string
		n    int
	}{
		{"three in a row", []string{"a 131,74,70", "a 131,74,70", "a 131,74,70"}, 1},
		{"four in a row, told once", []string{"a 131,74,70", "a 131,74,70", "a 131,74,70", "a 131,74,70"}, 1},
		{"two in a row", []string{"a 131,74,70", "a 131,74,70", "a 129,74,70"}, 0},
		{"three apart", []string{"a 131,74,70", "a 131,74,70", "a 129,74,70", "a 131,74,70"}, 0},
		{"two values each", []string{"a 131,74,", "a 131,74,", "a 131,74,"}, 0},
		{"across sessions", []string{"a 131,74,70", "a 131,74,70", "b 131,74,70"}, 0},
		{"a whole session", []string{"a 131,74,70", "a 129,73,71", "b 131,74,70", "b 129,73,71"}, 1},
		{"one reading", []string{"a 131,74,70", "b 131,74,70"}, 0},
		{"too few values", []string{"a 131,74,70", "a 129,73,", "b 131,74,70", "b 129,73,"}, 0},
		{"one that differs", []string{"a 131,74,70", "a 129,73,71", "b 131,74,70", "b 129,73,72"}, 0},
	} {
		readings := heads
		for i, row := range c.rows {
			id, values, _ := strings.Cut(row, " ")
			readings += fmt.Sprintf("%s,14:%d,%s\n", id, 10+10*i, values)
		}
		expectations(t, c.what, ruleIn(t, "month-copied", "", map[string]string{sessionsFile: sessions, "readings.csv": readings}), c.n, "", "")
	}
}

// A reading copied down is told with all its cells, in place of the one that does not
// fit, where hardly any other reading is like the one before it.
func TestOneReadingCopiedAtItsLimits(t *testing.T) {
	files := func(n int) map[string]string {
		readings := "session,time,bp_systolic_mmhg,bp_diastolic_mmhg,pulse_per_min,arterial_pressure_mmhg,venous_pressure_mmhg,uf_rate_l_h,uf_so_far_l\n"
		for i := range 4 * n {
			readings += fmt.Sprintf("s%d,%d:10,%d,%d,%d,%d,%d,0.6,%.1f\n", i/4, 14+i%4, 128+i*7%11, 70+i*5%9, 66+i*3%7, -120-i*7%13, 110+i*5%12, 0.6*float64(i%4)+0.1)
		}
		return map[string]string{sessionsFile: mondays(n, "uf_removed_l", everyRow("1.9")), readingsFile: readings}
	}
	copied := func(row int, files map[string]string, so string) map[string]string {
		rows := strings.Split(files[readingsFile], "\n")
		id, _, _ := strings.Cut(rows[row-1], ",")
		at := strings.Split(rows[row-1], ",")[1]
		rows[row-1] = id + "," + at + "," + strings.Join(strings.Split(rows[row-2], ",")[2:], ",") + so
		files[readingsFile] = strings.Join(rows, "\n")
		return files
	}
	const rules = "month-copied clin-uf-falls clin-apart clin-uf-rate"
	if got := told(t, rules, "", files(4)); got != "" {
		t.Errorf("none is copied: %s", got)
	}
	if got := told(t, rules, "", copied(8, files(4), "")); got != "month-copied 8.session  -> " {
		t.Errorf("one is copied: %s", got)
	}
	if got := told(t, rules, "", copied(8, files(4), "1")); strings.Contains(got, "month-copied") { // one number is another
		t.Errorf("one number is another: %s", got)
	}
	if got := told(t, rules, "", copied(8, copied(12, files(4), ""), "")); strings.Contains(got, "month-copied") {
		t.Errorf("several are alike: %s", got)
	}
}

// A column that is full but for the very last row has slipped up, in a log of
// twenty readings or more.
func TestColumnThatSlippedAtItsLimits(t *testing.T) {
	for _, c := range []struct{ rows, empty, n int }{
		{20, 19, 1}, {19, 18, 0}, {20, 18, 0}, {20, -1, 0}, {30, 29, 1},
	} {
		sessions, readings := "session,date,start,end,status\n", "session,time,bp_systolic_mmhg,bp_diastolic_mmhg,pulse_per_min,arterial_pressure_mmhg,venous_pressure_mmhg\n"
		for i := range c.rows {
			if i%2 == 0 {
				sessions += fmt.Sprintf("s%d,%s,14:00,17:00,done\n", i/2, monday(i/2))
			}
			pulse := fmt.Sprint(66 + i*7%13)
			if i == c.empty {
				pulse = ""
			}
			readings += fmt.Sprintf("s%d,1%d:30,%d,%d,%s,-1%d,1%d\n", i/2, 4+i%2, 120+i*7%19, 70+i*5%17, pulse, 20+i*3%30, 30+i*11%23)
		}
		found := ruleIn(t, "month-column-slipped", "", map[string]string{sessionsFile: sessions, "readings.csv": readings})
		expectations(t, fmt.Sprintf("%+v", c), found, c.n, "", "")
	}
}

// A value half as far again beyond the usual is called nearly usual; where the
// usual begins above zero, so is one two thirds of its low end.
func TestNearlyUsualAtItsLimits(t *testing.T) {
	for _, c := range []struct {
		low, high, value float64
		want             bool
	}{
		{10, 20, 30, true}, {10, 20, 30.1, false}, {10, 20, 6.7, true}, {10, 20, 6.6, false},
		{0, 20, -10, true}, {0, 20, -10.1, false}, {0, 20, 30, true}, {-250, -20, 105, true}, {-250, -20, 105.1, false}, {-250, -20, -375, true}, {-250, -20, -375.1, false},
	} {
		if got := nearlyUsual(c.value, profiles.Limit{SoftLow: c.low, SoftHigh: c.high}); got != c.want {
			t.Errorf("%v beside %v to %v: %v", c.value, c.low, c.high, got)
		}
	}
}

// An unusual value is told at its cell; four of them on one side are told once,
// and say on which side.
func TestUnusualValuesAreGathered(t *testing.T) {
	for _, c := range []struct {
		pressures []int
		n, cells  int
		details   string
	}{
		{[]int{250, 140}, 0, 0, ""}, {[]int{280}, 1, 1, "the venous pressure is unusual: higher than most people's"},
		{[]int{280, 281, 282}, 3, 1, "the venous pressure is unusual: higher than most people's"},
		{[]int{280, 281, 282, 283}, 1, 4, "the venous pressure is unusual 4 times in this log: higher than most people's"},
		{[]int{-30, -31, -32, -33}, 1, 4, "the venous pressure is unusual 4 times in this log: lower than most people's"},
	} {
		sessions, readings := "session,date,start,end,status\n", "session,time,venous_pressure_mmhg\n"
		for i, p := range c.pressures {
			sessions += fmt.Sprintf("s%d,%s,14:00,17:00,done\n", i, monday(i))
			readings += fmt.Sprintf("s%d,15:00,%d\n", i, p)
		}
		found := ruleIn(t, "clin-unusual", "", map[string]string{sessionsFile: sessions, "readings.csv": readings})
		expectations(t, fmt.Sprint(c.pressures), found, c.n, "", "")
		if c.n > 0 && (found[0].Details.String() != c.details || len(found[0].Cells) != c.cells) {
			t.Errorf("%v: %q at %d cells", c.pressures, found[0].Details, len(found[0].Cells))
		}
	}
}

// Fluid and weights: where rate and time bear the fluid out, the weight further
// from the others is named with what would fit.
func TestWeightThatDoesNotFitIsNamed(t *testing.T) {
	sessions := "session,date,start,end,status,weight_before_kg,weight_after_kg,uf_removed_l,treated_min,drinks_l\n"
	readings := "session,time,uf_rate_l_h\n"
	for i := range 9 {
		before, after := 72.0+float64(i%3)/10, 70.0+float64(i%3)/10
		switch i {
		case 4:
			after += 1.5
		case 7:
			before -= 1.3
		}
		sessions += fmt.Sprintf("s%d,%s,14:00,17:00,done,%.1f,%.1f,2.0,180,0\n", i, monday(i), before, after)
		readings += fmt.Sprintf("s%d,15:00,0.67\ns%d,16:00,0.67\n", i, i)
	}
	found := ruleIn(t, "clin-uf-weights", "", map[string]string{sessionsFile: sessions, "readings.csv": readings})
	expectations(t, "after too high, before too low", found, 2, "71.6", "about 70.1 kg")
	if len(found) == 2 && (found[1].Value != "70.8" || found[1].Expected.String() != "about 72.1 kg") {
		t.Errorf("%q, %q", found[1].Value, found[1].Expected)
	}
}

// Thirty pressures of which more than eight in ten end alike are rounded.
func TestRoundedPressuresAtTheirLimits(t *testing.T) {
	for _, c := range []struct {
		total, even, n int
		value          string
	}{
		{30, 26, 1, "26 of 30 end in 0"}, {30, 25, 0, ""}, {29, 29, 0, ""}, {40, 34, 1, "34 of 40 end in 0"}, {40, 33, 0, ""},
	} {
		sessions, readings := "session,date,start,end,status\n", "session,time,bp_systolic_mmhg,bp_diastolic_mmhg\n"
		for i := range c.total {
			if i%5 == 0 {
				sessions += fmt.Sprintf("s%d,%s,14:00,19:00,done\n", i/5, monday(i/5))
			}
			systolic := 120 + 10*(i*3%4)
			if i >= c.even {
				systolic += 1 + i%9
			}
			readings += fmt.Sprintf("s%d,1%d:30,%d,%d\n", i/5, 4+i%5, systolic, 70+i*7%19)
		}
		found := ruleIn(t, "month-digits", "", map[string]string{sessionsFile: sessions, "readings.csv": readings})
		expectations(t, fmt.Sprintf("%d of %d", c.even, c.total), found, c.n, c.value, "")
	}
}

// A time until recovery is taken for hours where it is less than a fifth of all
// others, and as hours among them.
func TestRecoveryInHoursAtItsLimits(t *testing.T) {
	for _, c := range []struct {
		others []int
		value  string
		n      int
	}{
		{[]int{60, 90, 120, 60}, "2", 1}, {[]int{60, 90, 120}, "2", 0}, {[]int{60, 90, 120, 60}, "4", 1}, {[]int{60, 90, 120, 60}, "5", 0},
		{[]int{60, 90, 120, 60}, "12", 0}, {[]int{25, 90, 120, 60}, "4", 1}, {[]int{20, 90, 120, 60}, "4", 0}, {[]int{60, 90, 120, 60}, "0", 0},
	} {
		rows := "session,date,start,end,status,recovery_min\n"
		for i, minutes := range c.others {
			rows += fmt.Sprintf("s%d,%s,14:00,17:00,done,%d\n", i, monday(i), minutes)
		}
		rows += "x," + monday(20) + ",14:00,17:00,done," + c.value + "\n"
		expected := ""
		if c.value == "2" {
			expected = "perhaps 120 min"
		}
		expectations(t, fmt.Sprint(c.others, c.value), ruleIn(t, "clin-unlike-own", "", map[string]string{sessionsFile: rows}), c.n, c.value, expected)
	}
}

// Dates a year early and a year late in one log are no slip of the whole log.
func TestYearsOffInBothDirections(t *testing.T) {
	for _, c := range []struct{ late, n int }{{0, 1}, {5, 0}} {
		rows := weighedHeadings
		for i := range 10 {
			day := time.Date(2025, 11, 3+2*i, 0, 0, 0, 0, time.UTC)
			shift := -1
			if i < c.late {
				shift = 1
			}
			rows += fmt.Sprintf("%s,%s,18:0%d,21:00,done,,72.%d,70.%d\n", day.Format(time.DateOnly), day.AddDate(shift, 0, 0).Format(time.DateOnly), i%7, i*7%10, i*3%10)
		}
		expectations(t, fmt.Sprint(c.late, " late"), ruleIn(t, "month-year", "", map[string]string{sessionsFile: rows}), c.n, "", "")
	}
}

// Two halves of a blood pressure that stand in each other's place have a rule
// of their own and are not told twice.
func TestHalvesOfAPressureAreToldOnce(t *testing.T) {
	rows := "session,date,start,end,status,bp_before_systolic_mmhg,bp_before_diastolic_mmhg\n"
	for i := range 8 {
		pair := fmt.Sprintf("%d,%d", 140+i, 80-i)
		if i == 5 {
			pair = "15,140"
		}
		rows += fmt.Sprintf("s%d,%s,14:00,17:00,done,%s\n", i, monday(i), pair)
	}
	for rule, n := range map[string]int{"clin-exchanged": 0, "clin-bp-swapped": 1} {
		expectations(t, rule, ruleIn(t, rule, "", map[string]string{sessionsFile: strings.Replace(rows, "15,140", "75,140", 1)}), n, "", "")
	}
	expectations(t, "one half impossible", ruleIn(t, "clin-exchanged", "", map[string]string{sessionsFile: rows}), 0, "", "")
}
