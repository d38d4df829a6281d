package receipt

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
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

// someEntry draws an entry, of few identities so that many are replaced.
func someEntry(rt *rapid.T) Entry {
	text := rapid.StringMatching(`[a-z0-9 "\\<>é\x{7f}\x{9b}\x{202e}-]{1,12}`)
	return Entry{
		Identity: fmt.Sprint("i", rapid.IntRange(1, 9).Draw(rt, "identity")), Type: "Observation", ID: rapid.StringMatching(`[A-Za-z0-9.-]{1,64}`).Draw(rt, "id"),
		Version: text.Draw(rt, "version"), Status: rapid.SampledFrom([]Status{Created, Present, Differs, Corrected, Withdrawn}).Draw(rt, "status"),
		SHA256: text.Draw(rt, "digest"), Session: text.Draw(rt, "session"), Label: text.Draw(rt, "label"),
	}
}

// sameReceipt compares all that a receipt says.
func sameReceipt(t interface{ Errorf(string, ...any) }, got, want *Receipt) {
	if diff := cmp.Diff(want.All(), got.All(), cmpopts.EquateEmpty()); diff != "" {
		t.Errorf("entries:\n%s", diff)
	}
	if got.Patient != want.Patient || got.Style != want.Style || !cmp.Equal(got.Amending, want.Amending) || string(got.Options) != string(want.Options) {
		t.Errorf("head: %+v, want %+v", got, want)
	}
}

// After each saving the file says all that was saved: every entry, in its
// order, with the newest state of each. However often the program was stopped
// and started in between, the final form is the same bytes.
func TestSavedIsRead(t *testing.T) {
	folder := t.TempDir()
	path, whole := filepath.Join(folder, "receipt.json"), filepath.Join(folder, "whole.json")
	rapid.Check(t, func(rt *rapid.T) {
		_, _ = os.Remove(path), os.Remove(whole)
		r, unstopped := open(t, path), open(t, whole)
		for step := range rapid.IntRange(1, 8).Draw(rt, "savings") {
			for range rapid.IntRange(0, 5).Draw(rt, "entries") {
				e := someEntry(rt)
				r.Put(e)
				unstopped.Put(e)
			}
			switch rapid.IntRange(0, 3).Draw(rt, "head") {
			case 0:
				r.Patient, r.Style, r.Options = fmt.Sprint("Patient/", step), "transaction", []byte(`{"format":1}`)
			case 1:
				r.Amending = []Amendment{{Recorded: "2025-12-01T09:00:00Z", Session: "s", Changes: []Change{{Identity: "i1", OldVersion: "1"}}}}
			case 2:
				r.Amending = nil
			}
			unstopped.Patient, unstopped.Style, unstopped.Options, unstopped.Amending = r.Patient, r.Style, r.Options, r.Amending
			if err := r.Save(); err != nil {
				rt.Fatal(err)
			}
			again := open(t, path)
			sameReceipt(rt, again, r)
			if rapid.Bool().Draw(rt, "stopped") {
				r.file.stop()
				r = again
			}
		}
		if err := r.Close(); err != nil {
			rt.Fatal(err)
		}
		if err := errors.Join(unstopped.Save(), unstopped.Close()); err != nil {
			rt.Fatal(err)
		}
		got, _ := os.ReadFile(path)
		want, _ := os.ReadFile(whole)
		if !bytes.Equal(got, want) {
			rt.Errorf("stopped and started:\n%s\nat once:\n%s", got, want)
		}
		sameReceipt(rt, open(t, path), r)
	})
}

