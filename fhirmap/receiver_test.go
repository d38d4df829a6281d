package fhirmap

import (
	"encoding/json"
	"strings"
	"testing"

	"runsheet.example/validate/manifest"
)

// changed compares two exports of the month, resource by resource, without
// what drop removes from the first.
func changed(t *testing.T, opts Options, drop func(resource map[string]any)) (resources int) {
	t.Helper()
	opts.Tool = testOptions.Tool
	plain := mapLog(t, readLog(t, "../testdata/month"), Options{Tool: opts.Tool})
	other := mapLog(t, readLog(t, "../testdata/month"), opts)
	for i, record := range plain.Records() {
		for j, r := range record.Resources {
			var before, after map[string]any
			read(t, r.JSON, &before)
			read(t, other.Records()[i].Resources[j].JSON, &after)
			drop(before)
			want, _ := json.Marshal(before)
			got, _ := json.Marshal(after)
			if string(want) != string(got) {
				t.Fatalf("%s %s:\n%s\nwant\n%s", r.Type, r.Role, got, want)
			}
			resources++
		}
	}
	return resources
}

func read(t *testing.T, text []byte, into any) {
	t.Helper()
	if err := json.Unmarshal(text, into); err != nil {
		t.Fatal(err)
	}
}

// Without displays, each Coding lacks its display and nothing else differs:
// displays of references and all texts stay.
func TestNoDisplay(t *testing.T) {
	codings := 0
	var drop func(value any)
	drop = func(value any) {
		switch v := value.(type) {
		case []any:
			for _, item := range v {
				drop(item)
			}
		case map[string]any:
			if v["system"] != nil && v["code"] != nil && v["value"] == nil {
				codings++
				delete(v, "display")
			}
			for _, item := range v {
				drop(item)
			}
		}
	}
	n := changed(t, Options{Options: manifest.Options{Display: NoDisplay}}, func(r map[string]any) { drop(r) })
	if n < 100 || codings < n {
		t.Errorf("%d resources with %d codings", n, codings)
	}
	month := mapLog(t, readLog(t, "../testdata/month"), Options{Tool: testOptions.Tool, Options: manifest.Options{Display: NoDisplay}})
	document, err := month.Document()
	if err != nil || strings.Contains(string(document), dialysisNote.Display) {
		t.Errorf("a display in the document, or %v", err)
	}
}

// Each resource has the tags, and differs in nothing else.
func TestTags(t *testing.T) {
	tags, err := AddTag("", "urn:oid:2.25.1|home")
	if err == nil {
		tags, err = AddTag(tags, "https://unit.example/tags|patient")
	}
	if err != nil {
		t.Fatal(err)
	}
	if again, err := AddTag(tags, "urn:oid:2.25.1|home"); again != tags || err != nil {
		t.Errorf("%q, %v", again, err)
	}
	want := []any{
		map[string]any{"system": "https://unit.example/tags", "code": "patient"}, map[string]any{"system": "urn:oid:2.25.1", "code": "home"},
	}
	changed(t, Options{Options: manifest.Options{Tags: tags}}, func(r map[string]any) {
		if r["meta"] == nil {
			r["meta"] = map[string]any{}
		}
		r["meta"].(map[string]any)["tag"] = want
	})
	amendment, err := Amendment{Recorded: "2025-10-08T20:00:00Z", Tags: tags}.Provenance()
	if err != nil || !strings.Contains(string(amendment), `"meta":{"tag":[{"system":"https://unit.example/tags","code":"patient"}`) {
		t.Errorf("%s, %v", amendment, err)
	}
	for _, wrong := range []string{"", "home", "|home", "home|home", "urn:a|", "urn:a|b|c", "urn:a|b c", "urn:a|b\n"} {
		if got, err := AddTag(tags, wrong); err == nil {
			t.Errorf("%q was added: %q", wrong, got)
		}
		if (Options{Options: manifest.Options{Tags: wrong}}).Check() == nil && wrong != "" && wrong != "urn:a|b\n" {
			t.Errorf("options with %q pass", wrong)
		}
	}
}
