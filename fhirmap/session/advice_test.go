package session

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"runsheet.example/validate/issue"
)

// A log.toml that cannot be read may hold the date style and decimal mark all
// the same: nobody is asked for them again, and the line to mend is shown.
func TestUnreadableAboutAsksForNothingElse(t *testing.T) {
	rows := heads + "a,03/04/2025,18:30,21:30,done,\"2,150\",135\nb,05/04/2025,18:30,21:30,done,72,135\n"
	dmy := strings.Replace(aboutOK, `"iso"`, `"dmy"`, 1)
	for broken, line := range map[string]string{
		strings.Replace(dmy, `sex = "female"`, "sex = female", 1):                `sex = female`,
		strings.Replace(dmy, `sex = "female"`, `sex = "female`, 1):               `sex = "female`,
		strings.Replace(dmy, `sex = "female"`, "sex =", 1):                       `sex =`,
		strings.Replace(dmy, `sex = "female"`, "\tsex = “female”\r", 1):          `sex = “female”`,
		strings.Replace(dmy, "height_cm = 165", "height_cm = 165 cm", 1):         `height_cm = 165 cm`,
		strings.Replace(dmy, "height_cm = 165", "height_cm = 1,65", 1):           `height_cm = 1,65`,
		strings.Replace(dmy, "birth_date = 1961-02-03", "sex = \"female\"", 1):   `sex = "female"`,
		strings.Replace(dmy, "birth_date = 1961-02-03", "birth date = \"x\"", 1): `birth date = "x"`,
	} {
		log, findings := read(t, map[string]string{aboutFile: broken, "sessions.csv": rows})
		if len(findings) != 1 || findings[0].Rule != "about-syntax" || findings[0].Value != line {
			t.Errorf("%s: found %q, want about-syntax alone", line, said(findings))
			continue
		}
		if !strings.Contains(findings[0].Mend.String(), `"quotation marks"`) {
			t.Errorf("%s: mend %q", line, findings[0].Mend)
		}
		if !log.Sessions[0].Broken || !log.Sessions[1].Broken {
			t.Errorf("%s: a session can be sent without log.toml", line)
		}
	}
	if _, findings := read(t, map[string]string{aboutFile: strings.Replace(aboutOK, `decimal_mark = "."`, "", 1), "sessions.csv": rows}); len(findings) != 3 {
		t.Errorf("with log.toml: found %q, want two dates and a decimal mark", said(findings))
	}
}

// A blood pressure written in one cell is taken apart for the person, who is
// told where each number goes.
func TestTwoPressuresInOneCell(t *testing.T) {
	for columns, want := range map[string]string{
		"bp_before_systolic_mmhg,bp_before_diastolic_mmhg":                   "142 here and 82 in the next column",
		"bp_before_systolic_mmhg,notes,bp_before_diastolic_mmhg":             "142 here and 82 in the column for the lower number",
		"bp_before_diastolic_mmhg,bp_before_systolic_mmhg":                   "82 here and 142 in the column for the higher number",
		"bp_before_standing_systolic_mmhg,bp_before_standing_diastolic_mmhg": "142 here and 82 in the next column",
		"bp_before_systolic_mmhg,bp_after_diastolic_mmhg":                    "",
	} {
		for _, text := range []string{"142/82", "142 / 82"} {
			_, findings := read(t, map[string]string{"sessions.csv": "session,date,start,end,status," + columns + "\na,2025-11-03,18:30,21:30,done," + text + "\n"})
			if len(findings) != 1 || findings[0].Rule != "log-two-numbers" || findings[0].Expected.String() != want || findings[0].Value != text {
				t.Errorf("%s in %s: found %+v, want %q", text, columns, findings, want)
			}
		}
	}
}

