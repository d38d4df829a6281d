package doc_test

import (
	"bytes"
	"fmt"
	"os"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"runsheet.example/validate/doc"
)

// readPlainly reads the document after a byte order mark, a fault from which on
// every value is read: as a reader without repeats does.
func readPlainly(d *doc.Doc, data []byte) {
	d.Parse(append([]byte("\xef\xbb\xbf"), data...), "")
}

// sameNodes compares two readings of a document, the second of which stands
// three bytes further on.
func sameNodes(a, b *doc.Doc) error {
	if a.Len() != b.Len() || a.Broken() != b.Broken() {
		return fmt.Errorf("%d values, broken %v; read plainly %d, %v", a.Len(), a.Broken(), b.Len(), b.Broken())
	}
	for n := range doc.Node(a.Len()) {
		one := fmt.Sprintf("%v %q %d %d %d %d %d %q %v %d %d", a.Kind(n), a.Key(n), a.KeyHash(n), a.Parent(n), a.Next(n),
			a.Index(n), a.Count(n), a.Str(n), a.Malformed(n), a.Offset(n), a.End(n))
		two := fmt.Sprintf("%v %q %d %d %d %d %d %q %v %d %d", b.Kind(n), b.Key(n), b.KeyHash(n), b.Parent(n), b.Next(n),
			b.Index(n), b.Count(n), b.Str(n), b.Malformed(n), b.Offset(n)-3, b.End(n)-3)
		if one != two || !bytes.Equal(a.Raw(n), b.Raw(n)) {
			return fmt.Errorf("node %d: %s; read plainly %s", n, one, two)
		}
	}
	return nil
}

// checkRepeats holds that what Repeats says is so.
func checkRepeats(d *doc.Doc) error {
	end := doc.Node(0)
	for _, r := range d.Repeats() {
		if r.Of+doc.Node(r.Len) > r.Node || r.Node < end || !bytes.Equal(d.Raw(r.Node), d.Raw(r.Of)) {
			return fmt.Errorf("%+v is no repeat", r)
		}
		end = r.Node + doc.Node(r.Len)
		if int(end) < d.Len() && d.Offset(end) < d.End(r.Node) {
			return fmt.Errorf("%+v is longer", r)
		}
	}
	return nil
}

func compareReadings(d, plain *doc.Doc, data []byte) error {
	d.Parse(data, "")
	readPlainly(plain, data)
	if err := sameNodes(d, plain); err != nil {
		return err
	}
	return checkRepeats(d)
}

func TestRepeats(t *testing.T) {
	data, err := os.ReadFile("../testdata/bundle40.json")
	if err != nil {
		t.Fatal(err)
	}
	for text, want := range map[string]int{
		string(data):                                    213,
		`{"a":{"b":[1]},"c":{"a":{"b":[1]}}}`:           0, // may not go deeper than the one before
		`{"c":{"a":{"b":[1]}},"a":{"b":[1]}}`:           1,
		`[{"a":{"b":1}},{"a":{"b":1}},{"a":{"b":1 }}]`:  1,
		`[{"a":{"\u0062":"\n"}},{"a":{"\u0062":"\n"}}]`: 1,
		`[{"a":[]},{"a":[]},{"a":[{}]},{"a":[{}]}]`:     2,
		`{"a":{"a":{"a":{}}},"b":[[{"a":{"a":{}}}]]}`:   0,
		`[{"a":{"b":1,"b":1}},{"a":{"b":1,"b":1}}]`:     0, // a fault is told twice
		`[{"a":{"b":1}},{"a":{"b":1}`:                   1, // the document ends too early
		`[{"a":{"b":1}},{"a":{"b":1`:                    0,
	} {
		var d, plain doc.Doc
		if err := compareReadings(&d, &plain, []byte(text)); err != nil {
			t.Errorf("%.60s: %v", text, err)
		}
		if got := len(d.Repeats()); got != want {
			t.Errorf("%.60s: %d repeats, want %d", text, got, want)
		}
	}
}

// TestRepeatedFaults holds that a fault is told each time it stands there.
func TestRepeatedFaults(t *testing.T) {
	var d doc.Doc
	found := d.Parse([]byte(`[{"a":{"b":1,"b":1}},{"a":{"b":1,"b":1}}]`), "")
	if len(found) != 2 || found[1].Column != 38 {
		t.Errorf("%+v", found)
	}
}

// TestRepeatsProperty reads documents of few different values and names, under
// limits that some of them break.
func TestRepeatsProperty(t *testing.T) {
	var d, plain doc.Doc
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.Custom(anyValue(6)).Draw(t, "text")
		if rapid.Bool().Draw(t, "cut") {
			text = text[:rapid.IntRange(0, len(text)).Draw(t, "at")]
		}
		d.MaxDepth = rapid.IntRange(1, 8).Draw(t, "depth")
		d.MaxValues = rapid.IntRange(1, 60).Draw(t, "values")
		plain.MaxDepth, plain.MaxValues = d.MaxDepth, d.MaxValues
		if err := compareReadings(&d, &plain, []byte(text)); err != nil {
			t.Fatalf("%s: %v", text, err)
		}
	})
}

func anyValue(depth int) func(*rapid.T) string {
	return func(t *rapid.T) string {
		kinds := []string{`1`, `"x"`, `"\t"`, `null`, `{}`, `[]`, `{"b":"\u00e9"}`, `+1`}
		if depth == 0 {
			return rapid.SampledFrom(kinds).Draw(t, "leaf")
		}
		value := rapid.Custom(anyValue(depth - 1))
		switch rapid.IntRange(0, 3).Draw(t, "kind") {
		case 0:
			return rapid.SampledFrom(kinds).Draw(t, "leaf")
		case 1:
			return "[" + strings.Join(rapid.SliceOfN(value, 0, 3).Draw(t, "items"), ",") + "]"
		default:
			names := rapid.SliceOfNDistinct(rapid.SampledFrom([]string{"a", "b", `\u0061`, "c"}), 0, 3, rapid.ID[string]).Draw(t, "names")
			v := value.Draw(t, "value")
			for i, name := range names {
				names[i] = `"` + name + `":` + v
			}
			return "{" + strings.Join(names, ",") + "}"
		}
	}
}

// FuzzRepeats holds that copied values are those that stand there.
func FuzzRepeats(f *testing.F) {
	f.Add([]byte(`[{"a":{"b":[1,"\n"]}},{"a":{"b":[1,"\n"]},"c":{"a":{"b":[1,"\n"]}}}]`))
	f.Add([]byte(`{"a":{"a":{"a":{}}},"b":[{"a":{"a":{}}},{"\u0061":{"a":{}}}]}`))
	var d, plain doc.Doc
	f.Fuzz(func(t *testing.T, data []byte) {
		if err := compareReadings(&d, &plain, data); err != nil {
			t.Fatalf("%q: %v", data, err)
		}
	})
}
