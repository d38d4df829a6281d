package calc_test

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"testing"

	. "runsheet.example/calc"
)

// checkRow is one row of testdata/check_values.json: what is computed, from
// what, what must come out, and where that is from. Kind "published" is a
// figure somebody printed, "derived" a published formula or definition with
// the number computed independently, "memory" a formula from memory.
type checkRow struct {
	ID        string                 `json:"id"`
	Quantity  string                 `json:"quantity"`
	Inputs    map[string]checkNumber `json:"inputs"`
	Expected  json.RawMessage        `json:"expected"`
	Tolerance json.RawMessage        `json:"tolerance"`
	Source    string                 `json:"source"`
	Kind      string                 `json:"kind"`
}

type checkNumber struct {
	Value json.RawMessage `json:"value"`
	Unit  string          `json:"unit"`
}

func (n checkNumber) number() (float64, error) {
	var v float64
	err := json.Unmarshal(n.Value, &v)
	return v, err
}

// in returns one numeric input and fails the test when there is none.
func (r checkRow) in(t *testing.T, key string) float64 {
	t.Helper()
	v, err := r.Inputs[key].number()
	if err != nil {
		t.Fatalf("input %s: %v", key, err)
	}
	return v
}

// list returns one input that is a list of numbers.
func (r checkRow) list(t *testing.T, key string) []float64 {
	t.Helper()
	var v []float64
	if err := json.Unmarshal(r.Inputs[key].Value, &v); err != nil {
		t.Fatalf("input %s: %v", key, err)
	}
	return v
}

// truth returns one input that is true or false.
func (r checkRow) truth(t *testing.T, key string) bool {
	t.Helper()
	var v bool
	if err := json.Unmarshal(r.Inputs[key].Value, &v); err != nil {
		t.Fatalf("input %s: %v", key, err)
	}
	return v
}

// want compares computed values, by the name they have in the row ("value"
// for a single one), with all that the row expects; no expected value may be
// left out.
func (r checkRow) want(t *testing.T, got map[string]any) {
	t.Helper()
	for name, expected := range r.expectations(t) {
		value, computed := got[name]
		if !computed {
			t.Errorf("%s (%s; %s): %s was not computed", r.ID, r.Kind, r.Source, name)
			continue
		}
		r.compare(t, name, value, expected)
	}
}

type expectation struct {
	value     json.RawMessage
	tolerance float64
}

func (r checkRow) expectations(t *testing.T) map[string]expectation {
	t.Helper()
	var single checkNumber
	if err := json.Unmarshal(r.Expected, &single); err == nil && single.Value != nil {
		var tolerance float64
		if err := json.Unmarshal(r.Tolerance, &tolerance); err != nil {
			t.Fatalf("tolerance: %v", err)
		}
		return map[string]expectation{"value": {single.Value, tolerance}}
	}
	var several map[string]checkNumber
	if err := json.Unmarshal(r.Expected, &several); err != nil {
		t.Fatalf("expected: %v", err)
	}
	var one float64
	perName := map[string]float64{}
	if json.Unmarshal(r.Tolerance, &one) != nil {
		if err := json.Unmarshal(r.Tolerance, &perName); err != nil {
			t.Fatalf("tolerance: %v", err)
		}
	}
	all := map[string]expectation{}
	for name, number := range several {
		tolerance := one
		if len(perName) > 0 {
			known := false
			if tolerance, known = perName[name]; !known {
				t.Fatalf("no tolerance for %s", name)
			}
		}
		all[name] = expectation{number.Value, tolerance}
	}
	return all
}

func (r checkRow) compare(t *testing.T, name string, got any, expected expectation) {
	t.Helper()
	describe := fmt.Sprintf("%s %s (%s; %s)", r.ID, name, r.Kind, r.Source)
	switch got := got.(type) {
	case bool:
		var want bool
		if err := json.Unmarshal(expected.value, &want); err != nil || got != want {
			t.Errorf("%s: got %v, want %s", describe, got, expected.value)
		}
	case []float64:
		var want []float64
		if err := json.Unmarshal(expected.value, &want); err != nil || len(want) != len(got) {
			t.Fatalf("%s: got %v, want %s", describe, got, expected.value)
		}
		for i := range want {
			if !(math.Abs(got[i]-want[i]) <= expected.tolerance) {
				t.Errorf("%s[%d]: got %v, want %v ± %v", describe, i, got[i], want[i], expected.tolerance)
			}
		}
	case float64:
		var want float64
		if err := json.Unmarshal(expected.value, &want); err != nil {
			t.Fatalf("%s: %v", describe, err)
		}
		if !(math.Abs(got-want) <= expected.tolerance) {
			t.Errorf("%s: got %v, want %v ± %v", describe, got, want, expected.tolerance)
		}
	default:
		t.Fatalf("%s: cannot compare a %T", describe, got)
	}
}

// value computes one method and fails the test when there is no value.
func value(t *testing.T, id string, in Inputs) float64 {
	t.Helper()
	m, found := MethodByID(id)
	if !found {
		t.Fatalf("no method %s", id)
	}
	r := m.Compute(in)
	if !r.OK() {
		t.Fatalf("%s: %s", id, r.WhyNot)
	}
	return r.Value
}

func must(t *testing.T) func(float64, error) float64 {
	return func(v float64, err error) float64 {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

func TestCheckValues(t *testing.T) {
	content, err := os.ReadFile("../testdata/check_values.json")
	if err != nil {
		t.Fatal(err)
	}
	var rows []checkRow
	if err := json.Unmarshal(content, &rows); err != nil {
		t.Fatal(err)
	}
	if len(rows) < 107 {
		t.Fatalf("%d check values, expected at least 107", len(rows))
	}
	computations := checkComputations()
	for _, row := range rows {
		t.Run(row.ID, func(t *testing.T) {
			compute, known := computations[row.Quantity]
			if !known {
				t.Fatalf("no computation for the quantity %q", row.Quantity)
			}
			row.want(t, compute(t, row))
		})
	}
}
