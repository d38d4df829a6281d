package check

import (
	"fmt"
	"strings"
	"testing"
	"testing/fstest"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

func TestValuesOutOfTheOrdinary(t *testing.T) {
	tests := []struct {
		name, in, heading string
		write             func(*testing.T, *sheetOf, int, *string)
		rule              string
	}{
		{"gain", sessionsFile, "weight_before_kg", func(t *testing.T, s *sheetOf, row int, cell *string) {
			*cell = fmt.Sprintf("%.1f", number(t, *cell)+4)
			*s.cell(t, row, "weight_after_kg") = fmt.Sprintf("%.1f", number(t, *s.cell(t, row, "weight_after_kg"))+4)
		}, "clin-weight-gain"},
		{"far from the mean", sessionsFile, "weight_after_kg", func(t *testing.T, s *sheetOf, row int, cell *string) {
			*cell = fmt.Sprintf("%.1f", number(t, *cell)+6)
			*s.cell(t, row, "weight_before_kg") = fmt.Sprintf("%.1f", number(t, *s.cell(t, row, "weight_before_kg"))+6)
		}, "clin-weight-far"},
		{"unusual", sessionsFile, "temperature_before_c", text("39.4"), "clin-unusual"},
		{"steady UF rate", sessionsFile, "uf_removed_l", func(t *testing.T, s *sheetOf, row int, cell *string) {
			before := s.cell(t, row, "weight_before_kg")
			*before = fmt.Sprintf("%.1f", number(t, *before)+0.9)
			*cell = fmt.Sprintf("%.2f", number(t, *cell)+0.9)
			*s.cell(t, row, "weight_after_kg") = "not done"
		}, "clin-uf-rate"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			folder := monthOf(honest[0], 400)
			s := open(t, folder, tt.in)
			row := s.heldRow(t, 9)
			tt.write(t, s, row, s.cell(t, row, tt.heading))
			s.save(folder, tt.in)
			wantFinding(t, folder, issue.Cell{File: tt.in, Row: row, Column: s.column(t, tt.heading) + 1, Heading: tt.heading}, tt.rule, "", "")
		})
	}
}

const aboutNoPlan = `[log]
format = 1
id = "0b2f3f8e-6f0e-4d5e-9a43-3f1f6f1f0a11"
time_zone = "Europe/London"
[patient]
identifier_system = "urn:oid:2.25.1"
identifier_value = "1"
`

// rulesOf are the rules found in a log without prescription, information too.
func rulesOf(t *testing.T, sessions, labs string) map[string]issue.Severity {
	t.Helper()
	folder := fstest.MapFS{"log.toml": {Data: []byte(aboutNoPlan)}, sessionsFile: {Data: []byte(sessions)}}
	if labs != "" {
		folder["labs.csv"] = &fstest.MapFile{Data: []byte(labs)}
	}
	log, findings, err := session.ReadFS(folder, session.Options{})
	if err != nil {
		t.Fatal(err)
	}
	rules := map[string]issue.Severity{}
	for _, f := range append(findings, Check(log, nil)...) {
		rules[f.Rule] = f.Severity
	}
	return rules
}

const weighedHeadings = "session,date,start,end,status,reason,weight_before_kg,weight_after_kg\n"

func TestSkippedSessionsNeedNothing(t *testing.T) {
	rules := rulesOf(t, weighedHeadings+"a,2025-11-03,,,not done,felt ill,,\n", "")
	if len(rules) != 1 { // about-empty only
		t.Errorf("a skipped session with a reason raises %v", rules)
	}
	rules = rulesOf(t, weighedHeadings+"a,2025-11-03,,,not done,,,\n", "")
	if s, ok := rules["clin-reason-missing"]; !ok || s != issue.Information {
		t.Errorf("a skipped session without a reason raises %v", rules)
	}
}

func TestSessionCutShortMayBeSmall(t *testing.T) {
	rules := rulesOf(t, "session,date,start,end,status,reason,weight_before_kg,weight_after_kg,dialysate_l,blood_processed_l,treated_min\n"+
		"a,2025-11-03,18:00,18:20,cut short,clotted,72.0,71.9,0.5,3.1,12\n", "")
	if len(rules) != 1 { // about-empty only
		t.Errorf("a session cut short raises %v", rules)
	}
}

