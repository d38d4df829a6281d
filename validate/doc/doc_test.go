package doc_test

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
)

func rules(findings []issue.Finding) string {
	var ids []string
	for _, f := range findings {
		ids = append(ids, f.Rule)
	}
	return strings.Join(ids, " ")
}

func TestParseReports(t *testing.T) {
	for _, c := range []struct {
		name, text, want string
		line, column     int
	}{
		{"nothing", " \n", "json-empty", 2, 1},
		{"valid", `{"a":[1,-0.50e+2,"x\u00e9\ud83d\ude00",true,false,null,{}]} `, "", 0, 0},
		{"byte order mark", "\ufeff{}", "json-bom", 1, 1},
		{"duplicate", "{\"a\":1,\n\"b\":2,\"\\u0061\":3}", "json-duplicate-key", 2, 16},
		{"trailing text", `{} {}`, "json-trailing", 1, 4},
		{"leading plus", `{"a":+81.1}`, "json-number", 1, 6},
		{"leading point", `{"a":.5}`, "json-number", 1, 6},
		{"leading zero", `[01]`, "json-number", 1, 2},
		{"minus alone", `[-]`, "json-number", 1, 2},
		{"point at the end", `[1.]`, "json-number", 1, 2},
		{"bare exponent", `[1e]`, "json-number", 1, 2},
		{"not a number", `[NaN,1]`, "json-literal", 1, 2},
		{"comma before end of object", `{"a":1,}`, "json-syntax", 1, 8},
		{"comma before end of array", `[1,]`, "json-syntax", 1, 4},
		{"comma missing", `{"a":1 "b":2}`, "json-syntax", 1, 8},
		{"only a comma", `[,]`, "json-syntax", 1, 2},
		{"single quotes", `{'a':1}`, "json-syntax", 1, 2},
		{"colon missing", `{"a" 1}`, "json-syntax", 1, 6},
		{"wrong bracket", `[1}`, "json-syntax", 1, 3},
		{"cut short", `{"a":[1`, "json-syntax", 1, 8},
		{"string cut short", `["abc`, "json-syntax", 1, 2},
		{"escaped string cut short", `["a\n`, "json-syntax", 1, 2},
		{"control character", "[\"a\tb\"]", "json-control", 1, 4},
		{"no such escape", `["\x"]`, "json-escape", 1, 3},
		{"short unicode escape", `["\u12"]`, "json-escape", 1, 3},
		{"lone high surrogate", `["\ud83dx"]`, "json-surrogate", 1, 3},
		{"lone low surrogate", `["\ude00"]`, "json-surrogate", 1, 3},
		{"high surrogate twice", `["\ud83d\ud83d\ude00"]`, "json-surrogate", 1, 3},
		{"not UTF-8", "[\"caf\xe9\"]", "json-utf8", 1, 6},
		{"surrogate as UTF-8", "[\"\xed\xa0\x80\"]", "json-utf8 json-utf8 json-utf8", 1, 3},
		{"two faults", `{"a":+1,"a":NaN}`, "json-number json-duplicate-key json-literal", 1, 6},
	} {
		t.Run(c.name, func(t *testing.T) {
			var d doc.Doc
			got := d.Parse([]byte(c.text), "x.json")
			if rules(got) != c.want {
				t.Fatalf("%q: got rules %q, want %q", c.text, rules(got), c.want)
			}
			if len(got) > 0 && (got[0].Line != c.line || got[0].Column != c.column) {
				t.Errorf("%q: got line %d column %d, want %d %d", c.text, got[0].Line, got[0].Column, c.line, c.column)
			}
		})
	}
}

func TestLimits(t *testing.T) {
	d := doc.Doc{MaxDepth: 3, MaxBytes: 20}
	if got := rules(d.Parse([]byte(`[[[1]]]`), "")); got != "" {
		t.Errorf("depth 3: %q", got)
	}
	if got := rules(d.Parse([]byte(`[[[[1]]]]`), "")); got != "json-depth" || !d.Broken() {
		t.Errorf("depth 4: %q, broken %v", got, d.Broken())
	}
	d.MaxValues = 3
	for text, want := range map[string]string{`[1,2]`: "", `[1,2,3,4,5]`: "json-size", `[[],[],[],[]]`: "json-size", `[[[1]]]`: "json-size"} {
		if got := rules(d.Parse([]byte(text), "")); got != want || d.Broken() != (want != "") {
			t.Errorf("%s of 3 values: %q, broken %v", text, got, d.Broken())
		}
	}
	if got := rules(d.Parse([]byte(`"`+strings.Repeat("x", 30)+`"`), "")); got != "json-size" || d.Root() != doc.None {
		t.Errorf("32 bytes: %q", got)
	}
}

