package invariant_test

import (
	"testing"

	"runsheet.example/validate/invariant"
	"runsheet.example/validate/issue"
)

// Every invariant of the standard has a rule in the rules table and is
// evaluated.
func TestTable(t *testing.T) {
	for _, e := range invariant.Table() {
		if _, ok := issue.Lookup(e.Rule); !ok {
			t.Errorf("%s %s: no rule %s", e.Path, e.Key, e.Rule)
		}
	}
	if n := len(invariant.Table()); n != 239 {
		t.Errorf("%d invariants, the definitions have 239", n)
	}
}
