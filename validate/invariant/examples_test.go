//go:build examples

package invariant_test

import (
	"bufio"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/invariant"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/structure"
	"runsheet.example/validate/vitals"
)

// TestOfficialExamples checks all examples that HL7 publishes with R4 (npm
// hl7.fhir.r4.examples 4.0.1, CC0). An error in one of them is a false alarm
// unless testdata/examples.txt lists it with the reason why it is none.
//
// It needs the package, which is large, and so stands behind a build tag:
//
//	(cd profiles/fsh && npm ci)
//	go test -tags examples ./validate/invariant
func TestOfficialExamples(t *testing.T) {
	files, err := filepath.Glob("../../profiles/fsh/node_modules/hl7.fhir.r4.examples/*.json")
	if err != nil || len(files) == 0 {
		t.Fatalf("no examples; run npm ci in profiles/fsh: %v", err)
	}
	known := knownFaults(t)
	faults := len(known)
	var run layers
	checked := 0
	for _, file := range files {
		name := filepath.Base(file)
		if name == "package.json" {
			continue
		}
		data, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		checked++
		for fault, count := range run.errors(data, name) {
			if known[fault] != count {
				t.Errorf("%s: %d times, listed %d times", fault, count, known[fault])
			}
			delete(known, fault)
		}
	}
	t.Logf("table: our own layers: %d documents, %d kinds of fault in them, as listed", checked, faults)
	for fault := range known {
		t.Errorf("%s: listed but not found", fault)
	}
	if checked != 5306 {
		t.Errorf("%d examples, 5306 are published", checked)
	}
}

type layers struct {
	d doc.Doc
	s structure.Checker
	c invariant.Checker
}

// errors counts the findings of severity error by "file rule".
func (l *layers) errors(data []byte, name string) map[string]int {
	found := map[string]int{}
	add := func(f issue.Finding) {
		if f.Severity == issue.Error {
			found[name+" "+f.Rule]++
		}
	}
	for _, f := range l.d.Parse(data, name) {
		add(f)
	}
	l.s.Check(&l.d, add)
	l.c.Check(&l.s, add)
	vitals.Check(&l.s, add)
	return found
}

// knownFaults reads lines of file, rule, count and reason.
func knownFaults(t *testing.T) map[string]int {
	t.Helper()
	f, err := os.Open("testdata/examples.txt")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	known := map[string]int{}
	lines := bufio.NewScanner(f)
	for lines.Scan() {
		fields := strings.Fields(lines.Text())
		if len(fields) == 0 || fields[0] == "#" {
			continue
		}
		var count int
		if len(fields) < 4 {
			t.Fatalf("%q: file, rule, count and reason are expected", lines.Text())
		}
		if _, err := fmt.Sscan(fields[2], &count); err != nil {
			t.Fatalf("%q: %v", lines.Text(), err)
		}
		known[strings.Join(slices.Clone(fields[:2]), " ")] = count
	}
	return known
}