func TestLongMemberName(t *testing.T) {
	for length, want := range map[int]string{65535: "", 65536: "json-size"} {
		var d doc.Doc
		if got := rules(d.Parse([]byte(`{"`+strings.Repeat("x", length)+`":1}`), "")); got != want {
			t.Errorf("%d bytes: %q", length, got)
		}
	}
}

func TestAccessors(t *testing.T) {
	var d doc.Doc
	d.Parse([]byte(`{"a":[1.50,"x\ny"],"b":{"c":true},"d":null}`), "")
	root := d.Root()
	a := d.Get(root, "a")
	number, text := d.Item(a, 0), d.Item(a, 1)
	if string(d.Raw(number)) != "1.50" || string(d.Str(text)) != "x\ny" || string(d.Raw(text)) != `"x\ny"` {
		t.Errorf("number %s, text %q, raw %s", d.Raw(number), d.Str(text), d.Raw(text))
	}
	if d.Count(a) != 2 || d.Index(text) != 1 || d.Parent(text) != a || d.Next(text) != doc.None {
		t.Error("links of the array are wrong")
	}
	if got := d.Raw(d.Get(root, "b")); string(got) != `{"c":true}` {
		t.Errorf("object as written: %s", got)
	}
	if d.Get(d.Get(root, "none"), "c") != doc.None || d.Kind(doc.None) != doc.Absent || d.Str(doc.None) != nil {
		t.Error("absent nodes must answer with nothing")
	}
	if !d.Is(text, "x\ny") || d.Is(number, "1.50") {
		t.Error("Is compares strings only")
	}
}

func TestPath(t *testing.T) {
	const bundle = `{"resourceType":"Bundle","entry":[{"resource":{"resourceType":"Observation",
		"_status":{"extension":[{"valueCode":"x"}]},"valueQuantity":{"value":1},"text":{"div":"d"},
		"odd name":1,"component":[{"valueString":"a","valueInteger":1}]}},
		{"resource":{"resourceType":"Questionnaire","effectivePeriod":{"start":"2026"}}},
		{"resource":{"resourceType":"Device","property":[{"valueCode":[{"text":"c"}]}]}}]}`
	var d doc.Doc
	d.Parse([]byte(bundle), "")
	entry := d.Get(d.Root(), "entry")
	obs := d.Get(d.Item(entry, 0), "resource")
	component := d.Item(d.Get(obs, "component"), 0)
	device := d.Get(d.Item(entry, 2), "resource")
	for _, c := range []struct {
		node doc.Node
		want string
	}{
		{d.Root(), "Bundle"},
		{obs, "Bundle.entry[0].resource"},
		{d.Get(d.Get(obs, "valueQuantity"), "value"), "Bundle.entry[0].resource.value.value"},
		{d.Get(d.Item(d.Get(d.Get(obs, "_status"), "extension"), 0), "valueCode"), "Bundle.entry[0].resource.status.extension[0].value"},
		{d.Get(d.Get(obs, "text"), "div"), "Bundle.entry[0].resource.text.`div`"},
		{d.Get(obs, "odd name"), "Bundle.entry[0].resource.`odd name`"},
		{d.Get(component, "valueInteger"), "Bundle.entry[0].resource.component[0].value.ofType(integer)"},
		{d.Get(d.Get(d.Get(d.Item(entry, 1), "resource"), "effectivePeriod"), "start"), "Bundle.entry[1].resource.effectivePeriod.start"},
		{d.Item(d.Get(d.Item(d.Get(device, "property"), 0), "valueCode"), 0), "Bundle.entry[2].resource.property[0].valueCode[0]"},
		{doc.None, ""},
	} {
		if got := d.Path(c.node); got != c.want {
			t.Errorf("got %s, want %s", got, c.want)
		}
	}
}

func TestMemberPath(t *testing.T) {
	var d doc.Doc
	d.Parse([]byte(`{"resourceType":"Patient","_":1,"deceasedString":"x","name":["y"]}`), "")
	root := d.Root()
	for _, c := range []struct {
		node doc.Node
		want string
	}{
		{d.Get(root, "_"), "Patient._"},
		{d.Get(root, "deceasedString"), "Patient.deceasedString"},
		{d.Item(d.Get(root, "name"), 0), "Patient.name[0]"},
		{root, "Patient"},
	} {
		if got := d.MemberPath(c.node); got != c.want {
			t.Errorf("got %s, want %s", got, c.want)
		}
	}
}

