package session

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"runsheet.example/validate/issue"
)

// The only access without its first day is left out, and the sessions are not
// held back for it.
func TestAnAccessWithoutADayIsLeftOut(t *testing.T) {
	log, findings := read(t, map[string]string{aboutFile: aboutOK + "[[access]]\nkind = \"fistula\"\n", "sessions.csv": row()})
	if want := []string{"about-required log.toml row 19 (access.valid_from)"}; !slices.Equal(said(findings), want) {
		t.Errorf("found %q, want %q", said(findings), want)
	}
	if len(log.About.Accesses) != 0 || log.Sessions[0].Broken {
		t.Errorf("accesses %v, broken %v", log.About.Accesses, log.Sessions[0].Broken)
	}
	for _, f := range findings {
		if f.Rule == "about-required" && f.Severity != issue.Warning {
			t.Errorf("severity %v", f.Severity)
		}
	}
}

// Beside another access, the day decides which one a session used.
func TestOneOfTwoAccessesWithoutADayIsAnError(t *testing.T) {
	about := aboutOK + "[[access]]\nvalid_from = 2025-01-01\nkind = \"fistula\"\n[[access]]\nkind = \"catheter\"\n"
	log, findings := read(t, map[string]string{aboutFile: about, "sessions.csv": row()})
	if want := []string{"about-required log.toml row 22 (access.valid_from)"}; !slices.Equal(said(findings), want) {
		t.Errorf("found %q, want %q", said(findings), want)
	}
	checkBroken(t, log, findings)
	if !log.Sessions[0].Broken {
		t.Error("the session would be sent with the access of another time")
	}
}

func TestAFileForAFolderSaysWhatElseCanBeRead(t *testing.T) {
	file := filepath.Join(t.TempDir(), "own.csv")
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	_, _, err := ReadFolder(file, Options{})
	if err == nil || !strings.Contains(err.Error(), "--suggest-map") || !strings.Contains(err.Error(), "workbook") {
		t.Errorf("error %v", err)
	}
}