// TestWeightsNearTheDryWeightAreRight: when most weights are in pounds, the
// few in kilograms are not the ones to mend.
func TestWeightsNearTheDryWeightAreRight(t *testing.T) {
	folder := monthOf(honest[0], 500)
	s := open(t, folder, sessionsFile)
	right := s.heldRow(t, 8)
	for row := 2; row <= len(s.rows); row++ {
		for _, heading := range []string{"weight_before_kg", "weight_after_kg"} {
			if cell := s.cell(t, row, heading); *cell != "" && row != right {
				times(2.20462, "%.1f")(t, s, row, cell)
			}
		}
	}
	s.save(folder, sessionsFile)
	for _, f := range checkFolder(t, folder) {
		if f.Rule != "clin-pounds" || f.Cells[0].Row == right {
			t.Errorf("%s at %v", f.Rule, f.Cells)
		}
	}
}

// Of a weight before and a higher one after, the one that is far from the
// other weights is the one to mend, alone.
func TestTheWeightThatIsOffIsNamed(t *testing.T) {
	for _, tt := range []struct{ heading, other, value string }{
		{"weight_after_kg", "weight_before_kg", "78.4"}, // for 70.5 or so
		{"weight_before_kg", "weight_after_kg", "62.3"},
	} {
		for seed := range uint64(5) {
			folder := monthOf(honest[0], 300+seed)
			s := open(t, folder, sessionsFile)
			row := s.heldRow(t, 8)
			right := *s.cell(t, row, tt.other)
			*s.cell(t, row, tt.heading) = tt.value
			s.save(folder, sessionsFile)
			findings := checkFolder(t, folder)
			if len(findings) != 1 || findings[0].Rule != "clin-uf-weights" ||
				findings[0].Cells[0].Heading != tt.heading || findings[0].Value != tt.value || !strings.Contains(findings[0].Expected.String(), " 7") {
				t.Errorf("%s beside %s: found %v", tt.heading, right, findings)
			}
		}
	}
}

// 0 is a measured amount of what may be none, and of a treatment that was not.
func TestZeroAmountsAreRight(t *testing.T) {
	rules := rulesOf(t, "session,date,start,end,status,weight_before_kg,weight_after_kg,drinks_l,saline_l,rinseback_l,urine_l,uf_goal_l,uf_removed_l\n"+
		"a,2025-11-03,18:00,21:00,done,72.0,72.0,0,0,0,0,0,0.0\n", "")
	if len(rules) != 1 { // about-empty only
		t.Errorf("amounts of 0 raise %v", rules)
	}
	rules = rulesOf(t, "session,date,start,end,status,reason,treated_min,dialysate_l,blood_processed_l,uf_removed_l\n"+
		"a,2025-11-03,,,not done,felt ill,0,0,0,0\n", "")
	if len(rules) != 1 {
		t.Errorf("no treatment at all raises %v", rules)
	}
}

func TestAbsenceInWordsIsNoWarning(t *testing.T) {
	for _, word := range []string{"not done", "?", "n/a"} {
		rules := rulesOf(t, weighedHeadings+"a,2025-11-03,18:00,21:00,done,,72.0,"+word+"\n", "")
		if s, ok := rules["clin-weight-missing"]; !ok || s != issue.Information {
			t.Errorf("weight after %q raises %v", word, rules)
		}
	}
}

func TestGapWithoutPlan(t *testing.T) {
	rules := rulesOf(t, weighedHeadings+"a,2025-11-03,18:00,21:00,done,,72.0,70.5\nb,2025-11-12,18:00,21:00,done,,72.0,70.6\n", "")
	if _, ok := rules["month-gap"]; !ok {
		t.Errorf("nine days without a row raise %v", rules)
	}
}

