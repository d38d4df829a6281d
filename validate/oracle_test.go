package validate_test

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"runsheet.example/validate/ucum"
)

// oracleVerdict is one line of testdata/oracle/ucum.mjs.
type oracleVerdict struct {
	Code               string
	Valid              bool
	Magnitude          float64
	Dimension          []int
	Special, Arbitrary bool
}

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
	cmd := exec.Command("node", append([]string{filepath.Join(folder, script)}, args...)...)
	cmd.Stdin = strings.NewReader(stdin)
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	stdout, err = cmd.Output()
	t.Logf("%s: %s", script, bytes.TrimSpace(stderr.Bytes()))
	return stdout, err
}

// knownUnitDifference gives the reason why our verdict on a unit differs from
// that of @lhncbc/ucum-lhc 7.1.10, or "" for a difference nobody has explained.
func knownUnitDifference(v oracleVerdict) string {
	_, err := ucum.Parse(v.Code)
	var syntax *ucum.SyntaxError
	switch {
	case errors.As(err, &syntax) && v.Valid && isPrefixed(v.Code[:syntax.Offset], v.Code[syntax.Offset:]):
		return "UCUM section 11: only metric atoms take a prefix; the oracle lets any unit have one"
	case strings.HasPrefix(v.Code, "m10"):
		return "the same, before 10* and 10^"
	case strings.Trim(v.Code, "0") == "":
		return "UCUM section 8: a number is a positive integer; the oracle reads 0 as 1"
	case strings.Contains(v.Code, "[LPF]"):
		return "UCUM table of units: [LPF] is 100; the oracle has 100 as its factor and 1 as its size"
	case strings.Contains(v.Code, "Bd"), strings.Contains(v.Code, "[diop]"), strings.Contains(v.Code, "[mesh_i]"):
		return "UCUM table of units: these are one over a unit; the oracle keeps that unit's dimension"
	}
	return ""
}

// isPrefixed reports whether rest is a prefix of one or two letters before
// what would be a unit without it.
func isPrefixed(before, rest string) bool {
	for length := 1; length <= 2 && length < len(rest); length++ {
		prefix, err := ucum.Parse(rest[:length] + "m")
		_, errUnit := ucum.Parse(before + rest[length:])
		if err == nil && errUnit == nil && prefix.Dimension().String() == "m" {
			return true
		}
	}
	return false
}

func TestOracleUnits(t *testing.T) {
	units, err := os.ReadFile(filepath.Join("ucum", "testdata", "units.txt"))
	if err != nil {
		t.Fatal(err)
	}
	out, err := oracle(t, string(units), "ucum.mjs")
	if err != nil {
		t.Fatal(err)
	}
	compared := 0
	for lines := bufio.NewScanner(bytes.NewReader(out)); lines.Scan(); compared++ {
		var v oracleVerdict
		if err := json.Unmarshal(lines.Bytes(), &v); err != nil {
			t.Fatal(err)
		}
		if difference := compareUnit(v); difference != "" && knownUnitDifference(v) == "" {
			t.Errorf("%q: %s", v.Code, difference)
		}
	}
	if want := bytes.Count(units, []byte("\n")); compared != want {
		t.Errorf("%d units compared, want %d", compared, want)
	}
}

func compareUnit(v oracleVerdict) string {
	unit, err := ucum.Parse(v.Code)
	if (err == nil) != v.Valid {
		if err != nil {
			return err.Error()
		}
		return "not valid for the oracle"
	}
	if err != nil {
		return ""
	}
	dimension := unit.Dimension()
	for i, e := range v.Dimension {
		if int(dimension[i]) != e {
			return "dimension " + dimension.String()
		}
	}
	if unit.IsSpecial() != v.Special {
		return "on a scale of its own or not"
	}
	size, err := ucum.Convert(1, v.Code, dimension.String())
	if err == nil && !v.Special && math.Abs(size/v.Magnitude-1) > 1e-12 {
		return "another size"
	}
	return ""
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
