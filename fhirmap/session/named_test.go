package session

import (
	"slices"
	"strings"
	"testing"

	"runsheet.example/validate/issue"
)

// TestDialyserOfTheLog holds that a dialyser is told where the log names
// others and not this one, with the nearest name, and only there.
func TestDialyserOfTheLog(t *testing.T) {
	const about = "[[prescription]]\nvalid_from = 2025-01-01\ndialyser = \"Kapillar H19\"\n"
	rows := func(name string) map[string]string {
		return map[string]string{"sessions.csv": "session,date,start,end,status,dialyser\na,2025-11-03,18:30,21:30,done," + name + "\n"}
	}
	for written, expected := range map[string]string{"Kapilar H19": "Kapillar H19", "Kapillar H91": "Kapillar H19", "Other": "", "kapillar h19": "none", "": "none"} {
		files := rows(written)
		files[aboutFile] = aboutOK + about
		_, findings := read(t, files)
		got := "none"
		for _, f := range findings {
			if f.Rule == "log-dialyser-unknown" {
				got = f.Expected.String()
			}
		}
		if got != expected {
			t.Errorf("%q: %q, want %q", written, got, expected)
		}
	}
	if _, findings := read(t, rows("Other")); len(findings) > 0 {
		t.Errorf("a log without a dialyser: %v", findings)
	}
}

// A dialyser of some sessions away from home is told of once.
func TestStrangeDialyserIsToldOnce(t *testing.T) {
	const about = "[[prescription]]\nvalid_from = 2025-01-01\ndialyser = \"Kapillar H19\"\n"
	_, findings := read(t, map[string]string{aboutFile: aboutOK + about,
		"sessions.csv": "session,date,start,end,status,dialyser\na,2025-11-03,18:30,21:30,done,Lagune 15\nb,2025-11-05,18:30,21:30,done,Lagune 15\nc,2025-11-07,18:30,21:30,done,Heide 2\n"})
	var told []string
	for _, f := range findings {
		if f.Rule == "log-dialyser-unknown" {
			told = append(told, f.Value)
		}
	}
	if !slices.Equal(told, []string{"Lagune 15", "Heide 2"}) {
		t.Errorf("told of %v: %v", told, findings)
	}
}

// The day in a session's name is proposed for a date that cannot be read.
func TestDayOfTheNameIsProposed(t *testing.T) {
	for date, want := range map[string]string{"06.20.2026": "perhaps 06.02.2026", "2026-02-30": "perhaps 2026-02-06", "06.02.26": "perhaps 2026-02-06", "6 Feb": "perhaps 2026-02-06"} {
		_, findings := read(t, map[string]string{aboutFile: strings.Replace(aboutOK, "date_style = \"iso\"", "date_style = \"dmy\"", 1),
			"sessions.csv": "session,date,start,end,status\n2026-02-06a," + date + ",18:30,21:30,done\n"})
		if len(findings) == 0 || findings[0].Rule != "log-date" || findings[0].Expected.String() != want {
			t.Errorf("%s: %+v", date, findings)
		}
	}
}

// A hardness in German degrees is a note, once, with what a degree is.
func TestGermanHardnessIsANote(t *testing.T) {
	_, findings := read(t, map[string]string{
		"sessions.csv": "session,date,start,end,status\na,2025-11-03,18:30,21:30,done\nb,2025-11-05,18:30,21:30,done\n",
		"checks.csv":   "session,what,value,unit\na,water hardness,< 1,°dH\nb,water hardness,2,°dH\n"})
	if len(findings) != 1 || findings[0].Rule != "log-check-words" || findings[0].Severity != issue.Information || !strings.Contains(findings[0].Expected.String(), "0.178") {
		t.Errorf("%+v", findings)
	}
}
