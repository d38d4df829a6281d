package export

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/schema"
	"runsheet.example/validate/structure"
)

// engines holds the structure layer against the published JSON Schema.
type engines struct {
	d       doc.Doc
	ours    structure.Checker
	refused int // documents that the schema refuses
}

// compare holds that what the schema refuses, our layer refuses as well.
func (e *engines) compare(t interface {
	Helper()
	Errorf(string, ...any)
}, data []byte) {
	t.Helper()
	ours := issue.HasErrors(e.d.Parse(data, ""))
	if e.d.Broken() || e.d.Len() == 0 {
		return // both need a document
	}
	e.ours.Check(&e.d, func(f issue.Finding) { ours = ours || f.Severity == issue.Error })
	var theirs []issue.Finding
	schema.Check(&e.d, func(f issue.Finding) { theirs = append(theirs, f) })
	if len(theirs) == 0 {
		return
	}
	e.refused++
	if !ours {
		t.Errorf("only the schema refuses %s\n%+v", data, theirs)
	}
}

// monthBundles are the Bundles of the demo month as it is exported.
func monthBundles(t *testing.T) (bundles [][]byte) {
	t.Helper()
	log, _, err := session.ReadFolder(filepath.Join(data, "month"), session.Options{})
	if err != nil {
		t.Fatal(err)
	}
	g := gate{log: log, opts: tool, wanted: every}
	_, err = g.run(context.Background(),
		func() error { bundles = nil; return nil },
		func(r ready) error { bundles = append(bundles, r.bundle); return nil })
	if err != nil {
		t.Fatal(err)
	}
	return bundles
}

// seeds are the validation cases, and of the demo month one resource of each
// type and number of members.
func seeds(t *testing.T, bundles [][]byte) (texts [][]byte) {
	t.Helper()
	raw, err := os.ReadFile(filepath.Join(data, "validation_cases.json"))
	if err != nil {
		t.Fatal(err)
	}
	var cases []struct{ Text string }
	if err := json.Unmarshal(raw, &cases); err != nil {
		t.Fatal(err)
	}
	for _, c := range cases {
		texts = append(texts, []byte(c.Text))
	}
	type shape struct {
		resource string
		members  int
	}
	met := map[shape]bool{}
	for _, b := range bundles {
		var bundle struct {
			Entry []struct{ Resource json.RawMessage }
		}
		if err := json.Unmarshal(b, &bundle); err != nil {
			t.Fatal(err)
		}
		for _, entry := range bundle.Entry {
			var d doc.Doc
			d.Parse(entry.Resource, "")
			s := shape{string(d.Str(d.Get(d.Root(), "resourceType"))), d.Count(d.Root())}
			if !met[s] {
				met[s] = true
				texts = append(texts, entry.Resource)
			}
		}
	}
	return texts
}

// TestStructureHoldsAgainstSchema holds that our structure layer misses nothing
// that the published JSON Schema finds: in the demo month as it is exported, in
// the validation cases, and in mutants of both.
func TestStructureHoldsAgainstSchema(t *testing.T) {
	bundles := monthBundles(t)
	var e engines
	for _, bundle := range bundles {
		e.compare(t, bundle)
	}
	if len(bundles) == 0 || e.refused > 0 {
		t.Fatalf("%d Bundles exported, %d refused", len(bundles), e.refused)
	}
	texts := seeds(t, bundles)
	for _, text := range texts {
		e.compare(t, text)
		for _, mutant := range append(withoutEach(text), withTwins(text)...) {
			e.compare(t, mutant)
		}
	}
	if e.refused == 0 {
		t.Error("the schema refuses no mutant that lacks a member or has a twin")
	}
	e.refused = 0
	rapid.Check(t, func(t *rapid.T) {
		mutant := rapid.SampledFrom(texts).Draw(t, "document")
		for range rapid.IntRange(1, 3).Draw(t, "changes") {
			mutant = change(t, mutant, rapid.SampledFrom(texts).Draw(t, "other"))
		}
		e.compare(t, mutant)
	})
	if e.refused == 0 {
		t.Error("the schema refuses no document that was changed")
	}
}

// withoutEach are copies of a document that each lack one member.
func withoutEach(data []byte) (mutants [][]byte) {
	var d doc.Doc
	d.Parse(data, "")
	if d.Broken() {
		return nil
	}
	for n := range doc.Node(d.Len()) {
		if parent := d.Parent(n); d.Kind(parent) == doc.Object {
			mutants = append(mutants, slices.Concat(data[:d.Offset(parent)], without(&d, n), data[d.End(parent):]))
		}
	}
	return mutants
}

// change makes one change at a random node of the document.
func change(t *rapid.T, data, other []byte) []byte {
	var d doc.Doc
	d.Parse(data, "")
	if d.Broken() || d.Len() < 2 {
		return data
	}
	n := doc.Node(rapid.IntRange(1, d.Len()-1).Draw(t, "node"))
	start, end := d.Offset(n), d.End(n)
	inObject := d.Kind(d.Parent(n)) == doc.Object
	var put []byte
	switch rapid.IntRange(0, 4).Draw(t, "change") {
	case 0:
		put = []byte(rapid.SampledFrom([]string{"null", "true", "0", "-1.5e3", `""`, `" "`, `"x y"`, `"é\u00a0"`, "[]", "{}", "[null]", `{"id":"x"}`, `"2025-02-30"`}).Draw(t, "value"))
	case 1:
		put = anyValue(t, other)
	case 2:
		put = slices.Clone(d.Raw(n))
		if inObject { // the same member again, with another value
			put = slices.Concat(put, []byte(`,"`), d.Key(n), []byte(`":`), anyValue(t, other))
		}
	case 3:
		put = slices.Clone(d.Raw(n))
		if inObject {
			name := rapid.SampledFrom([]string{"_" + string(d.Key(n)), "status", "_status", "valueString", "code", "contained", "resourceType", "nonsense"}).Draw(t, "name")
			put = slices.Concat(put, []byte(`,"`+name+`":`), anyValue(t, other))
		}
	default:
		if inObject {
			put, start, end = without(&d, n), d.Offset(d.Parent(n)), d.End(d.Parent(n))
		}
	}
	return slices.Concat(data[:start], put, data[end:])
}

// without writes the object a member stands in, without the member.
func without(d *doc.Doc, member doc.Node) []byte {
	var members [][]byte
	for c := d.FirstChild(d.Parent(member)); c != doc.None; c = d.Next(c) {
		if c != member {
			members = append(members, slices.Concat([]byte(`"`), d.Key(c), []byte(`":`), d.Raw(c)))
		}
	}
	return slices.Concat([]byte("{"), bytes.Join(members, []byte(",")), []byte("}"))
}

func anyValue(t *rapid.T, data []byte) []byte {
	var d doc.Doc
	d.Parse(data, "")
	if d.Broken() || d.Len() == 0 {
		return []byte("null")
	}
	return d.Raw(doc.Node(rapid.IntRange(0, d.Len()-1).Draw(t, "taken")))
}

// withTwins are copies of a document that each have one member with another
// for its id beside it, which only a primitive may have.
func withTwins(data []byte) (mutants [][]byte) {
	var d doc.Doc
	d.Parse(data, "")
	if d.Broken() {
		return nil
	}
	for n := range doc.Node(d.Len()) {
		if d.Kind(d.Parent(n)) == doc.Object {
			mutants = append(mutants, slices.Concat(data[:d.End(n)], []byte(`,"_`), d.Key(n), []byte(`":{"id":"x"}`), data[d.End(n):]))
		}
	}
	return mutants
}
