package cli

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/json"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// browsed is what testdata/oracle/open.mjs says of its way through the pages.
type browsed struct {
	Violations, Requests, Errors, Sideways, Titles []string
	Summaries                                      [][]string
	Folder, Said, Copied                           string
	Conflict, Kept, Bases                          []string
	Plain                                          bool
	Foreign                                        []int
}

// A month of three sessions is written down from nothing with keys alone, with
// five slips that are mended, and handed over; the record has no errors and the
// bytes of the export command.
func TestPagesInABrowser(t *testing.T) {
	dir := t.TempDir()
	program, log := filepath.Join(dir, "runsheet"), filepath.Join(dir, "log")
	if out, err := exec.Command("go", "build", "-o", program, "runsheet.example/cmd/runsheet").CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	drive := exec.Command("node", "../../../../testdata/oracle/open.mjs", program, log, os.Getenv("RUNSHEET_PICTURES"))
	drive.Env = append(os.Environ(), "HOME="+dir)
	var errs bytes.Buffer
	drive.Stderr = &errs
	text, err := drive.Output()
	if err != nil {
		t.Fatalf("%v: %s", err, errs.String())
	}
	var got browsed
	if err := json.Unmarshal(text, &got); err != nil {
		t.Fatal(err)
	}
	for name, list := range map[string][]string{"axe-core": got.Violations, "the browser": got.Errors, "sideways": got.Sideways} {
		for _, one := range list {
			t.Errorf("%s: %s", name, one)
		}
	}
	for _, url := range got.Requests {
		if !slices.ContainsFunc(got.Bases, func(base string) bool { return strings.HasPrefix(url, base+"/") }) && !strings.HasPrefix(url, "file:///") && !strings.HasPrefix(url, "data:,") {
			t.Errorf("a request left the computer: %s", url)
		}
	}
	if len(got.Requests) < 50 || !got.Plain || len(got.Foreign) != 1 || got.Foreign[0] != 403 || !strings.HasPrefix(got.Said, "Closed (on the page)") {
		t.Errorf("%d requests, without script %v, foreign %v, said %q", len(got.Requests), got.Plain, got.Foreign, got.Said)
	}
	slips := 0
	for i, title := range got.Titles {
		if strings.HasPrefix(title, "Error: ") != (i%2 == 0) {
			t.Errorf("title %d is %q: %v", i, title, got.Summaries)
		}
	}
	for _, summary := range got.Summaries {
		for _, line := range summary {
			if strings.HasPrefix(line, "✖") {
				slips++
			}
		}
	}
	if slips != 5 || len(got.Titles) != 6 {
		t.Errorf("%d slips were told: %v", slips, got.Summaries)
	}
	if !slices.Equal(got.Conflict, []string{"81"}) || !slices.Equal(got.Kept, []string{"82", "tab two"}) {
		t.Errorf("a page older than the log shows %q, and its second save leaves %q", got.Conflict, got.Kept)
	}
	if !strings.Contains(got.Copied, "nights.csv, which stays as it is") {
		t.Errorf("the copy of a sheet is shown as %q", got.Copied)
	}
	sameAsCommand(t, log, got.Folder)
}

// sameAsCommand compares a folder that the page wrote and the file that it
// handed out with what the command writes, and validates it.
func sameAsCommand(t *testing.T, log, folder string) {
	t.Helper()
	var said bytes.Buffer
	command := func(args ...string) int { return run(context.Background(), args, streams{out: &said, err: &said}) }
	out := filepath.Join(t.TempDir(), "out")
	if code := command("export", log, "-o", out, "--from", "2025-11-01", "--to", "2025-11-30"); code != exitDone {
		t.Fatalf("export ends with %d: %s", code, said.String())
	}
	if code := command("validate", folder); code != exitDone {
		t.Errorf("validate ends with %d: %s", code, said.String())
	}
	archive, err := zip.OpenReader(log + ".zip")
	if err != nil {
		t.Fatal(err)
	}
	defer archive.Close()
	files, _ := os.ReadDir(out)
	written, _ := os.ReadDir(folder)
	if len(files) < 4 || len(files) != len(archive.File) || len(files) != len(written) {
		t.Fatalf("%d files, %d in the folder, %d in the zip", len(files), len(written), len(archive.File))
	}
	for _, file := range files {
		want, err := os.ReadFile(filepath.Join(out, file.Name()))
		if err != nil {
			t.Fatal(err)
		}
		if got, err := os.ReadFile(filepath.Join(folder, file.Name())); err != nil || !bytes.Equal(got, want) {
			t.Errorf("%s in the folder has other bytes: %v", file.Name(), err)
		}
		in, err := archive.Open(file.Name())
		if err != nil {
			t.Fatal(err)
		}
		if got, err := io.ReadAll(in); err != nil || !bytes.Equal(got, want) {
			t.Errorf("%s in the zip has other bytes: %v", file.Name(), err)
		}
		in.Close()
	}
}
