package schema_test

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/schema"
)

func check(data []byte) []issue.Finding {
	var d doc.Doc
	d.Parse(data, "test.json")
	var found []issue.Finding
	schema.Check(&d, func(f issue.Finding) { found = append(found, f) })
	return found
}

const observation = `{"resourceType":"Observation","status":"final","code":{"text":"x"},"valueQuantity":{"value":1.0}}`

func TestCheck(t *testing.T) {
	for _, c := range []struct {
		name, data string
		want       []string // rule, line:column, expression
	}{
		{"valid", observation, nil},
		{"unknown member", "{\"resourceType\":\"Observation\",\n\"code\":{\"text\":\"x\"},\n \"statuss\":\"final\",\"vaule\":1}",
			[]string{"schema-unknown 3:12 Observation.statuss", "schema-unknown 3:28 Observation.vaule"}},
		{"required", `{"resourceType":"Observation","status":"final"}`, []string{"schema-required 1:1 Observation"}},
		{"pattern", `{"resourceType":"Patient","birthDate":"25.10.1970"}`, []string{"schema-pattern 1:39 Patient.birthDate"}},
		{"code", `{"resourceType":"Patient","gender":"f"}`, []string{"schema-code 1:36 Patient.gender"}},
		{"type", `{"resourceType":"Patient","name":{"family":"x"}}`, []string{"schema-type 1:34 Patient.name"}},
		{"in an entry", `{"resourceType":"Bundle","type":"collection","entry":[{"resource":` + observation + `},{"resource":{"resourceType":"Patient","gender":"f"}}]}`,
			[]string{fmt.Sprintf("schema-code 1:%d Bundle.entry[1].resource.gender", 116+len(observation))}},
		{"contained", `{"resourceType":"Patient","contained":[{"resourceType":"Patient","gender":1}]}`,
			[]string{"schema-code 1:75 Patient.contained[0].gender"}},
		{"choice", `{"resourceType":"Observation","code":{"text":"x"},"valueQuantity":{"value":"1"}}`,
			[]string{"schema-type 1:76 Observation.value.value"}},
		{"member name to escape", `{"resourceType":"Patient","a/b~c %":1}`, []string{"schema-unknown 1:37 Patient.`a/b~c %`"}},
		{"no type", `{"status":"final"}`, []string{"schema-resource-type 1:1 "}},
		{"unknown type", `{"resourceType":"Observations"}`, []string{"schema-resource-type 1:1 Observations"}},
		{"a data type is no resource", `{"resourceType":"Quantity"}`, []string{"schema-resource-type 1:1 Quantity"}},
		{"no object", `[1]`, []string{"schema-type 1:1 "}},
		{"broken JSON is for the parser", `{"resourceType":"Patient","gender":`, nil},
		{"malformed number is for the parser", `{"resourceType":"Patient","gender":+1}`, nil},
		{"version 4.0.1", `{"resourceType":"StructureDefinition","fhirVersion":"4.0.1"}`, nil},
		{"twin of a canonical", `{"resourceType":"StructureDefinition","_baseDefinition":{"id":"x"}}`, nil},
		{"twin of nothing", `{"resourceType":"StructureDefinition","_base":{"id":"x"}}`, []string{"schema-unknown 1:47 StructureDefinition.base"}},
		{"padding null", `{"resourceType":"Patient","name":[{"given":["a",null],"_given":[null,{"id":"x"}]}]}`, nil},
		{"null that pads nothing", `{"resourceType":"Patient","name":[{"given":["a",null],"_given":[{"id":"x"}]}]}`,
			[]string{"schema-type 1:49 Patient.name[0].given[1]"}},
		{"null that is no array's", `{"resourceType":"Patient","gender":null}`, []string{"schema-code 1:36 Patient.gender"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			var got []string
			for _, f := range check([]byte(c.data)) {
				got = append(got, fmt.Sprintf("%s %d:%d %s", f.Rule, f.Line, f.Column, f.Expression))
			}
			if strings.Join(got, "\n") != strings.Join(c.want, "\n") {
				t.Errorf("got\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(c.want, "\n"))
			}
		})
	}
}

// blind are the invalid cases about structure that the published schema takes
// as valid, and why. Our own structure layer must find them.
var blind = map[string]string{
	"code is a number":                 "no complex type says that it is an object",
	"code is a string":                 "no complex type says that it is an object",
	"code null":                        "no complex type says that it is an object",
	"category array with null":         "no complex type says that it is an object",
	"two effective[x]":                 "the members of a choice are all optional",
	"category empty array":             "no array has a least length",
	"valueQuantity empty object":       "no object has a least number of members",
	"whitespace-only string":           "the pattern of a string takes a space for text",
	"string control char U+0007":       "the pattern of a string takes control characters for text",
	"div without xmlns":                "xhtml is anything",
	"div with script":                  "xhtml is anything",
	"valueInteger 2^31 (out of range)": "an integer is any number",
	"valueInteger 1.0":                 "an integer is any number",
	"base64 invalid":                   "base64 is any string",
	"date 2026-02-30":                  "the pattern of a date knows no months",
}

// structural are the categories of cases that are about structure.
var structural = map[string]bool{"structure": true, "primitive": true, "primext": true, "binding": true}

func TestValidationCases(t *testing.T) {
	data, err := os.ReadFile(filepath.Join("..", "..", "testdata", "validation_cases.json"))
	if err != nil {
		t.Fatal(err)
	}
	var cases []struct {
		Cat, Name, Text  string
		Valid, Debatable bool
	}
	if err := json.Unmarshal(data, &cases); err != nil {
		t.Fatal(err)
	}
	for _, c := range cases {
		found := check([]byte(c.Text))
		if c.Valid && len(found) > 0 {
			t.Errorf("false alarm on %q: %+v", c.Name, found)
		}
		var d doc.Doc
		if c.Valid || len(d.Parse([]byte(c.Text), c.Name)) > 0 || !structural[c.Cat] {
			continue
		}
		if _, isBlind := blind[c.Name]; isBlind == (len(found) > 0) {
			t.Errorf("%s, %q: %d findings; in the list of what the schema does not see: %v", c.Cat, c.Name, len(found), isBlind)
		}
	}
}

// Every definition must compile, so that Check cannot meet one that does not.
func TestEveryResourceType(t *testing.T) {
	types := schema.ResourceTypes()
	if len(types) != 146 {
		t.Errorf("%d resource types, want the 146 of R4", len(types))
	}
	for _, name := range types {
		found := check([]byte(`{"resourceType":"` + name + `","id":"` + strings.Repeat("x", 65) + `"}`))
		for _, f := range found {
			if f.Rule == "schema-pattern" && f.Expression == name+".id" {
				found = nil
				break
			}
		}
		if found != nil {
			t.Errorf("%s: the id of 65 characters was not refused: %+v", name, found)
		}
	}
}

func TestHostile(t *testing.T) {
	many := `{"resourceType":"Patient","name":[{"given":[` + strings.Repeat("1,", 200_000) + `1]}]}`
	if found := check([]byte(many)); len(found) != 501 || found[500].Rule != "schema-more" {
		t.Errorf("200,001 mistakes gave %d findings", len(found))
	}
	huge := strings.Replace(observation, "1.0", "1e999999999", 1)
	if found := check([]byte(huge)); found != nil {
		t.Errorf("1e999999999: %+v", found)
	}
	deep := strings.Repeat(`{"resourceType":"Bundle","entry":[{"resource":`, 60) + observation + strings.Repeat(`}]}`, 60)
	if found := check([]byte(deep)); found != nil {
		t.Errorf("60 Bundles within each other: %+v", found)
	}
}

// Several goroutines meet the same types for the first time.
func TestConcurrentUse(t *testing.T) {
	schema.Forget()
	var wait sync.WaitGroup
	for _, name := range []string{"Patient", "Observation", "Procedure", "Device", "Patient", "Observation", "Procedure", "Device"} {
		wait.Go(func() {
			found := check([]byte(`{"resourceType":"` + name + `","subject":{"reference":1},"patient":{"reference":1},"link":1}`))
			if len(found) == 0 {
				t.Errorf("%s: no finding", name)
			}
		})
	}
	wait.Wait()
}

// Whatever the parser takes must neither trouble the engine nor lose its
// place.
func FuzzCheck(f *testing.F) {
	f.Add([]byte(observation))
	f.Add([]byte(`{"resourceType":"Bundle","entry":[{"resource":{"resourceType":"Patient","contained":[{"resourceType":""}],"a/~b":[null]}}]}`))
	f.Add([]byte(`{"resourceType":"Parameters","parameter":[{"name":"x","resource":{"resourceType":"Bundle","":{"":1}}}]}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		for _, finding := range check(data) {
			if finding.Line < 1 || finding.Column < 1 || !strings.HasPrefix(finding.Rule, "schema-") {
				t.Fatalf("%+v", finding)
			}
		}
	})
}
