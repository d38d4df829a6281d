package invariant_test

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// careTeam is a care team one of whose members acts on behalf of somebody.
func careTeam(member, more string) string {
	return `{"resourceType":"CareTeam","participant":[{"member":{"reference":"` + member + `"},"onBehalfOf":{"reference":"Organization/o"}}]` + more + `}`
}

type teamCase struct {
	text     string
	isBroken bool // ctm-1
}

func teamCases() []teamCase {
	const (
		base    = "http://x.org/fhir/"
		patient = `{"resourceType":"Patient","id":"p"}`
		doctor  = `{"resourceType":"Practitioner","id":"d"}`
	)
	contained := `,"contained":[` + patient + `,` + doctor + `],"subject":{"reference":"#p"},"managingOrganization":[{"reference":"#d"}]`
	// %s is where the care team stands.
	entries := `{"resourceType":"Bundle","type":"collection","entry":[{"resource":%s},` +
		`{"fullUrl":"` + base + `Patient/p","resource":` + patient + `},{"fullUrl":"urn:uuid:1","resource":{"resourceType":"Patient","id":"q"}},` +
		`{"fullUrl":"urn:uuid:2","resource":` + doctor + `},{"resource":{"resourceType":"Patient","id":"r"}}]}`
	in := func(around, team string, isBroken bool) teamCase {
		return teamCase{strings.Replace(around, "%s", team, 1), isBroken}
	}
	return []teamCase{
		in("%s", careTeam("Patient/p", ""), false), // outside the document
		in("%s", careTeam("#p", contained), true),
		in("%s", careTeam("#d", contained), false),
		in("%s", careTeam("#", ""), true), // the care team itself
		in("%s", strings.Replace(careTeam("#p", contained), "onBehalfOf", "_x", 1), false),
		in(entries, careTeam("#p", contained), true),
		in(entries, careTeam("Patient/p", ""), true),
		in(entries, careTeam("Patient/p/_history/2", ""), true),
		in(entries, careTeam(base+"Patient/p", ""), true),
		in(entries, careTeam("http://y.org/Patient/p", ""), false),
		in(entries, careTeam("urn:uuid:1", ""), true),
		in(entries, careTeam("urn:uuid:2", ""), false),
		in(entries, careTeam("urn:uuid:3", ""), false),
		in(entries, careTeam("Patient/q", ""), false), // known by its urn only
		in(entries, careTeam("Patient/r", ""), true),
		in(entries, careTeam("Patient/s", ""), false),
		in(strings.Replace(entries, "%s", `{"resourceType":"Bundle","type":"collection","entry":[{"resource":%s}]}`, 1), careTeam("Patient/p", ""), false),
	}
}

func TestActingOnBehalf(t *testing.T) {
	for _, c := range teamCases() {
		got := check(t, c.text)
		if isBroken := strings.HasPrefix(got, "ctm-1 "); isBroken != c.isBroken || strings.Contains(got, "; ") {
			t.Errorf("%s: got %q", c.text, got)
		}
	}
}

// npm fhirpath says the same of the published expression, when it is told
// what the references lead to.
func TestActingOnBehalfElsewhere(t *testing.T) {
	if os.Getenv("RUNSHEET_NO_ORACLE") == "1" {
		t.Skip("RUNSHEET_NO_ORACLE=1: not compared with independent engines")
	}
	var lines []string
	for _, c := range teamCases() {
		lines = append(lines, c.text)
	}
	file := filepath.Join(t.TempDir(), "teams.ndjson")
	if err := os.WriteFile(file, []byte(strings.Join(lines, "\n")), 0o600); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command("node", "../../testdata/oracle/check.mjs", file).Output()
	if len(out) == 0 {
		t.Fatalf("nothing found (%v): run `npm ci` in testdata/oracle, or set RUNSHEET_NO_ORACLE=1 to go without", err)
	}
	for i, c := range teamCases() {
		where := fmt.Sprintf(`teams.ndjson:%d","engine":"fhirpath","rule":"ctm-1"`, i+1)
		if isBroken := strings.Contains(string(out), where); isBroken != c.isBroken {
			t.Errorf("%s: npm fhirpath finds it broken: %v", c.text, isBroken)
		}
	}
}
