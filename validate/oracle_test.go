package validate_test

import (
	"bytes"
	"errors"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// oracle runs a script of testdata/oracle. It fails the test, rather than
// skip it, when the engines are not installed: a comparison that silently
// does not happen proves nothing. RUNSHEET_NO_ORACLE=1 says so on purpose.
func oracle(t *testing.T, stdin string, script string, args ...string) (stdout []byte, err error) {
	t.Helper()
	if os.Getenv("RUNSHEET_NO_ORACLE") == "1" {
		t.Skip("RUNSHEET_NO_ORACLE=1: not compared with independent engines")
	}
	folder := filepath.Join("..", "testdata", "oracle")
	if _, err := os.Stat(filepath.Join(folder, "node_modules")); err != nil {
		t.Fatal("the independent engines are not installed: run `npm ci` in testdata/oracle, or set RUNSHEET_NO_ORACLE=1 to go without")
	}
	dependOn(t, folder)
	cmd := exec.Command("node", append([]string{filepath.Join(folder, script)}, args...)...)
	cmd.Stdin = strings.NewReader(stdin)
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	stdout, err = cmd.Output()
	t.Logf("%s: %s", script, bytes.TrimSpace(stderr.Bytes()))
	return stdout, err
}

// dependOn looks at every file below the folders. Go keeps the result of a
// test until a file changes that the test itself looked at; it cannot know
// what a program that the test runs has read.
func dependOn(t *testing.T, folders ...string) {
	t.Helper()
	for _, folder := range folders {
		err := filepath.WalkDir(folder, func(path string, entry fs.DirEntry, err error) error {
			if err == nil && entry.Name() == "node_modules" {
				return filepath.SkipDir // the lock file says what is in it
			}
			if err == nil {
				_, err = os.Stat(path)
			}
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
	}
}

// The comparison below is worth nothing if the engines find nothing, so each
// must see the mistake it is there for, in a Bundle entry and in a contained
// resource.
func TestOracleSeesMistakes(t *testing.T) {
	const bundle = `{"resourceType":"Bundle","type":"collection","entry":[
{"fullUrl":"urn:uuid:11111111-1111-4111-8111-111111111111","resource":{"resourceType":"Observation","status":"final",
 "code":{"text":"x"},"dataAbsentReason":{"text":"x"},"valueQuantity":{"value":1,"system":"http://unitsofmeasure.org","code":"mmHg"},
 "subject":{"reference":"#p"},"contained":[{"resourceType":"Patient","id":"p","contact":[{"gender":"female"}]}]}},
{"fullUrl":"urn:uuid:22222222-2222-4222-8222-222222222222","resource":{"resourceType":"Observation","code":{"text":"x"}}}]}`
	file := filepath.Join(t.TempDir(), "bundle.json")
	if err := os.WriteFile(file, []byte(bundle), 0o600); err != nil {
		t.Fatal(err)
	}
	out, err := oracle(t, "", "check.mjs", file)
	var exit *exec.ExitError
	if !errors.As(err, &exit) || exit.ExitCode() != 1 {
		t.Errorf("exit: %v, want status 1", err)
	}
	for _, want := range []string{
		`"engine":"fhirpath","rule":"obs-6","severity":"error","expression":"Bundle.entry[0].resource"`,
		`"engine":"fhirpath","rule":"pat-1","severity":"error","expression":"Bundle.entry[0].resource.contained[0].contact[0]"`,
		`"engine":"medplum","rule":"structure","severity":"error","expression":"Bundle.entry[1].resource.status"`,
		`"engine":"ucum-lhc","rule":"ucum","severity":"error","expression":"Bundle.entry[0].resource.value"`,
	} {
		if !bytes.Contains(out, []byte(want)) {
			t.Errorf("not reported: %s\n%s", want, out)
		}
	}
}

// What the demo month is exported to passes engines that are not ours:
// structure, invariants and units of every resource.
func TestOracleDemoMonth(t *testing.T) {
	month := filepath.Join(t.TempDir(), "month")
	dependOn(t, "../calc", "../cmd", "../fhirmap", "../profiles", "../testdata/month", "../validate")
	export := exec.Command("go", "run", "./cmd/runsheet", "export", filepath.Join("testdata", "month"), "-o", month)
	export.Dir = ".."
	if out, err := export.CombinedOutput(); err != nil {
		t.Fatalf("export: %v\n%s", err, out)
	}
	sessions, err := filepath.Glob(filepath.Join(month, "session-*.json"))
	if err != nil || len(sessions) < 20 {
		t.Fatalf("%d sessions exported (%v), want the 20 or more of the demo month", len(sessions), err)
	}
	out, err := oracle(t, "", "check.mjs", month)
	if err != nil || len(out) > 0 {
		t.Errorf("%v\n%s", err, out)
	}
}
