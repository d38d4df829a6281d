package session

import (
	"strings"
	"testing"
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
		if !strings.Contains(findings[0].Mend, `"quotation marks"`) {
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
			if len(findings) != 1 || findings[0].Rule != "log-two-numbers" || findings[0].Expected != want || findings[0].Value != text {
				t.Errorf("%s in %s: found %+v, want %q", text, columns, findings, want)
			}
		}
	}
}
