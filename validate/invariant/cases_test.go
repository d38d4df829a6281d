package invariant_test

import (
	"encoding/json"
	"os"
	"slices"
	"strings"
	"testing"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/invariant"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/structure"
)

// invariantReasons names, for each case of the shared file that breaks an
// invariant, the one it breaks. All other cases break none.
var invariantReasons = map[string]string{
	"obs-3 empty referenceRange":   "inv-obs-3",
	"obs-7 component same code":    "inv-obs-7",
	"ext-1 both":                   "inv-ext-1",
	"qty-3 code w/o system":        "inv-qty-3",
	"dom-3 unreferenced contained": "inv-dom-3",
	"obs-6 dar + value":            "inv-obs-6",
	"nested obs-6 violation":       "inv-obs-6",
	"duplicate fullUrl":            "inv-bdl-7",
}

func TestValidationCases(t *testing.T) {
	data, err := os.ReadFile("../../testdata/validation_cases.json")
	if err != nil {
		t.Fatal(err)
	}
	var cases []struct {
		Cat, Name, Text string
		Debatable       bool
	}
	if err := json.Unmarshal(data, &cases); err != nil {
		t.Fatal(err)
	}
	met := 0
	for _, c := range cases {
		if c.Debatable {
			continue
		}
		var d doc.Doc
		d.Parse([]byte(c.Text), "")
		var got []string
		var s structure.Checker
		s.Check(&d, func(issue.Finding) {})
		new(invariant.Checker).Check(&s, func(f issue.Finding) {
			if f.Severity == issue.Error {
				got = append(got, f.Rule)
			}
		})
		slices.Sort(got)
		want, mine := invariantReasons[c.Name]
		if mine {
			met++
		}
		if s := strings.Join(slices.Compact(got), " "); s != want {
			t.Errorf("%s: %s: got %q, want %q", c.Cat, c.Name, s, want)
		}
	}
	if met != len(invariantReasons) {
		t.Errorf("%d of %d cases met", met, len(invariantReasons))
	}
}
