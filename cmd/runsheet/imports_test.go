package main

import (
	"encoding/json"
	"os"
	"os/exec"
	"path"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

const module = "runsheet.example/"

// leaves import nothing of ours; issue has its words from the table in profiles.
var leaves = []string{"calc", "calc/kinetics", "profiles", "fhirmap/r4", "validate/issue"}

// Data flows one way. A package that imports upstream could no longer be read
// alone, and a validator that imports the mapper would inherit its mistakes.
// The package table of DEVELOPERS.md says what each package imports, by the
// last elements of their paths, and this test holds it to what is there. It
// leaves out issue and profiles, which any package but these and the formulas
// may import.
func TestImportsAreThoseOfTheTable(t *testing.T) {
	table := packageTable(t)
	out, err := exec.Command("go", "list", "-json=ImportPath,Imports", module+"...").Output()
	if err != nil {
		t.Fatal(err)
	}
	decoder := json.NewDecoder(strings.NewReader(string(out)))
	seen := map[string]bool{}
	for decoder.More() {
		var p struct {
			ImportPath string
			Imports    []string
		}
		if err := decoder.Decode(&p); err != nil {
			t.Fatal(err)
		}
		own := strings.TrimPrefix(p.ImportPath, module)
		var imports []string
		for _, i := range p.Imports {
			shared := i == module+"validate/issue" || i == module+"profiles"
			if strings.HasPrefix(i, module) && (!shared || slices.Contains(leaves, own)) {
				imports = append(imports, path.Base(i))
			}
		}
		slices.Sort(imports)
		seen[own] = true
		if want, known := table[own]; !known {
			t.Errorf("package %s has no row in DEVELOPERS.md", own)
		} else if diff := cmp.Diff(want, imports); diff != "" {
			t.Errorf("%s (- table, + imports):\n%s", own, diff)
		}
	}
	for pkg := range table {
		if !seen[pkg] {
			t.Errorf("DEVELOPERS.md has a row for %s, which is not there", pkg)
		}
	}
}

// packageTable reads the table whose heading begins with "package".
func packageTable(t *testing.T) map[string][]string {
	text, err := os.ReadFile("../../DEVELOPERS.md")
	if err != nil {
		t.Fatal(err)
	}
	_, rows, ok := strings.Cut(string(text), "| package |")
	if !ok {
		t.Fatal("DEVELOPERS.md has no package table")
	}
	table := map[string][]string{}
	for row := range strings.Lines(rows) {
		cells := strings.Split(row, "|")
		if pkg := strings.Trim(cells[min(1, len(cells)-1)], " `"); len(cells) == 5 && strings.Contains(cells[1], "`") {
			var imports []string
			imports = append(imports, strings.FieldsFunc(cells[3], func(r rune) bool { return r == ' ' || r == ',' })...)
			slices.Sort(imports)
			if strings.HasPrefix(pkg, "internal/") {
				pkg = "cmd/runsheet/" + pkg
			}
			table[pkg] = imports
		} else if strings.TrimSpace(row) == "" && len(table) > 0 {
			break
		}
	}
	return table
}

// Validators must not inherit the mistakes of what writes the record, and the
// log has no FHIR in it: whatever the table says, these edges never stand.
func TestEdgesThatNeverStand(t *testing.T) {
	for pkg, imports := range packageTable(t) {
		for _, name := range imports {
			switch {
			case strings.HasPrefix(pkg, "validate") && slices.Contains([]string{"fhirmap", "r4", "measure", "session", "check", "workbook", "columnmap"}, name),
				strings.HasPrefix(pkg, "fhirmap/session") && slices.Contains([]string{"fhirmap", "r4", "measure", "doc", "profile"}, name),
				pkg == "calc" && name != "", strings.HasPrefix(pkg, "fhirmap") && slices.Contains([]string{"validate", "cli", "deliver"}, name):
				t.Errorf("%s imports %s", pkg, name)
			}
		}
	}
}
