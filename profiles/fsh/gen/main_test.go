package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"runsheet.example/calc"
	"runsheet.example/profiles"
)

// The FSH on disk is what the Go tables say today.
func TestGeneratedFilesAreCurrent(t *testing.T) {
	if err := run(filepath.Join("..", "input", "fsh", "generated"), true); err != nil {
		t.Error(err)
	}
}

func TestCheckFindsADifference(t *testing.T) {
	folder := t.TempDir()
	if err := run(folder, true); err == nil {
		t.Error("an empty folder passes the check")
	}
	if err := run(folder, false); err != nil {
		t.Fatal(err)
	}
	if err := run(folder, true); err != nil {
		t.Errorf("what was just written does not pass: %v", err)
	}
}

// Every code the record can carry is in the code systems: local codes of the
// tables, and every method with its version.
func TestCodeSystemsAreComplete(t *testing.T) {
	codes, methods := localCodes(), algorithms()
	for _, m := range profiles.Measurements() {
		for _, c := range m.Codings {
			if c.System == profiles.Local && !strings.Contains(codes, "* #"+c.Code+" ") {
				t.Errorf("%s is missing", c.Code)
			}
		}
	}
	for _, in := range profiles.Inputs() {
		if in.Coding.System == profiles.Local && !strings.Contains(codes, "* #"+in.Coding.Code+" ") {
			t.Errorf("%s is missing", in.Coding.Code)
		}
	}
	for _, m := range calc.Methods() {
		if !strings.Contains(methods, "* #"+m.Code()+" ") {
			t.Errorf("%s is missing", m.Code())
		}
	}
}

// The hand-written FSH names the two code systems by alias and in one fixed
// value; they must be those of the Go tables.
func TestHandWrittenFSHNamesTheSystems(t *testing.T) {
	for name, wants := range map[string][]string{
		"aliases.fsh": {
			"Alias: $local = " + profiles.Local + "\n", "Alias: $algorithm = " + profiles.Algorithm + "\n",
			"Alias: $LNC = " + profiles.LOINC + "\n", "Alias: $SCT = " + profiles.SNOMED + "\n",
		},
		"computed.fsh": {`system = "` + profiles.Algorithm + `" (exactly)`},
		"receiver.fsh": {strings.TrimPrefix(profiles.Local, "urn:oid:"), strings.TrimPrefix(profiles.Algorithm, "urn:oid:")},
	} {
		text, err := os.ReadFile(filepath.Join("..", "input", "fsh", name))
		if err != nil {
			t.Fatal(err)
		}
		for _, want := range wants {
			if !strings.Contains(string(text), want) {
				t.Errorf("%s does not hold %q", name, want)
			}
		}
	}
}

// A map that calls a near code equivalent would be a wrong code in disguise.
func TestMapClaimsNoEquivalence(t *testing.T) {
	for _, nearest := range []map[string]near{nearLOINC, nearSNOMED} {
		for code, n := range nearest {
			if n.equivalence == "equivalent" || n.equivalence == "equal" || n.comment == "" {
				t.Errorf("%s: %s to %s without saying what keeps them apart", code, n.equivalence, n.target.Code)
			}
			if !strings.Contains(localCodes(), "* #"+code+" ") {
				t.Errorf("%s is no local code", code)
			}
		}
	}
}

func TestFSHStrings(t *testing.T) {
	for in, want := range map[string]string{
		"plain":  `"plain"`,
		`a "b"`:  `"a \"b\""`,
		`a\b`:    `"a\\b"`,
		"two\nl": `"two\nl"`,
	} {
		if got := fsh(in); got != want {
			t.Errorf("fsh(%q) = %s, want %s", in, got, want)
		}
	}
}
