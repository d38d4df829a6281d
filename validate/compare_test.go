package validate_test

import (
	"encoding/json"
	"os"
	"testing"

	"runsheet.example/validate"
	"runsheet.example/validate/issue"
)

// TestFindsMoreThanTheSchema counts what we and the published JSON Schema find
// of the collected cases; .ci/compare reads the counts.
func TestFindsMoreThanTheSchema(t *testing.T) {
	schema := publishedSchema(t)
	ours := countCases(t, "runsheet", func(text []byte) bool {
		return !issue.HasErrors(validate.New(validate.Options{}).Bytes(text, "case.json"))
	})
	theirs := countCases(t, "jsonschema-dispatched", func(text []byte) bool { return conforms(schema, text) })
	if ours.Found <= theirs.Found || ours.FalseAlarms > 0 {
		t.Errorf("ours %+v, the schema %+v", ours, theirs)
	}
}

// counts are what an engine says of the cases.
type counts struct {
	Engine      string `json:"engine"`
	Found       int    `json:"found"`
	Invalid     int    `json:"invalid"`
	FalseAlarms int    `json:"falseAlarms"`
	Valid       int    `json:"valid"`
}

func countCases(t *testing.T, engine string, takes func(text []byte) bool) counts {
	t.Helper()
	data, err := os.ReadFile("../testdata/validation_cases.json")
	if err != nil {
		t.Fatal(err)
	}
	var cases []struct {
		Text             string
		Valid, Debatable bool
	}
	if err := json.Unmarshal(data, &cases); err != nil {
		t.Fatal(err)
	}
	n := counts{Engine: engine}
	for _, c := range cases {
		if c.Debatable {
			continue
		}
		refused := !takes([]byte(c.Text))
		switch {
		case c.Valid:
			n.Valid++
			if refused {
				n.FalseAlarms++
			}
		default:
			n.Invalid++
			if refused {
				n.Found++
			}
		}
	}
	line, err := json.Marshal(n)
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("counts %s", line)
	return n
}