func TestFinding(t *testing.T) {
	var d doc.Doc
	d.Parse([]byte("{\"resourceType\":\"Patient\",\n \"active\":true}"), "p.json")
	got := d.Finding(d.Get(d.Root(), "active"), "json-literal", issue.Text{})
	if got.File != "p.json" || got.Line != 2 || got.Column != 11 || got.Expression != "Patient.active" || got.Severity != issue.Error || got.Mend.String() == "" {
		t.Errorf("%+v", got)
	}
}

// Names beyond those compared one by one must be found too, and the first
// occurrence is never the one reported.
func TestDuplicatesInLargeObjects(t *testing.T) {
	var b strings.Builder
	b.WriteString("{")
	for i := range 300 {
		fmt.Fprintf(&b, "\"k%d\":1,\n", i%200)
	}
	b.WriteString(`"last":1}`)
	var d doc.Doc
	got := d.Parse([]byte(b.String()), "")
	if len(got) != 100 || got[0].Value != "k0" || got[0].Line != 201 || got[99].Value != "k99" {
		t.Errorf("%d findings, first %+v", len(got), got[0])
	}
}

// A finding about an array points to one node, as an expression must.
func TestFindingAboutArray(t *testing.T) {
	var d doc.Doc
	d.Parse([]byte(`{"resourceType":"Patient","name":["x","y"],"link":["x"],"photo":[]}`), "")
	for key, want := range map[string]string{"name": "Patient.name[0]", "link": "Patient.link", "photo": "Patient.photo"} {
		if got := d.Finding(d.Get(d.Root(), key), "json-literal", issue.Text{}).Expression; got != want {
			t.Errorf("%s: got %s, want %s", key, got, want)
		}
	}
}

func TestParseAllocatesNothingWhenReused(t *testing.T) {
	text := []byte(`{"resourceType":"Observation","text":{"div":"<div xmlns=\"x\">é</div>"},"value":[1,2,{"a":null}]}`)
	var d doc.Doc
	d.Parse(text, "")
	if n := testing.AllocsPerRun(20, func() { d.Parse(text, "") }); n != 0 {
		t.Errorf("%v allocations", n)
	}
}

// FuzzParse compares the verdict with encoding/json. Where this package is
// stricter on purpose, only its own rule may explain the difference.
func FuzzParse(f *testing.F) {
	for _, s := range []string{`{"a":1}`, `[1,]`, "[\"\xff\"]", `{"a":"\ud800","a":+1}`, `[[[[]]]]`, "\ufeff[]", `"\"`, `-0.0e-1`} {
		f.Add([]byte(s))
	}
	stricter := map[string]bool{"json-bom": true, "json-duplicate-key": true, "json-utf8": true,
		"json-surrogate": true, "json-depth": true, "json-size": true, "json-more": true}
	f.Fuzz(func(t *testing.T, data []byte) {
		var d doc.Doc
		findings := d.Parse(data, "")
		grammar, strict := 0, 0
		for _, x := range findings {
			if stricter[x.Rule] {
				strict++
			} else {
				grammar++
			}
		}
		valid := json.Valid(data)
		if valid && grammar > 0 {
			t.Fatalf("encoding/json takes %q, found %s", data, rules(findings))
		}
		if !valid && grammar == 0 && strict == 0 {
			t.Fatalf("encoding/json refuses %q, found nothing", data)
		}
		for n := doc.Node(0); int(n) < d.Len(); n++ {
			if d.Offset(n) > d.End(n) || d.End(n) > len(data) {
				t.Fatalf("node %d lies at %d to %d of %d bytes", n, d.Offset(n), d.End(n), len(data))
			}
			d.Key(n)
			d.Str(n)
		}
		d.Path(doc.Node(d.Len() - 1))
	})
}

// TestOtherEncodings holds that what is wrong is told, and once.
func TestOtherEncodings(t *testing.T) {
	for _, text := range []string{"\xff\xfe{\x00}\x00", "\xfe\xff\x00{\x00}", "{\x00}\x00", "\x00{\x00}"} {
		var d doc.Doc
		found := d.Parse([]byte(text), "")
		if len(found) != 1 || found[0].Rule != "json-utf8" || !d.Broken() {
			t.Errorf("%q: %+v", text, found)
		}
	}
}
