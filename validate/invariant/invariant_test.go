package invariant_test

import (
	"testing"

	"runsheet.example/validate/invariant"
	"runsheet.example/validate/issue"
)

// Every invariant of the standard has a rule in the rules table, and all but
// one are evaluated.
func TestTable(t *testing.T) {
	left := map[string]bool{}
	for _, e := range invariant.Table() {
		if _, ok := issue.Lookup(e.Rule); !ok {
			t.Errorf("%s %s: no rule %s", e.Path, e.Key, e.Rule)
		}
		if !e.Implemented {
			left[e.Path+" "+e.Key] = true
		}
	}
	if len(left) != 1 || !left["CareTeam.participant ctm-1"] {
		t.Errorf("not implemented: %v", left)
	}
	if n := len(invariant.Table()); n != 239 {
		t.Errorf("%d invariants, the definitions have 239", n)
	}
}
