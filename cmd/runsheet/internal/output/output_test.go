package output

import (
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"runsheet.example/validate/manifest"
)

// file is one file of a folder to write.
type file struct{ name, data string }

var (
	older = []file{{"a.json", "1\n"}, {manifest.Name, `ours, older: "a.json"`}}
	newer = []file{{"b.json", "2\n"}, {"c.json", "3\n"}, {manifest.Name, `ours, newer: "b.json", "c.json"`}}
)

func ours(head []byte) bool { return strings.HasPrefix(string(head), "ours") }

// folder writes a folder; change replaces what the system does.
func folder(dir string, files []file, force bool, change func(*Folder)) (Outcome, error) {
	f, err := NewFolder(dir, force, ours)
	if err != nil {
		return Written, err
	}
	defer f.Close()
	if change != nil {
		change(f)
	}
	for _, one := range files {
		w, err := f.Create(one.name)
		if err != nil {
			return Written, err
		}
		if _, err := io.WriteString(w, one.data); err != nil {
			return Written, err
		}
		if err := w.Close(); err != nil {
			return Written, err
		}
	}
	return f.Commit()
}

// withoutExchange is a system that cannot exchange two folders.
func withoutExchange(f *Folder) {
	f.exchange = func(_, _ string) error { return errors.ErrUnsupported }
}

// holds reports whether a folder holds just these files.
func holds(dir string, files []file) bool {
	entries, err := os.ReadDir(dir)
	if err != nil || len(entries) != len(files) {
		return false
	}
	for _, f := range files {
		if data, err := os.ReadFile(filepath.Join(dir, f.name)); err != nil || string(data) != f.data {
			return false
		}
	}
	return true
}

func TestFolderIsWrittenOnceAndReplacedOnlyWhenAsked(t *testing.T) {
	for name, change := range map[string]func(*Folder){"exchanged": nil, "moved aside": withoutExchange} {
		dir := filepath.Join(t.TempDir(), "deep", "out")
		if got, err := folder(dir, older, false, change); err != nil || got != Written {
			t.Fatalf("%s: first: %v, %v", name, got, err)
		}
		if got, err := folder(dir, older, false, change); err != nil || got != Unchanged {
			t.Fatalf("%s: same again: %v, %v", name, got, err)
		}
		if _, err := folder(dir, newer, false, change); !errors.Is(err, ErrExists) {
			t.Fatalf("%s: changed, without force: %v", name, err)
		}
		if _, err := folder(dir, newer, true, change); err != nil || !holds(dir, newer) {
			t.Fatalf("%s: changed, with force: %v", name, err)
		}
		leftovers, err := os.ReadDir(filepath.Dir(dir))
		if err != nil || len(leftovers) != 1 {
			t.Errorf("%s: beside the folder: %v, %v", name, leftovers, err)
		}
	}
}

// Neither a folder without a manifest nor one with somebody else's is replaced.
func TestForceNeverReplacesWhatIsNoExport(t *testing.T) {
	for _, name := range []string{"thesis.txt", manifest.Name} {
		dir := t.TempDir()
		keep := filepath.Join(dir, name)
		if err := os.WriteFile(keep, []byte("years of work"), 0o600); err != nil {
			t.Fatal(err)
		}
		if _, err := folder(dir, newer, true, nil); !errors.Is(err, ErrExists) {
			t.Fatalf("%s: got %v, want a refusal", name, err)
		}
		if data, err := os.ReadFile(keep); err != nil || string(data) != "years of work" {
			t.Errorf("%s is gone or changed", name)
		}
	}
}

// What somebody put into the folder of an export is not deleted with it.
func TestForceNeverDeletesOtherFiles(t *testing.T) {
	for _, name := range []string{"letter.docx", filepath.Join("photos", "fistula.jpg")} {
		dir := filepath.Join(t.TempDir(), "out")
		if _, err := folder(dir, older, false, nil); err != nil {
			t.Fatal(err)
		}
		keep := filepath.Join(dir, name)
		if err := os.MkdirAll(filepath.Dir(keep), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(keep, []byte("mine"), 0o600); err != nil {
			t.Fatal(err)
		}
		if _, err := folder(dir, newer, true, nil); !errors.Is(err, ErrExists) || !strings.Contains(err.Error(), strings.Split(name, "/")[0]) {
			t.Errorf("%s: %v", name, err)
		}
		if data, err := os.ReadFile(keep); err != nil || string(data) != "mine" {
			t.Errorf("%s is gone or changed", name)
		}
	}
}

func TestNothingIsLeftWhenWritingFails(t *testing.T) {
	parent := t.TempDir()
	bad := []file{{"a.json", "1"}, {"a.json/no.json", "2"}}
	if _, err := folder(filepath.Join(parent, "out"), bad, false, nil); err == nil {
		t.Fatal("no error for a file that cannot be written")
	}
	if left, err := os.ReadDir(parent); err != nil || len(left) != 0 {
		t.Errorf("left behind: %v, %v", left, err)
	}
}

// What was written before is forgotten, and only what came after is there.
func TestFolderBegunAnew(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "out")
	f, err := NewFolder(dir, false, ours)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	for _, files := range [][]file{older, newer} {
		if err := f.Clear(); err != nil {
			t.Fatal(err)
		}
		for _, one := range files {
			w, err := f.Create(one.name)
			if err != nil {
				t.Fatal(err)
			}
			_, _ = io.WriteString(w, one.data)
			if err := w.Close(); err != nil {
				t.Fatal(err)
			}
		}
	}
	if _, err := f.Commit(); err != nil || !holds(dir, newer) {
		t.Errorf("the folder holds something else (%v)", err)
	}
}

// What a running process writes is not swept away by another to the same place;
// files of other places never are.
func TestSweepLeavesWhatIsInUse(t *testing.T) {
	parent := t.TempDir()
	dir := filepath.Join(parent, "out")
	running, err := NewFolder(dir, false, ours)
	if err != nil {
		t.Fatal(err)
	}
	defer running.Close()
	other := filepath.Join(parent, ".runsheet-other")
	stale := filepath.Join(parent, prefix(dir)+"new-1")
	for _, name := range []string{other, stale} {
		if err := os.Mkdir(name, 0o700); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := folder(dir, older, false, nil); err != nil {
		t.Fatal(err)
	}
	for name, want := range map[string]bool{running.temporary: true, other: true, stale: false} {
		if _, err := os.Stat(name); (err == nil) != want {
			t.Errorf("%s is there: %v, want %v", name, err == nil, want)
		}
	}
}

func TestSingle(t *testing.T) {
	path := filepath.Join(t.TempDir(), "month.json")
	steps := []struct {
		data  string
		force bool
		want  Outcome
		taken bool
	}{
		{"ours 1", false, Written, false}, {"ours 1", false, Unchanged, false},
		{"ours 2", false, Written, true}, {"thesis", true, Written, false},
		{"ours 3", true, Written, true},
	}
	for i, s := range steps {
		got, err := Single(path, []byte(s.data), s.force, ours)
		if taken := errors.Is(err, ErrExists); got != s.want || taken != s.taken || err != nil && !taken {
			t.Errorf("step %d: %v, %v", i, got, err)
		}
	}
}
