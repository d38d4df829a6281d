package validate_test

import (
	"bytes"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"runsheet.example/validate"
)

// broken is the sound session with one thing wrong.
type broken struct {
	// rule must be raised at expression, on the line where mark stands
	// within the entry, after the change.
	rule string
	// entry is the index of the Bundle entry that is changed; old in it
	// becomes new. With entry -1 the whole document is searched.
	entry      int
	old, new   string
	expression string
	mark       string
	// markEntry is the entry the mark stands in, when it is another one.
	markEntry int
	// also are rules that the same fault raises elsewhere.
	also []string
}

func (b broken) name() string { return fmt.Sprintf("%s %d %.30s", b.rule, b.entry, b.new) }

func session(t testing.TB) string {
	t.Helper()
	data, err := os.ReadFile("testdata/session.json")
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

// bounds returns where an entry of the session begins and ends.
func bounds(document string, entry int) (start, end int) {
	if entry < 0 {
		return 0, len(document)
	}
	const head = "\n  {\n   \"fullUrl\""
	for range entry + 1 {
		start += strings.Index(document[start:], head) + 1
	}
	end = len(document)
	if next := strings.Index(document[start:], head); next >= 0 {
		end = start + next
	}
	return start, end
}

// change applies the fault and returns the document and the line of the mark.
func (b broken) change(t *testing.T, document string) (changed string, line int) {
	t.Helper()
	start, end := bounds(document, b.entry)
	if !strings.Contains(document[start:end], b.old) {
		t.Fatalf("entry %d does not hold %q", b.entry, b.old)
	}
	changed = document[:start] + strings.Replace(document[start:end], b.old, b.new, 1) + document[end:]
	if b.markEntry == 0 {
		b.markEntry = b.entry
	}
	start, end = bounds(changed, b.markEntry)
	at := strings.Index(changed[start:end], b.mark)
	if at < 0 {
		t.Fatalf("entry %d does not hold the mark %q", b.markEntry, b.mark)
	}
	return changed, 1 + strings.Count(changed[:start+at], "\n")
}

func (b broken) run(t *testing.T) {
	document, line := b.change(t, session(t))
	findings := validate.New(validate.Options{}).Bytes([]byte(document), "session.json")
	found := false
	for _, f := range findings {
		switch {
		case f.Rule == b.rule && f.Expression == b.expression && f.Line == line:
			found = true
		case f.Rule == b.rule || slices.Contains(b.also, f.Rule):
		default:
			t.Errorf("unexpected finding: %+v", f)
		}
	}
	if !found {
		t.Errorf("no %s at %s, line %d", b.rule, b.expression, line)
		for _, f := range findings {
			t.Logf("%s %s line %d: %s (%s, expected %s)", f.Rule, f.Expression, f.Line, f.Details, f.Value, f.Expected)
		}
	}
}

func runAll(t *testing.T, cases []broken) {
	t.Helper()
	for _, b := range cases {
		t.Run(b.name(), b.run)
	}
}

// TestSoundSession holds that the session all faults are put into raises
// nothing by itself.
func TestSoundSession(t *testing.T) {
	for _, f := range validate.New(validate.Options{Schema: true}).Bytes([]byte(session(t)), "session.json") {
		t.Errorf("%s %s line %d: %s (%s)", f.Rule, f.Expression, f.Line, f.Details, f.Value)
	}
}

// TestBytesAreStable holds that the same document gives the same findings,
// in the same order.
func TestBytesAreStable(t *testing.T) {
	document := []byte(strings.ReplaceAll(session(t), `"kg"`, `"KG"`))
	render := func() string {
		var out bytes.Buffer
		for _, f := range validate.New(validate.Options{}).Bytes(document, "session.json") {
			fmt.Fprintln(&out, f)
		}
		return out.String()
	}
	first := render()
	if !strings.Contains(first, "unit-not-ucum") {
		t.Fatal("the fault was not found")
	}
	for range 5 {
		if again := render(); again != first {
			t.Fatalf("first\n%s\nagain\n%s", first, again)
		}
	}
}