// Wherever the last line is cut off, or overwritten as a loss of power may
// leave it, the receipt says what it said before that line, says that it was
// cut, and goes on; a line that is broken before others is damage.
func TestLastLineCutOff(t *testing.T) {
	path := filepath.Join(t.TempDir(), "receipt.json")
	r := open(t, path)
	put := func(id string) {
		r.Put(Entry{Identity: id, Type: "Device", ID: "at-" + id, Status: Created})
		if err := r.Save(); err != nil {
			t.Fatal(err)
		}
	}
	put("a")
	put("b")
	before, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	put("c")
	all, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.HasPrefix(all, before) || bytes.Count(all[len(before):], []byte("\n")) != 1 {
		t.Fatalf("a change is more than a line behind the file: %q", all[len(before):])
	}
	for end := len(before); end < len(all); end++ {
		whole := end == len(all)-1 // only the line's end is missing
		zeroed := append(append([]byte{}, all[:end]...), make([]byte, len(all)-end)...)
		for name, text := range map[string][]byte{"cut": all[:end], "zeroed": zeroed} {
			if err := os.WriteFile(path, text, 0o600); err != nil {
				t.Fatal(err)
			}
			again := open(t, path)
			want := 2
			if whole && name == "cut" {
				want = 3
			}
			cut := end > len(before) && want == 2 || name == "zeroed"
			if len(again.All()) != want || again.CutOff() != cut {
				t.Fatalf("%s at %d: %d entries, cut off %t", name, end, len(again.All()), again.CutOff())
			}
			again.Put(Entry{Identity: "d", Type: "Device", ID: "at-d", Status: Created})
			if err := again.Save(); err != nil {
				t.Fatal(err)
			}
			if last := open(t, path); len(last.All()) != want+1 || last.CutOff() {
				t.Errorf("%s at %d, going on: %d entries, cut off %t", name, end, len(last.All()), last.CutOff())
			}
		}
	}
	damaged := append(append([]byte{}, before...), "{\"resources\":[{\"ident\n{}\n"...)
	if _, err := parse(damaged); !errors.Is(err, errDamaged) {
		t.Errorf("a broken line before another: %v", err)
	}
}

// What could not be written whole is not written behind.
func TestSaveAgainAfterAFailure(t *testing.T) {
	path := filepath.Join(t.TempDir(), "receipt.json")
	r := open(t, path)
	r.Put(Entry{Identity: "a", Type: "Device", ID: "1", Status: Created})
	if err := r.Save(); err != nil {
		t.Fatal(err)
	}
	r.Put(Entry{Identity: "b", Type: "Device", ID: "2", Status: Created})
	if err := r.Save(); err != nil {
		t.Fatal(err)
	}
	_ = r.file.open.Close() // as if the disk were gone
	r.Put(Entry{Identity: "c", Type: "Device", ID: "3", Status: Created})
	if err := r.Save(); err == nil {
		t.Fatal("saved to a closed file")
	}
	if err := r.Save(); err != nil {
		t.Fatal(err)
	}
	if n := len(open(t, path).All()); n != 3 {
		t.Errorf("%d entries", n)
	}
}

// A receipt of the first programs, which wrote it whole each time, is read.
func TestFirstReceipts(t *testing.T) {
	r, err := parse([]byte(`{"format":1,"server":"https://a","log":"l","patient":"Patient/1","style":"batch","resources":[
{"identity":"a","type":"Device","id":"1","status":"created"},
{"identity":"b","type":"Procedure","id":"2","version":"1","status":"created","sha256":"00","session":"b","label":"x","role":"procedure"}
]}
`))
	if err != nil {
		t.Fatal(err)
	}
	if e, ok := r.Of("b"); len(r.All()) != 2 || !ok || e.Reference() != "Procedure/2" || r.Patient != "Patient/1" || r.CutOff() || !r.HasSessions() {
		t.Errorf("%+v", r)
	}
}

