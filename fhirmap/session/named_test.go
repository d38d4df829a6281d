package session

import "testing"

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
				got = f.Expected
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