// A row whose date cannot be read may be the one that seems to lack.
func TestNoGapBesideUnreadableDates(t *testing.T) {
	rows := "session,date,start,end,status\na,2025-11-03,18:30,21:30,done\nb,%s,18:30,21:30,done\nc,2025-11-12,18:30,21:30,done\n"
	if got := rulesOf(t, fmt.Sprintf(rows, "3/4/2025"), ""); got["log-date-ambiguous"] != issue.Error || got["month-gap"] != 0 {
		t.Errorf("beside an unreadable date: %v", got)
	}
	if got := rulesOf(t, fmt.Sprintf(rows, "2025-11-04"), ""); got["month-gap"] != issue.Warning {
		t.Errorf("between readable dates: %v", got)
	}
}

func TestSampleTimes(t *testing.T) {
	rules := rulesOf(t, weighedHeadings+"a,2025-11-03,18:00,21:00,done,,72.0,70.5\n",
		"session,drawn_time,when,test,value,unit\na,20:40,before,urea,22,mmol/L\n")
	if _, ok := rules["clin-sample-time"]; !ok {
		t.Errorf("a sample before, drawn near the end, raises %v", rules)
	}
}

// TestPlannedWeekdays: with the days prescribed, the missing day is named, and
// a session moved by a day is none.
func TestPlannedWeekdays(t *testing.T) {
	about := aboutNoPlan + "[[prescription]]\nvalid_from = 2025-01-01\nweekdays = [\"mon\", \"wed\", \"Friday\"]\n"
	days := []string{"2025-11-03", "2025-11-05", "2025-11-07", "2025-11-10", "2025-11-12", "2025-11-14", "2025-11-17", "2025-11-19", "2025-11-21"}
	absent := func(change func(i int, day string) string) []issue.Finding {
		rows := "session,date,start,end,status,weight_before_kg,weight_after_kg\n"
		for i, day := range days {
			if day = change(i, day); day != "" {
				rows += fmt.Sprintf("s%d,%s,18:00,22:00,done,72.%d,70.%d\n", i, day, i, 8-i)
			}
		}
		var found []issue.Finding
		for _, f := range checkFolder(t, fstest.MapFS{"log.toml": {Data: []byte(about)}, sessionsFile: {Data: []byte(rows)}}) {
			if f.Rule == "month-session-absent" {
				found = append(found, f)
			}
		}
		return found
	}
	if found := absent(func(_ int, day string) string { return day }); len(found) > 0 {
		t.Errorf("nothing missing: %v", found)
	}
	found := absent(func(i int, day string) string {
		if i == 4 {
			return ""
		}
		return day
	})
	if len(found) != 1 || found[0].Expected.String() != "a row for 2025-11-12" || found[0].Cells[0].Row != 5 {
		t.Errorf("Wednesday missing: %+v", found)
	}
	for status, want := range map[string]int{"cut short": 1, "done": 0} {
		rows := "session,date,start,end,status,weight_before_kg,weight_after_kg\n"
		for i, day := range days {
			switch i {
			case 3:
				rows += fmt.Sprintf("s3,%s,18:00,19:00,%s,72.3,71.9\n", day, status)
			case 4:
				rows += fmt.Sprintf("s4,%s,21:30,23:50,done,72.0,70.4\n", days[3])
			default:
				rows += fmt.Sprintf("s%d,%s,18:00,22:00,done,72.%d,70.%d\n", i, day, i, 8-i)
			}
		}
		found := 0
		for _, f := range checkFolder(t, fstest.MapFS{"log.toml": {Data: []byte(aboutNoPlan + "[[prescription]]\nvalid_from = 2025-01-01\nsessions_per_week = 3\n")}, sessionsFile: {Data: []byte(rows)}}) {
			if f.Rule == "month-session-absent" {
				found++
			}
		}
		if found != want {
			t.Errorf("%s and another two hours later, Wednesday missing: %d findings, want %d", status, found, want)
		}
	}
	if found := absent(func(i int, day string) string {
		if i == 4 {
			return "2025-11-13"
		}
		return day
	}); len(found) > 0 {
		t.Errorf("Wednesday moved to Thursday: %v", found)
	}
}