// What a mistyped time or number may have meant is shown in each reading.
func TestAdviceForTimesAndNumbers(t *testing.T) {
	const headings = "session,date,start,end,status,weight_before_kg,treated_min\n"
	comma := strings.Replace(aboutOK, `decimal_mark = "."`, `decimal_mark = ","`, 1)
	comma = strings.Replace(comma, `"10.0"`, `"10,0"`, 1)
	for _, tt := range []struct{ about, row, rule, value, want string }{
		{aboutOK, `a,2025-11-03,"18,33",21:30,done,72.6,165`, "log-time", "18,33", "18:20 if these are hours with decimals, 18:33 if they are hours and minutes"},
		{aboutOK, `a,2025-11-03,18.75,21:30,done,72.6,165`, "log-time", "18.75", "18:45 if these are hours with decimals"},
		{aboutOK, `a,2025-11-03,18.5,21:30,done,72.6,165`, "log-time", "18.5", "18:30 if these are hours with decimals"},
		{aboutOK, `a,2025-11-03,0.1125,21:30,done,72.6,165`, "log-time", "0.1125", "perhaps 02:42"},
		{aboutOK, `a,2025-11-03,18:30,21:30,done,72.6,2:42`, "log-number", "2:42", "perhaps 162"},
		{comma, `a,2025-11-03,18:30,21:30,done,1.500,165`, "log-thousands", "1.500", "1500 or 1,500"},
		{aboutOK, `a,2025-11-03,18:30,21:30,done,"1,500",165`, "log-thousands", "1,500", "1500 or 1.500"},
	} {
		_, findings := read(t, map[string]string{aboutFile: tt.about, "sessions.csv": headings + tt.row + "\n"})
		if len(findings) != 1 || findings[0].Rule != tt.rule || findings[0].Value != tt.value || !strings.HasPrefix(findings[0].Expected.String(), tt.want) {
			t.Errorf("%s: found %+v, want %q", tt.row, findings, tt.want)
		}
	}
}

// A declared form of times is read, to the minute.
func TestDeclaredTimes(t *testing.T) {
	for form, texts := range map[string][2]string{"18.5": {"18,33", "18:20"}, "18.30": {"18.33", "18:33"}, "1830": {"1833", "18:33"}, "18h30": {"18h33", "18:33"}} {
		about := strings.Replace(aboutOK, "[log]\n", "[log]\ntime_form = \""+form+"\"\n", 1)
		log, findings := read(t, map[string]string{aboutFile: about, "sessions.csv": row("2025-11-03", `"`+texts[0]+`"`)})
		if len(findings) > 0 || log.Sessions[0].Start.Time.Format("15:04") != texts[1] {
			t.Errorf("%s: %q is %v (%v), want %s", form, texts[0], log.Sessions[0].Start.Time, findings, texts[1])
		}
	}
}

// Times that are all written in a form that is not declared are one finding,
// which names the declaration; the sessions are held back.
func TestUndeclaredTimes(t *testing.T) {
	const mixed = "17h58 18:7x 17h40 21h10 18h05 21h30"
	for texts, want := range map[string]string{
		"17h58 21h00 17h40 21h10 18h05 21h30":       `time_form = "18h30" in log.toml`,
		"1758 2100 1740 2110 1805 2130":             `time_form = "1830" in log.toml`,
		"17.58 21.00 17.40 21.10 18.05 21.30":       `time_form = "18.30" or time_form = "18.5" in log.toml`,
		"17.97 21.00 17.67 21.17 18.08 21.5":        `time_form = "18.5" in log.toml`,
		"0.7486 0.8750 0.7361 0.8819 0.7535 0.8958": "",
		mixed: "",
	} {
		rows := "session,date,start,end,status\n"
		clocks := strings.Fields(texts)
		for i := range 3 {
			rows += fmt.Sprintf("s%d,2025-11-0%d,%s,%s,done\n", i, i+3, clocks[2*i], clocks[2*i+1])
		}
		log, findings := read(t, map[string]string{aboutFile: aboutOK, "sessions.csv": rows})
		one := len(findings) == 1 && findings[0].Rule == "log-time" && findings[0].Expected.String() == want && len(findings[0].Cells) == 6
		if want != "" && !one || want == "" && len(findings) < 6 {
			t.Errorf("%s: found %+v", texts, findings)
		}
		if !log.Sessions[0].Broken || !log.Sessions[2].Broken {
			t.Errorf("%s: a session without times is ready", texts)
		}
	}
}

// A comma without quotation marks is one finding, at its cell, whatever stands
// behind it; the session is held back.
func TestUnquotedComma(t *testing.T) {
	const headings = "session,date,start,end,status,weight_before_kg,weight_after_kg,bp_before_systolic_mmhg,bp_before_diastolic_mmhg,pulse_before_per_min,uf_removed_l,dialysate_l,treated_min\n"
	sound := []string{"a", "2025-11-03", "18:30", "21:30", "done", "67.4", "65.9", "142", "82", "70", "1.9", "27.5", "165"}
	for i := 5; i < len(sound); i++ {
		cells := append([]string(nil), sound...)
		if !strings.Contains(cells[i], ".") {
			continue
		}
		cells[i] = strings.Replace(cells[i], ".", ",", 1)
		for about, rest := range map[string]string{aboutOK: "", strings.Replace(aboutOK, `decimal_mark = "."`, "", 1): ""} {
			log, findings := read(t, map[string]string{aboutFile: about, "sessions.csv": headings + strings.Join(cells, ",") + rest + "\n"})
			if len(findings) != 1 || findings[0].Rule != "log-row-too-long" || findings[0].Value != cells[i] || findings[0].Expected.String() != sound[i] || findings[0].Cells[0].Column != i+1 {
				t.Errorf("%s: found %+v", cells[i], findings)
			}
			if !log.Sessions[0].Broken || log.Sessions[0].Value("treated_time").Text != "165" {
				t.Errorf("%s: broken %v, treated %q", cells[i], log.Sessions[0].Broken, log.Sessions[0].Value("treated_time").Text)
			}
		}
	}
}

