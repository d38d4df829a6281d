package schema_test

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/schema"
)

// whole are the findings of the engine about the document as a whole.
func whole(c *schema.Checker, data []byte) []issue.Finding {
	var d doc.Doc
	d.Parse(data, "test.json")
	var found []issue.Finding
	if !d.Broken() && d.Len() > 0 {
		schema.CheckWhole(c, &d, func(f issue.Finding) { found = append(found, f) })
	}
	return found
}

// sameVerdict holds that asking about the parts changes nothing. It reports
// whether the document is refused.
func sameVerdict(t interface {
	Helper()
	Errorf(string, ...any)
}, c *schema.Checker, data []byte) bool {
	t.Helper()
	same := func(f, g issue.Finding) bool {
		return f.Rule == g.Rule && f.Line == g.Line && f.Column == g.Column && f.Expression == g.Expression && f.Details == g.Details && f.Value == g.Value
	}
	got, want := check(c, data), whole(c, data)
	if !slices.EqualFunc(got, want, same) {
		t.Errorf("%s\nby parts: %+v\nas a whole: %+v", data, got, want)
	}
	return len(want) > 0
}

// Every definition must be one that can be taken apart, or documents of its
// kind would be slow.
func TestEveryDefinitionHasAPlan(t *testing.T) {
	if names := schema.Unplanned(schema.New()); names != nil {
		t.Errorf("no plan for %v", names)
	}
}

func TestPartsOfCases(t *testing.T) {
	checker := schema.New()
	for range 2 { // the second time with a memory
		for _, text := range cases(t) {
			sameVerdict(t, checker, text)
		}
	}
}

// Every member left out, one at a time.
func TestPartsOfDocumentsWithoutAMember(t *testing.T) {
	checker, refused := schema.New(), 0
	for _, data := range append(cases(t), resources(t)...) {
		var d doc.Doc
		d.Parse(data, "")
		if d.Broken() {
			continue
		}
		for n := range doc.Node(d.Len()) {
			parent := d.Parent(n)
			if d.Kind(parent) != doc.Object {
				continue
			}
			changed := slices.Concat(data[:d.Offset(parent)], without(&d, n), data[d.End(parent):])
			if sameVerdict(t, checker, changed) {
				refused++
			}
		}
	}
	if refused == 0 {
		t.Error("no member was missed")
	}
}

// A valid session is valid by its parts; the engine is not asked about the
// whole of it.
func TestSessionIsCertified(t *testing.T) {
	var d doc.Doc
	d.Parse(sessionBundle(t), "session.json")
	if !schema.Certifies(schema.New(), &d) {
		t.Error("the session is not certified")
	}
}

// Documents with a few random changes: values put in the place of others,
// members left out, twice or under another name.
func TestPartsOfChangedDocuments(t *testing.T) {
	checker := schema.New()
	seeds := append(cases(t), resources(t)...)
	refused := 0
	rapid.Check(t, func(t *rapid.T) {
		data := rapid.SampledFrom(seeds).Draw(t, "document")
		for range rapid.IntRange(1, 3).Draw(t, "changes") {
			data = change(t, data, rapid.SampledFrom(seeds).Draw(t, "other"))
		}
		if sameVerdict(t, checker, data) {
			refused++
		}
	})
	if refused == 0 {
		t.Error("no change led to a document that is refused")
	}
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
			name := rapid.SampledFrom([]string{"status", "_status", "valueString", "code", "contained", "resourceType", "nonsense"}).Draw(t, "name")
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

func read(t *testing.T, path ...string) []byte {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(path...))
	if err != nil {
		t.Fatal(err)
	}
	return data
}

func cases(t *testing.T) (texts [][]byte) {
	t.Helper()
	var list []struct{ Text string }
	if err := json.Unmarshal(read(t, "..", "..", "testdata", "validation_cases.json"), &list); err != nil {
		t.Fatal(err)
	}
	for _, c := range list {
		texts = append(texts, []byte(c.Text))
	}
	return texts
}

func sessionBundle(t *testing.T) []byte {
	t.Helper()
	return read(t, "..", "testdata", "session.json")
}

// resources are those of a session, and a Bundle of the first few.
func resources(t *testing.T) (texts [][]byte) {
	t.Helper()
	var bundle struct {
		Entry []struct{ Resource json.RawMessage }
	}
	if err := json.Unmarshal(sessionBundle(t), &bundle); err != nil {
		t.Fatal(err)
	}
	for _, entry := range bundle.Entry {
		texts = append(texts, entry.Resource)
	}
	few, err := json.Marshal(map[string]any{"resourceType": "Bundle", "type": "collection", "entry": bundle.Entry[:3]})
	if err != nil {
		t.Fatal(err)
	}
	return append(texts, few)
}
