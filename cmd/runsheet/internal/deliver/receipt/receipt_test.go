package receipt

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

func open(t *testing.T, path string) *Receipt {
	t.Helper()
	r, err := Open(path, "https://fhir.example/r4", "log-1")
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// What is saved is read again: every entry, in its order, with the newest
// state of each.
func TestSavedIsRead(t *testing.T) {
	path := filepath.Join(t.TempDir(), "receipt.json")
	rapid.Check(t, func(rt *rapid.T) {
		_ = os.Remove(path)
		r := open(t, path)
		text := rapid.StringMatching(`[a-z0-9 "\\<>é-]{1,12}`)
		r.Patient, r.Style = text.Draw(rt, "patient"), "transaction"
		for range rapid.IntRange(0, 20).Draw(rt, "entries") {
			e := Entry{
				Identity: fmt.Sprint("i", rapid.IntRange(1, 9).Draw(rt, "identity")), Type: "Observation", ID: text.Draw(rt, "id"),
				Version: text.Draw(rt, "version"), Status: rapid.SampledFrom([]Status{Created, Present, Differs, Corrected, Withdrawn}).Draw(rt, "status"),
				SHA256: text.Draw(rt, "digest"), Session: text.Draw(rt, "session"), Label: text.Draw(rt, "label"),
			}
			if err := r.Put(e); err != nil {
				rt.Fatal(err)
			}
		}
		r.Amending = []Amendment{{Recorded: "2025-12-01T09:00:00Z", Session: "s", Changes: []Change{{Identity: "i1", OldVersion: "1"}}}}
		if err := r.Save(); err != nil {
			rt.Fatal(err)
		}
		again := open(t, path)
		if diff := cmp.Diff(r.All(), again.All()); diff != "" {
			rt.Errorf("entries:\n%s", diff)
		}
		if again.Patient != r.Patient || again.Style != r.Style || !cmp.Equal(again.Amending, r.Amending) {
			rt.Errorf("head: %+v", again)
		}
	})
}

func TestOpenRefuses(t *testing.T) {
	folder := t.TempDir()
	path := filepath.Join(folder, "receipt.json")
	r := open(t, path)
	if r.Exists() {
		t.Error("a receipt exists before it was saved")
	}
	if err := r.Save(); err != nil {
		t.Fatal(err)
	}
	if _, err := Open(path, "https://other.example", "log-1"); err == nil || !strings.Contains(err.Error(), "another server") {
		t.Errorf("another server: %v", err)
	}
	if _, err := Open(path, "https://fhir.example/r4", "log-2"); err == nil || !strings.Contains(err.Error(), "another log") {
		t.Errorf("another log: %v", err)
	}
	for name, text := range map[string]string{"empty": "", "cut": `{"format":1,"resources":[`, "other": `{"format":2}`, "no id": `{"format":1,"resources":[{"identity":"a","type":"Device"}]}`} {
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		if _, err := Open(path, "https://fhir.example/r4", "log-1"); err == nil {
			t.Errorf("%s: read", name)
		}
	}
	if left, err := filepath.Glob(filepath.Join(folder, ".runsheet-*")); err != nil || len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
}

// A second sender is kept away as long as the first has the lock.
func TestLock(t *testing.T) {
	path := filepath.Join(t.TempDir(), "receipt.json")
	unlock, err := open(t, path).Lock()
	if err != nil {
		t.Fatal(err)
	}
	if _, err := open(t, path).Lock(); err == nil || !strings.Contains(err.Error(), "another runsheet is sending") {
		t.Errorf("second lock: %v", err)
	}
	unlock()
	if _, err := os.Stat(path + ".lock"); err == nil {
		t.Error("the lock was left behind")
	}
	again, err := open(t, path).Lock()
	if err != nil {
		t.Fatal(err)
	}
	again()
}

// Whatever stands in the file, it is read or refused; what is read is written
// and read to the same.
func FuzzParse(f *testing.F) {
	f.Add([]byte(`{"format":1,"server":"https://a","log":"l","resources":[
{"identity":"a","type":"Device","id":"1","status":"created"}
]}`))
	f.Add([]byte(`{"format":1,"resources":null,"amending":[{"recorded":"","session":"","changes":null}]}`))
	f.Fuzz(func(t *testing.T, text []byte) {
		r, err := Parse(text)
		if err != nil {
			return
		}
		written, err := r.Text()
		if err != nil {
			t.Fatal(err)
		}
		again, err := Parse(written)
		if err != nil {
			t.Fatalf("not read again: %v\n%s", err, written)
		}
		if !cmp.Equal(r.All(), again.All()) {
			t.Errorf("other entries:\n%s", written)
		}
	})
}

// BenchmarkSave writes the receipt of a month, about 2,000 resources, as it is
// written after each answer.
func BenchmarkSave(b *testing.B) {
	r, err := Open(filepath.Join(b.TempDir(), "receipt.json"), "https://fhir.example/r4", "log-1")
	if err != nil {
		b.Fatal(err)
	}
	for i := range 2000 {
		e := Entry{
			Identity: fmt.Sprintf("0fe284f2-49f6-5f03-b080-%012d", i), Type: "Observation", ID: fmt.Sprintf("41ada58d-d813-4197-a6db-%012d", i), Version: "1",
			Status: Created, SHA256: strings.Repeat("0", 64), Session: "0fe284f2-49f6-5f03-b080-94c5e9324563", Label: "2025-10-20a", Role: "reading:bp_systolic",
		}
		if err := r.Put(e); err != nil {
			b.Fatal(err)
		}
	}
	for b.Loop() {
		if err := r.Save(); err != nil {
			b.Fatal(err)
		}
	}
}