// A separator lost or put in, a part moved and two cells run together are one
// finding each, where the row goes wrong, and the other cells are read under
// their headings.
func TestMovedCells(t *testing.T) {
	const headings = "session,date,start,end,clock_change,status,weight_before_kg,bp_before_systolic_mmhg,bp_before_diastolic_mmhg,dry_weight_kg,uf_removed_l,dialysate_l,treated_min,notes"
	const sound = "b,2025-11-04,18:30,21:30,,done,67.4,142,82,,1.9,27.5,165,"
	heading := strings.Split(headings, ",")
	cells := strings.Split(sound, ",")
	tests := map[string]string{ // the row and where it goes wrong
		"b,2025-11-04,18:30,21:30,,done,67.4,142,82,1.9,27.5,165,,":       "dry_weight_kg",
		"b,2025-11-04,18:30,21:30,,done,67.4,14282,,1.9,27.5,165,":        "bp_before_systolic_mmhg",
		"b,2025-11-04,18:3021:30,,done,67.4,142,82,,1.9,27.5,165,":        "start",
		"b,2025-11-04,18:30,21:30,done,67.4,142,82,,1.9,27.5,165,":        "clock_change",
		"b,2025-11-04,18:30,21:30,,done,67.4,142,82,1.9,27.5,165,well":    "dry_weight_kg",
		"b,2025-11-04,18:30,21:30,,done,67.4,142,82,,1.9,27.5,165,,,":     "",
		"b,2025-11-04,18:30,21:30,,done,67.4,142,82,71,1.9,27.5,165,well": "",
	}
	for i := range cells[:9] {
		if cells[i] != "" {
			tests[strings.Join(slices.Insert(slices.Clone(cells), i, ""), ",")] = heading[i]
		}
	}
	for text, want := range tests {
		log, findings := read(t, map[string]string{"sessions.csv": headings + "\na" + sound[1:] + "\n" + text + "\n"})
		told := len(findings) == 1 && findings[0].Rule == "log-row-shifted" && findings[0].Cells[0].Heading == want
		if want != "" && !told || want == "" && len(findings) > 0 {
			t.Errorf("%s: want %q, found %+v", text, want, findings)
		}
		at := slices.IndexFunc(log.Sessions, func(s *Session) bool { return s.ID == "b" })
		if s := log.Sessions[max(at, 0)]; s.ID != "b" || s.Broken != (want != "") || s.Value("treated_time").Text != "165" {
			t.Errorf("%s: read as %q, broken %v", text, s.ID, s.Broken)
		}
	}
}

// What a person writes for a time zone or a number of log.toml is mended in
// their own terms.
func TestAdviceOfAbout(t *testing.T) {
	for _, c := range []struct{ old, new, want string }{
		{"Europe/London", "London", "perhaps Europe/London"},
		{"Europe/London", "europe/london", "perhaps Europe/London"},
		{"Europe/London", "NEW YORK", "perhaps America/New_York"},
		{"Europe/London", "Argentina/Ushuaia", "perhaps America/Argentina/Ushuaia"},
		{"Europe/London", "Nottingham", "a zone such as Europe/London"},
		{"Europe/London", "", "a zone such as Europe/London"},
		{"70.50", `"70,50"`, "70.50"},
		{"70.50", `"70.50 kg"`, "70.50"},
		{"70.50", `"-70.50"`, ""},
	} {
		_, findings := read(t, map[string]string{aboutFile: strings.Replace(aboutOK, c.old, c.new, 1), "sessions.csv": row()})
		at := slices.IndexFunc(findings, func(f issue.Finding) bool { return strings.HasPrefix(f.Rule, "about-") && f.Severity == issue.Error })
		if at < 0 || findings[at].Expected.String() != c.want {
			t.Errorf("%q for %q: %v", c.new, c.old, findings)
		}
	}
	_, findings := read(t, map[string]string{"sessions.csv": "session,date,start,end,status,time_zone\na,2025-11-03,18:30,21:30,done,madeira\n"})
	if len(findings) != 1 || findings[0].Expected.String() != "perhaps Atlantic/Madeira" {
		t.Errorf("%v", findings)
	}
}
