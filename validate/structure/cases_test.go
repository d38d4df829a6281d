package structure_test

import (
	"encoding/json"
	"os"
	"slices"
	"strings"
	"testing"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/structure"
)

// check parses and checks a document.
func check(text string) []issue.Finding {
	var d doc.Doc
	findings := d.Parse([]byte(text), "case.json")
	new(structure.Checker).Check(&d, func(f issue.Finding) { findings = append(findings, f) })
	return findings
}

func errorRules(findings []issue.Finding) []string {
	var ids []string
	for _, f := range findings {
		if f.Severity == issue.Error {
			ids = append(ids, f.Rule)
		}
	}
	slices.Sort(ids)
	return slices.Compact(ids)
}

type validationCase struct {
	Category  string `json:"cat"`
	Name      string `json:"name"`
	Valid     bool   `json:"valid"`
	Text      string `json:"text"`
	Debatable bool   `json:"debatable"`
}

func validationCases(t *testing.T) []validationCase {
	t.Helper()
	data, err := os.ReadFile("../../testdata/validation_cases.json")
	if err != nil {
		t.Fatal(err)
	}
	var cases []validationCase
	if err := json.Unmarshal(data, &cases); err != nil {
		t.Fatal(err)
	}
	return cases
}

// reasons names, for each invalid case of the shared file that the bytes or
// structure layer must find, the rule that must find it and no other.
var reasons = map[string]string{
	"code is a number":                 "r4-type",
	"two effective[x]":                 "r4-choice",
	"duplicate JSON key status":        "json-duplicate-key",
	"code is a string":                 "r4-type",
	"code null":                        "r4-null",
	"trailing garbage":                 "json-trailing",
	"category empty array":             "r4-empty",
	"valueQuantity empty object":       "r4-empty",
	"leading BOM":                      "json-bom",
	"category object instead of array": "r4-array",
	"status array":                     "r4-array",
	"category array with null":         "r4-null",
	"div without xmlns":                "r4-narrative",
	"valueInteger 2^31 (out of range)": "r4-integer",
	"decimal leading plus (bad JSON)":  "json-number",
	"base64 invalid":                   "r4-base64",
	"dateTime offset without colon":    "r4-datetime",
	"uri with space":                   "r4-uri",
	"date 2026-02-30":                  "r4-datetime",
	"dateTime offset +15:00":           "r4-datetime",
	"valueInteger as string":           "r4-type",
	"valueInteger 1.0":                 "r4-integer",
	"dateTime without timezone":        "r4-datetime",
	"decimal as string":                "r4-type",
	"div with script":                  "inv-txt-1",
	"given [a,null] without _given":    "r4-null",
	"_status with value":               "r4-unknown-element",
	"text.status invalid":              "r4-binding",
	"Patient.gender invalid":           "r4-binding",
	"comparator invalid":               "r4-binding",
	"status not in required VS":        "r4-binding",
	"request without url":              "r4-required",
	"request.method lower-case":        "r4-binding",
	"missing type":                     "r4-required",
}

func TestValidationCases(t *testing.T) {
	covered := []string{"structure", "primitive", "primext", "binding"}
	met := 0
	for _, c := range validationCases(t) {
		want, mine := reasons[c.Name]
		if c.Debatable {
			continue
		}
		if !mine && !c.Valid && slices.Contains(covered, c.Category) {
			t.Errorf("%s: %s names no reason", c.Category, c.Name)
			continue
		}
		if mine {
			met++
		}
		got := strings.Join(errorRules(check(c.Text)), " ")
		if got != want {
			t.Errorf("%s: %s: got %q, want %q", c.Category, c.Name, got, want)
		}
	}
	if met != len(reasons) {
		t.Errorf("%d of %d reasons met", met, len(reasons))
	}
}

// TestAWrongListIsOneFinding holds that an array whose items are all of another
// kind gives one finding, at the array, and one with a wrong item among right
// ones a finding at the item. The mark stands before each place.
func TestAWrongListIsOneFinding(t *testing.T) {
	for _, marked := range []string{
		`"identifier":^["a"` + strings.Repeat(`,"a"`, 48) + `]`,
		`"name":^[[{"family":"a"}],[{"family":"b"}]]`,
		`"name":[{"given":^[1,2,3]}]`,
		`"contained":^[1,2]`,
		`"identifier":[^"a",{"value":"b"}]`,
		`"identifier":[^"a",^1]`,
		`"identifier":[^"a"]`,
		`"name":[{"given":["a",^1]}]`,
	} {
		marked = `{"resourceType":"Patient",` + marked + `}`
		var got, want []int
		for i, part := range strings.Split(marked, "^")[1:] {
			want = append(want, strings.Index(marked, "^"+part)+1-i)
		}
		for _, f := range check(strings.ReplaceAll(marked, "^", "")) {
			if f.Rule == "r4-type" {
				got = append(got, f.Column)
			}
		}
		if !slices.Equal(got, want) {
			t.Errorf("%.70s: findings at columns %v, want %v", marked, got, want)
		}
	}
}
