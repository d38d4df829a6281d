package fhirmap

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"runsheet.example/profiles"
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

// everyCode maps each code of ours to one with an X before it.
func everyCode(t *testing.T) *profiles.CodeMap {
	t.Helper()
	table := "code,target,display\n"
	for _, c := range profiles.MappedCodes() {
		table += fmt.Sprintf("%s,urn:oid:2.25.99|X-%s,Unser %s\n", c, c.Code, c.Code)
	}
	m, err := profiles.ReadCodeMap([]byte(table), "codes.csv")
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// measured calls f with each CodeableConcept that says what was measured.
func measured(r map[string]any, f func(concept map[string]any)) {
	if r["resourceType"] != "Observation" && r["resourceType"] != "DiagnosticReport" {
		return
	}
	f(r["code"].(map[string]any))
	parts, _ := r["component"].([]any)
	for _, part := range parts {
		f(part.(map[string]any)["code"].(map[string]any))
	}
}

// Beside each LOINC and local code of a measurement stands the receiver's, or
// in place of the local ones, and nothing else differs. So the empty map lists
// every code that the month holds.
func TestCodes(t *testing.T) {
	for _, only := range []bool{false, true} {
		opts := Options{Options: manifest.Options{CodesOnly: only}}
		opts.UseCodes(everyCode(t))
		added := 0
		changed(t, opts, func(r map[string]any) {
			measured(r, func(concept map[string]any) {
				list, _ := concept["coding"].([]any)
				var ours, theirs []any
				for _, item := range list {
					c := item.(map[string]any)
					mapped := c["system"] == profiles.LOINC || c["system"] == profiles.Local
					if !mapped || c["system"] == profiles.LOINC || !only {
						ours = append(ours, c)
					}
					if mapped {
						added++
						theirs = append(theirs, map[string]any{"system": "urn:oid:2.25.99", "code": fmt.Sprint("X-", c["code"]), "display": fmt.Sprint("Unser ", c["code"])})
					}
				}
				if list != nil {
					concept["coding"] = append(ours, theirs...)
				}
			})
		})
		if added < 1000 {
			t.Errorf("%d codes", added)
		}
	}
}

// Two of ours with one code of the receiver in a concept add it once.
func TestCodesOnce(t *testing.T) {
	m, err := profiles.ReadCodeMap([]byte("code,target\n29463-7,urn:a|W\n8347-7,urn:a|W\n"), "codes.csv")
	if err != nil {
		t.Fatal(err)
	}
	row, _ := profiles.Of("weight_before", "kg")
	code := concept(row.Text, row.Codings...)
	Options{Map: m}.code(&code)
	if n := len(code.Coding); n != len(row.Codings)+1 || *code.Coding[n-1].Code != "W" || code.Coding[n-1].Display != nil {
		t.Errorf("%+v", code.Coding)
	}
}

// The map must be the recorded one.
func TestCodesCheck(t *testing.T) {
	m := everyCode(t)
	var with Options
	with.UseCodes(m)
	other := with
	other.Map = nil
	only := with
	only.CodesOnly = true
	claimed := only
	claimed.ClaimProfiles = profiles.DefaultCanonical
	for name, c := range map[string]struct {
		opts Options
		want string
	}{
		"the map": {with, ""}, "only": {only, ""}, "without": {other, "give the same file with --codes"},
		"only, without": {Options{Options: manifest.Options{CodesOnly: true}}, "--codes FILE"}, "claimed": {claimed, "our profiles require our codes"},
	} {
		if err := c.opts.Check(); (err == nil) != (c.want == "") || err != nil && !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v", name, err)
		}
	}
	text, err := json.Marshal(with.Recorded())
	if err != nil {
		t.Fatal(err)
	}
	if read, err := ParseManifestOptions(text); err != nil || read.Codes != (manifest.CodeMap{Name: "codes.csv", SHA256: m.SHA256}) {
		t.Errorf("%+v, %v", read, err)
	}
}
