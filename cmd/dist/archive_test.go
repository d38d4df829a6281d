//go:build dist

package main

import (
	"bytes"
	"debug/buildinfo"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
)

// The archive for this computer holds the program, which runs, and the terms of
// every module in it; made again it has the same bytes.
func TestArchive(t *testing.T) {
	p := platform{runtime.GOOS, runtime.GOARCH}
	name, archive, err := p.archive("../..")
	if err != nil {
		t.Fatal(err)
	}
	_, again, err := p.archive("../..")
	if err != nil || !bytes.Equal(archive, again) {
		t.Errorf("other bytes, or %v, when made again", err)
	}
	folder := filepath.Join(unpack(t, name, archive), "runsheet-"+p.system+"-"+p.processor)
	program := filepath.Join(folder, "runsheet")
	if p.system == "windows" {
		program += ".exe"
	}
	out, err := exec.Command(program, "check", "../../testdata/month").CombinedOutput()
	if err != nil {
		t.Errorf("%v: %s", err, out)
	}
	terms := read(t, filepath.Join(folder, "THIRD-PARTY-LICENSES.txt"))
	info, err := buildinfo.ReadFile(program)
	if err != nil {
		t.Fatal(err)
	}
	for _, m := range info.Deps {
		if !strings.Contains(terms, "\n"+m.Path+" "+m.Version+", ") {
			t.Errorf("no terms of %s", m.Path)
		}
	}
	for _, part := range []string{read(t, "../../NOTICE"), "\nGo " + info.GoVersion + ", LICENSE\n", "CC0 1.0", "loinc.org/license"} {
		if !strings.Contains(terms, part) {
			t.Errorf("not in the terms: %.60q", part)
		}
	}
	for _, name := range []string{"LICENSE", "README.md"} {
		if read(t, filepath.Join(folder, name)) != read(t, "../../"+name) {
			t.Errorf("%s is another", name)
		}
	}
}
