package main

import (
	"encoding/json"
	"os/exec"
	"strings"
	"testing"
)

const module = "runsheet.example/"

// allowed says what each package of ours may import of ours. A trailing "/..."
// stands for every package below.
var allowed = []struct {
	pkg  string
	uses []string
}{
	{"validate/issue", nil},
	{"validate/manifest", []string{"validate/issue"}},
	{"calc", nil},
	{"profiles", nil},
	{"fhirmap/r4", nil},
	{"fhirmap/session", []string{"validate/issue"}},
	{"validate/plausible", []string{"validate/issue", "calc"}},
	{"fhirmap/session/check", []string{"fhirmap/session", "validate/issue", "validate/plausible", "calc"}},
	{"fhirmap/session/...", []string{"fhirmap/session/...", "validate/issue", "calc"}},
	{"fhirmap/measure", []string{"fhirmap/session", "calc", "validate/issue", "profiles"}},
	{"fhirmap", []string{"fhirmap/session", "fhirmap/measure", "fhirmap/r4", "calc", "validate/issue", "validate/manifest", "profiles"}},
	{"validate/...", []string{"validate/...", "calc", "profiles"}},
	{"profiles/...", []string{"profiles", "profiles/...", "calc"}},
	{"cmd/...", []string{"cmd/...", "fhirmap/...", "fhirmap", "validate/...", "calc", "profiles", "profiles/..."}},
}

// Data flows one way. A package that imports upstream could no longer be read
// alone, and a validator that imports the mapper would inherit its mistakes.
func TestImportsPointDownstream(t *testing.T) {
	out, err := exec.Command("go", "list", "-json=ImportPath,Imports", module+"...").Output()
	if err != nil {
		t.Fatal(err)
	}
	decoder := json.NewDecoder(strings.NewReader(string(out)))
	packages := 0
	for decoder.More() {
		var p struct {
			ImportPath string
			Imports    []string
		}
		if err := decoder.Decode(&p); err != nil {
			t.Fatal(err)
		}
		packages++
		own := strings.TrimPrefix(p.ImportPath, module)
		uses, known := usesOf(own)
		if !known {
			t.Errorf("package %s has no rule here: say what it may import", own)
		}
		for _, imported := range p.Imports {
			if rest, ours := strings.CutPrefix(imported, module); ours && !matchAny(uses, rest) {
				t.Errorf("%s imports %s", own, rest)
			}
		}
	}
	if packages < 10 {
		t.Errorf("only %d packages were looked at", packages)
	}
}

func usesOf(pkg string) ([]string, bool) {
	for _, rule := range allowed {
		if match(rule.pkg, pkg) {
			return rule.uses, true
		}
	}
	return nil, false
}

func matchAny(patterns []string, pkg string) bool {
	for _, pattern := range patterns {
		if match(pattern, pkg) {
			return true
		}
	}
	return false
}

func match(pattern, pkg string) bool {
	if prefix, below := strings.CutSuffix(pattern, "/..."); below {
		return pkg == prefix || strings.HasPrefix(pkg, prefix+"/")
	}
	return pattern == pkg
}
