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
// every value is read: as a reader without models does.
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

// checkEchoes holds that what Echoes says is so.
func checkEchoes(d *doc.Doc) error {
	end := doc.Node(0)
	for _, e := range d.Echoes() {
		if e.Of+doc.Node(e.Len) > e.Node || e.Node < end {
			return fmt.Errorf("%+v stands before the one it echoes, or in another", e)
		}
		end = e.Node + doc.Node(e.Len)
		for n := e.Node; n < end; n++ {
			if p := d.Parent(n); p < e.Node && p != d.Parent(e.Node) || p >= e.Node && d.Parent(e.Of+n-e.Node) != e.Of+p-e.Node {
				return fmt.Errorf("%+v: value %d stands in another one", e, n)
			}
		}
		if int(end) < d.Len() && d.Parent(end) >= e.Node {
			return fmt.Errorf("%+v ends within a value", e)
		}
		if err := checkEcho(d, &e); err != nil {
			return err
		}
	}
	return nil
}

// checkEcho compares an echo with the value before, node by node.
func checkEcho(d *doc.Doc, e *doc.Echo) error {
	differing := d.Differing(e)
	for i := range doc.Node(e.Len) {
		n, of := e.Node+i, e.Of+i
		isScalar := d.Kind(n) > doc.Array
		if d.Kind(n) != d.Kind(of) || d.Malformed(of) || !bytes.Equal(d.Key(n), d.Key(of)) || !isScalar && d.Count(n) != d.Count(of) {
			return fmt.Errorf("%+v: value %d is built otherwise", e, i)
		}
		if isScalar && !bytes.Equal(d.Raw(n), d.Raw(of)) {
			if len(differing) == 0 || differing[0] != n || d.Kind(n) != doc.String && d.Kind(n) != doc.Number {
				return fmt.Errorf("%+v: value %d differs, and is not listed", e, i)
			}
			differing = differing[1:]
		}
	}
	if len(differing) > 0 {
		return fmt.Errorf("%+v: listed, but does not differ: %v", e, differing)
	}
	return nil
}

func compareReadings(d, plain *doc.Doc, data []byte) error {
	if found := d.Parse(data, ""); len(found) > 0 && strings.Contains(found[0].Details, "UTF-16") {
		return nil // after a mark of UTF-8 it is none
	}
	readPlainly(plain, data)
	if err := sameNodes(d, plain); err != nil {
		return err
	}
	return checkEchoes(d)
}

func TestEchoes(t *testing.T) {
	data, err := os.ReadFile("../testdata/bundle40.json")
	if err != nil {
		t.Fatal(err)
	}
	for text, want := range map[string][2]int{ // echoes, and values that differ in them
		string(data):                                        {196, 457},
		`{"a":{"b":[1]},"c":{"a":{"b":[1]}}}`:               {0, 0}, // may not go deeper than the one before
		`{"c":{"a":{"b":[1]}},"a":{"b":[1]}}`:               {1, 0},
		`[{"a":{"b":1}},{"a":{"b":1}},{"a":{"b":1 }}]`:      {2, 0},
		`[{"a":{"b":1}},{"a":{"b":23}},{"a":{"b":-4.5}}]`:   {2, 2},
		`[{"a":"x","b":"y"},{"a":"xx","b":"y"}]`:            {1, 1},
		`[{"a":"x","b":"y"},{"a":"x\u0041","b":"\n"}]`:      {1, 2},
		`[{"request":{"a":1}},{"requesa":{"a":1}}]`:         {0, 0}, // names of one hash
		`[{"a":"x"},{"a":1}]`:                               {0, 0}, // another kind of value
		`[{"a":true},{"a":false}]`:                          {0, 0},
		`[{"a":{"b":1}},{"a":{"b":1},"c":2}]`:               {1, 0}, // a only
		`[{"a":{"b":1},"c":2},{"c":2,"a":{"b":1}}]`:         {1, 0},
		`[{"a":{"b":1},"c":2,"d":[]},{"a":{"b":1},"d":[]}]`: {2, 0},
		`[{"a":{"\u0062":"\n"}},{"a":{"\u0062":"\n"}}]`:     {1, 0},
		`[{"a":[]},{"a":[]},{"a":[{}]},{"a":[{}]}]`:         {2, 0},
		`[[1,2],[1,2,3],[1,2]]`:                             {2, 0},
		`[{"a":{"b":1,"b":1}},{"a":{"b":1,"b":1}}]`:         {0, 0}, // a fault is told twice
		`[{"a":{"b":1}},{"a":{"b":1}`:                       {1, 0}, // the document ends too early
		`[{"a":{"b":1}},{"a":{"b":1`:                        {1, 0},
		`[{"a":"x"},{"a":"xy`:                               {1, 1},
	} {
		var d, plain doc.Doc
		if err := compareReadings(&d, &plain, []byte(text)); err != nil {
			t.Errorf("%.60s: %v", text, err)
		}
		got := [2]int{len(d.Echoes()), 0}
		for _, e := range d.Echoes() {
			got[1] += len(d.Differing(&e))
		}
		if got != want {
			t.Errorf("%.60s: %d echoes with differences, want %d", text, got, want)
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

// TestEchoesProperty reads documents of few different values and names, under
// limits that some of them break.
func TestEchoesProperty(t *testing.T) {
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
		kinds := []string{`1`, `-20`, `"x"`, `"xyz"`, `true`, `"\t"`, `null`, `{}`, `[]`, `{"b":"\u00e9"}`, `+1`}
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

// FuzzEchoes holds that copied values are those that stand there.
func FuzzEchoes(f *testing.F) {
	f.Add([]byte(`[{"a":{"b":[1,"\n"]}},{"a":{"b":[1,"\n"]},"c":{"a":{"b":[1,"\n"]}}}]`))
	f.Add([]byte(`{"a":{"a":{"a":{}}},"b":[{"a":{"a":{}}},{"\u0061":{"a":{}}}]}`))
	var d, plain doc.Doc
	f.Fuzz(func(t *testing.T, data []byte) {
		if err := compareReadings(&d, &plain, data); err != nil {
			t.Fatalf("%q: %v", data, err)
		}
	})
}
