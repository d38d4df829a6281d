package profiles_test

import (
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"runsheet.example/fhirmap"
	"runsheet.example/fhirmap/session"
	"runsheet.example/profiles"
	"runsheet.example/validate/manifest"
)

// exportClaimed writes every step-th session of the demo month as a Bundle
// that claims our profiles.
func exportClaimed(t *testing.T, folder, prefix string, step int, opts fhirmap.Options) {
	t.Helper()
	log, _, err := session.ReadFolder(filepath.Join("..", "testdata", "month"), session.Options{})
	if err != nil {
		t.Fatal(err)
	}
	opts.Tool = fhirmap.Tool{Name: "runsheet", Version: "test"}
	opts.ClaimProfiles = profiles.DefaultCanonical
	month, err := fhirmap.Map(log, opts)
	if err != nil {
		t.Fatal(err)
	}
	for i := 0; i < len(month.Records()); i += step {
		text, err := month.Records()[i].Transaction()
		if err != nil {
			t.Fatal(err)
		}
		name := filepath.Join(folder, fmt.Sprintf("session-%s-%d.json", prefix, i))
		if err := os.WriteFile(name, text, 0o600); err != nil {
			t.Fatal(err)
		}
	}
}

var summary = regexp.MustCompile(`(\d+) checks, (\d+) warnings, (\d+) failures`)

// Every valid example, every resource of the demo month in every way it can
// be exported, and every invalid example go through engines that are not
// ours: @medplum/core with the profile, fhirpath.js for the invariants, and
// the required bindings. See fsh/verify.mjs.
func TestEnginesAgreeWithTheProfiles(t *testing.T) {
	if os.Getenv("RUNSHEET_NO_ORACLE") == "1" {
		t.Skip("RUNSHEET_NO_ORACLE=1: not compared with independent engines")
	}
	folder := t.TempDir()
	exportClaimed(t, folder, "default", 1, fhirmap.Options{})
	exportClaimed(t, folder, "known", 4, fhirmap.Options{Options: manifest.Options{
		Patient: "Patient/123", NoNotes: true, NoComputed: true, Serials: true, Provenance: fhirmap.PutProvenance,
	}})
	exportClaimed(t, folder, "created", 4, fhirmap.Options{Options: manifest.Options{CreatePatient: true, Series: fhirmap.FirstAndLast}})
	// Every code has a receiver's beside it, no coding a display, and every
	// resource a tag.
	table := "code,target\n"
	for _, code := range profiles.MappedCodes() {
		table += code.String() + ",urn:oid:2.25.99|X-" + code.Code + "\n"
	}
	codes, err := profiles.ReadCodeMap([]byte(table), "codes.csv")
	if err != nil {
		t.Fatal(err)
	}
	receiver := fhirmap.Options{Options: manifest.Options{Display: fhirmap.NoDisplay, Tags: "urn:oid:2.25.98|home"}}
	receiver.UseCodes(codes)
	exportClaimed(t, folder, "receiver", 4, receiver)
	out, err := exec.Command("node", filepath.Join("fsh", "verify.mjs"), folder).CombinedOutput()
	var exit *exec.ExitError
	if err != nil && !errors.As(err, &exit) {
		t.Fatalf("node: %v", err)
	}
	counts := summary.FindStringSubmatch(string(out))
	if err != nil || counts == nil {
		t.Fatalf("the engines do not agree (the independent engines are installed by `npm ci` in testdata/oracle):\n%s", last(string(out), 60))
	}
	checks, convErr := strconv.Atoi(counts[1])
	if convErr != nil || checks < 2500 {
		t.Errorf("only %s checks", counts[1])
	}
	t.Logf("%s", counts[0])
}

// last keeps the last n lines of a text.
func last(text string, n int) string {
	lines := strings.Split(strings.TrimSpace(text), "\n")
	return strings.Join(lines[max(0, len(lines)-n):], "\n")
}
