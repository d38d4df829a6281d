//go:build unix

package validate_test

import (
	"context"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"

	"runsheet.example/validate"
)

// TestLinksAndPipesInAFolder holds that links that lead round in circles and pipes
// that nobody writes into stop nothing, and that it is said that they were passed
// over.
func TestLinksAndPipesInAFolder(t *testing.T) {
	const sound = `{"resourceType":"Patient","active":true}`
	dir := folder(t, map[string]string{"a.json": sound, "below/b.json": sound})
	elsewhere := filepath.Join(folder(t, map[string]string{"c.json": sound}), "c.json")
	for name, to := range map[string]string{"self": ".", "below/up": "..", "looks.json": "below", "linked.json": elsewhere, "zero.json": "/dev/zero"} {
		if err := os.Symlink(to, filepath.Join(dir, name)); err != nil {
			t.Fatal(err)
		}
	}
	for _, name := range []string{"pipe.ndjson", "below/manifest.json", "pipe.txt"} {
		if err := syscall.Mkfifo(filepath.Join(dir, name), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	link := filepath.Join(t.TempDir(), "link")
	if err := os.Symlink(dir, link); err != nil {
		t.Fatal(err)
	}
	for _, path := range []string{dir, link} {
		report := check(t, validate.Options{}, path)
		if report.Files != 3 || len(rules(report.Findings)) > 0 {
			t.Errorf("%d files, findings %+v", report.Files, report.Findings)
		}
		want := []string{
			"what has the name of a FHIR file and is no file, such as a pipe: 3, the first " + filepath.Join(path, "below/manifest.json"),
			"what links to folders lead to, which are not followed: 3, the first " + filepath.Join(path, "below/up"),
			"whether anything is missing, in folders without a manifest: 3, the first " + filepath.Clean(path),
		}
		if !slices.Equal(report.NotChecked, want) {
			t.Errorf("not checked: %q", report.NotChecked)
		}
	}
}

// TestPipeIsReadByWhatItHolds holds that what comes through a pipe is taken as
// lines or as a document by its content, for its name tells nothing.
func TestPipeIsReadByWhatItHolds(t *testing.T) {
	const line = `{"resourceType":"Patient","active":true}`
	for text, resources := range map[string]int{
		line + "\n" + line + "\n":                         2,
		strings.ReplaceAll(line, ",", ",\n"):              1,
		"\ufeff" + line + "\r\n\r\n \n" + line + "\r\n":   2,
		line + "\n" + strings.Repeat(line+"\n", 300):      301,
		`{"resourceType":"Patient","active":true,` + "\n": 0,
	} {
		path := filepath.Join(t.TempDir(), "63")
		if err := syscall.Mkfifo(path, 0o600); err != nil {
			t.Fatal(err)
		}
		go func() { _ = os.WriteFile(path, []byte(text), 0o600) }()
		report, err := validate.Paths(context.Background(), []string{path}, nil, validate.Options{})
		if err != nil || report.Resources != resources || report.Files != 1 {
			t.Errorf("%q: %+v, error %v", text, report, err)
		}
	}
}

// TestLinkRoundInACircle holds that a file that is a link to itself is an error
// that names it.
func TestLinkRoundInACircle(t *testing.T) {
	dir := folder(t, map[string]string{"b.json": "{}"})
	if err := os.Symlink("a.json", filepath.Join(dir, "a.json")); err != nil {
		t.Fatal(err)
	}
	_, err := validate.Paths(context.Background(), []string{dir}, nil, validate.Options{})
	if err == nil || !strings.Contains(err.Error(), "a.json") {
		t.Errorf("error %v", err)
	}
}
