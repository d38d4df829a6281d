//go:build examples

package profile

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

const published = "testdata/verdicts/node_modules"

// packages reads the published guides, as a person would give them.
func packages(t *testing.T, names ...string) []*Package {
	t.Helper()
	var out []*Package
	for _, name := range names {
		files, err := filepath.Glob(filepath.Join(published, name, "*.tgz"))
		if err != nil || len(files) != 1 {
			t.Fatalf("no %s: testdata/verdicts/fetch.sh gets it", name)
		}
		f, err := os.Open(files[0])
		if err != nil {
			t.Fatal(err)
		}
		p, err := ReadPackage(f)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if err := f.Close(); err != nil {
			t.Fatal(err)
		}
		out = append(out, p)
	}
	return out
}

// TestExamplesSnapshots makes the snapshots of all published profiles from
// their differentials and compares them, element by element, with those they
// came with. They say the same, save those listed with the reason.
func TestExamplesSnapshots(t *testing.T) {
	guides := []string{"hl7.terminology.r4", "hl7.fhir.uv.extensions.r4", "hl7.fhir.uv.genomics-reporting", "hl7.fhir.uv.sdc", "hl7.fhir.uv.ips", "hl7.fhir.au.base", "hl7.fhir.us.mcode"}
	l := NewLibrary(packages(t, guides...)...)
	known := listedDepartures(t)
	for _, guide := range append(guides, "hl7.fhir.r4") {
		folder := filepath.Join(published, guide)
		if guide == "hl7.fhir.r4" {
			folder = "../../profiles/fsh/node_modules/hl7.fhir.r4.examples"
		}
		names, err := filepath.Glob(filepath.Join(folder, "StructureDefinition-*.json"))
		if err != nil || len(names) == 0 {
			t.Fatal(names, err)
		}
		var total, same, impossible, elements, differing int
		for _, name := range names {
			text, err := os.ReadFile(name)
			if err != nil {
				t.Fatal(err)
			}
			var kind struct{ Derivation string }
			if json.Unmarshal(text, &kind) != nil || kind.Derivation != "constraint" {
				continue
			}
			made, shipped, err := remade(l, text)
			name = strings.TrimSuffix(strings.TrimPrefix(filepath.Base(name), "StructureDefinition-"), ".json")
			switch {
			case err != nil:
				impossible++
				known.met(t, guide+" "+name, "cannot be made\t"+err.Error())
				continue
			case len(shipped) == 0:
				continue
			}
			total++
			elements += len(shipped)
			found := departures(made, shipped)
			if len(found) == 0 {
				same++
			}
			differing += len(found)
			for _, d := range found {
				known.met(t, guide+" "+name, d)
			}
		}
		t.Logf("table: snapshots of %-32s %3d profiles, %3d made as shipped, %2d without base, %5d elements, %3d differences", guide, total, same, impossible, elements, differing)
	}
	for _, line := range known {
		if line.count != 0 {
			t.Errorf("%s %s: %d differences fewer than listed", line.profile, line.prefix, line.count)
		}
	}
}

// listedDeparture is how many differences of a profile begin with some text.
type listedDeparture struct {
	profile, prefix string
	count           int
}

type departureList []*listedDeparture

func (l departureList) met(t *testing.T, profile, difference string) {
	t.Helper()
	for _, line := range l {
		if line.profile == profile && line.count > 0 && strings.HasPrefix(difference, line.prefix) {
			line.count--
			return
		}
	}
	t.Errorf("not listed: %s\t%s", profile, difference)
}

// listedDepartures reads lines of guide, profile, count, beginning and, after
// a #, reason.
func listedDepartures(t *testing.T) departureList {
	t.Helper()
	text, err := os.ReadFile("testdata/snapshots.txt")
	if err != nil {
		t.Fatal(err)
	}
	var out departureList
	for line := range strings.Lines(string(text)) {
		what, reason, _ := strings.Cut(line, " # ")
		fields := strings.Fields(what)
		if len(fields) == 0 || fields[0][0] == '#' {
			continue
		}
		count := 0
		if len(fields) > 2 {
			count, err = strconv.Atoi(fields[2])
		}
		if count == 0 || err != nil || strings.TrimSpace(reason) == "" {
			t.Fatalf("%q: guide, profile, count, beginning and reason are expected", line)
		}
		out = append(out, &listedDeparture{fields[0] + " " + fields[1], strings.Join(fields[3:], " "), count})
	}
	return out
}