func TestOpenRefuses(t *testing.T) {
	folder := t.TempDir()
	path := filepath.Join(folder, "receipt.json")
	r := open(t, path)
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

// A second sender is kept away as long as the first holds the receipt, and
// then sees what the first has written.
func TestHold(t *testing.T) {
	path := filepath.Join(t.TempDir(), "receipt.json")
	hold := func() (*Receipt, func() error, error) { return Hold(path, "https://fhir.example/r4", "log-1") }
	r, release, err := hold()
	if err != nil {
		t.Fatal(err)
	}
	if _, _, err := hold(); err == nil || !strings.Contains(err.Error(), "another runsheet is sending") {
		t.Errorf("second: %v", err)
	}
	for _, id := range []string{"a", "b"} {
		r.Put(Entry{Identity: id, Type: "Device", ID: "1", Status: Created})
		if err := r.Save(); err != nil {
			t.Fatal(err)
		}
	}
	if err := release(); err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(path + ".lock"); err == nil {
		t.Error("the lock was left behind")
	}
	again, release, err := hold()
	if err != nil {
		t.Fatal(err)
	}
	if len(again.All()) != 2 || again.file.stale {
		t.Errorf("%d entries, changes behind the whole: %t", len(again.All()), again.file.stale)
	}
	if err := release(); err != nil {
		t.Fatal(err)
	}
	if _, _, err := Hold(path, "https://other.example", ""); err == nil {
		t.Error("held for another server")
	}
	if _, release, err := hold(); err != nil {
		t.Errorf("a refusal left the lock: %v", err)
	} else if err := release(); err != nil {
		t.Error(err)
	}
}

// Whatever stands in the file, it is read or refused; what is read is written
// and read to the same.
func FuzzParse(f *testing.F) {
	f.Add([]byte(`{"format":1,"server":"https://a","log":"l","resources":[
{"identity":"a","type":"Device","id":"1","status":"created"}
]}`))
	f.Add([]byte(`{"format":1,"resources":null,"amending":[{"recorded":"","session":"","changes":null}]}`))
	f.Add([]byte(`{"format":1,"resources":[]}
{"head":{"format":1,"server":"s","log":"l","style":"put"},"resources":[{"identity":"a","type":"Device","id":"1","status":"created"}]}
{"resources":[{"identity":"a","type":"Device","id":"1","version":"2","status":"corre`))
	f.Fuzz(func(t *testing.T, text []byte) {
		r, err := parse(text)
		if err != nil {
			return
		}
		written, err := wholeText(r)
		if err != nil {
			t.Fatal(err)
		}
		again, err := parse(written)
		if err != nil {
			t.Fatalf("not read again: %v\n%s", err, written)
		}
		if !cmp.Equal(r.All(), again.All()) {
			t.Errorf("other entries:\n%s", written)
		}
	})
}

// BenchmarkSave puts a session of 60 resources behind the receipt of a month
// and of a year of a unit, as is done after each answer: what it takes does not
// depend on what stands there.
func BenchmarkSave(b *testing.B) {
	for _, sessions := range []int{21, 2500} {
		b.Run(fmt.Sprint(sessions, "sessions"), func(b *testing.B) {
			r, err := Open(filepath.Join(b.TempDir(), "receipt.json"), "https://fhir.example/r4", "log-1")
			if err != nil {
				b.Fatal(err)
			}
			const resources = 60
			putSession := func(session int) {
				for i := session * resources; i < (session+1)*resources; i++ {
					r.Put(Entry{
						Identity: fmt.Sprintf("0fe284f2-49f6-5f03-b080-%012d", i), Type: "Observation", ID: fmt.Sprintf("41ada58d-d813-4197-a6db-%012d", i), Version: "1",
						Status: Created, SHA256: fmt.Sprintf("%064d", i), Session: fmt.Sprintf("0fe284f2-49f6-5f03-b080-%012d", session), Label: fmt.Sprint("s", session), Role: "reading:bp_systolic",
					})
				}
			}
			for session := range sessions {
				putSession(session)
			}
			if err := r.Save(); err != nil {
				b.Fatal(err)
			}
			for b.Loop() {
				putSession(0)
				if err := r.Save(); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// parse reads a receipt's text, and wholeText writes it.
func parse(text []byte) (*Receipt, error) {
	r := empty("")
	return r, r.read(bytes.NewReader(text))
}

func wholeText(r *Receipt) ([]byte, error) {
	var out bytes.Buffer
	err := r.write(&out)
	return out.Bytes(), err
}
