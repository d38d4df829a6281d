package output

import (
	"errors"
	"io"
	"os"
	"path/filepath"
	"testing"
)

var export = []File{{"a.json", []byte("1\n")}, {Marker, []byte("{}\n")}}

func TestFolderIsWrittenOnceAndReplacedOnlyWhenAsked(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "deep", "out")
	if got, err := Folder(dir, export, false); err != nil || got != Written {
		t.Fatalf("first: %v, %v", got, err)
	}
	if got, err := Folder(dir, export, false); err != nil || got != Unchanged {
		t.Fatalf("same again: %v, %v", got, err)
	}
	changed := []File{{"b.json", []byte("2\n")}, {Marker, []byte("{}\n")}}
	if _, err := Folder(dir, changed, false); !errors.Is(err, ErrExists) {
		t.Fatalf("changed, without force: %v", err)
	}
	if _, err := Folder(dir, changed, true); err != nil {
		t.Fatalf("changed, with force: %v", err)
	}
	if _, err := os.Stat(filepath.Join(dir, "a.json")); err == nil {
		t.Error("a file of the older export is still there")
	}
	leftovers, err := os.ReadDir(filepath.Dir(dir))
	if err != nil || len(leftovers) != 1 {
		t.Errorf("beside the folder: %v, %v", leftovers, err)
	}
}

func TestForceNeverReplacesWhatIsNoExport(t *testing.T) {
	dir := t.TempDir()
	keep := filepath.Join(dir, "thesis.txt")
	if err := os.WriteFile(keep, []byte("years of work"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := Folder(dir, export, true); !errors.Is(err, ErrExists) {
		t.Fatalf("got %v, want a refusal", err)
	}
	if _, err := os.Stat(keep); err != nil {
		t.Error("the file is gone")
	}
}

func TestNothingIsLeftWhenWritingFails(t *testing.T) {
	parent := t.TempDir()
	bad := []File{{"a.json", []byte("1")}, {"no/such/folder.json", []byte("2")}}
	if _, err := Folder(filepath.Join(parent, "out"), bad, false); err == nil {
		t.Fatal("no error for a file that cannot be written")
	}
	if left, err := os.ReadDir(parent); err != nil || len(left) != 0 {
		t.Errorf("left behind: %v, %v", left, err)
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
		{"1", false, Written, false}, {"1", false, Unchanged, false},
		{"2", false, Written, true}, {"2", true, Written, false},
	}
	for i, s := range steps {
		got, err := Single(path, []byte(s.data), s.force)
		if taken := errors.Is(err, ErrExists); got != s.want || taken != s.taken || err != nil && !taken {
			t.Errorf("step %d: %v, %v", i, got, err)
		}
	}
}

func TestStream(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a")
	for _, text := range []string{"one", "another"} {
		if err := Stream(path, func(w io.Writer) error { _, err := io.WriteString(w, text); return err }); err != nil {
			t.Fatal(err)
		}
		if got, err := os.ReadFile(path); err != nil || string(got) != text {
			t.Errorf("got %q, %v", got, err)
		}
	}
	failed := errors.New("failed")
	if err := Stream(path, func(w io.Writer) error { _, _ = io.WriteString(w, "x"); return failed }); !errors.Is(err, failed) {
		t.Errorf("error %v", err)
	}
	got, err := os.ReadFile(path)
	left, _ := os.ReadDir(filepath.Dir(path))
	if err != nil || string(got) != "another" || len(left) != 1 {
		t.Errorf("after a failure: %q, %v, %d files", got, err, len(left))
	}
}
