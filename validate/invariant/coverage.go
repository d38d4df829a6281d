package invariant

import (
	"strings"

	"runsheet.example/validate/structure"
)

type publishedInvariant struct {
	path, key string
	isWarning bool
}

// Entry is one invariant of FHIR R4 4.0.1.
type Entry struct {
	Path string // of the element it is defined on
	Key  string // in the standard; a few keys are used for two invariants
	// Rule is the id of the rule in the rules table.
	Rule string
	// IsWarning tells the standard's severity: warning, not error.
	IsWarning bool
	// Implemented tells whether it is evaluated, here or, for the two
	// invariants of narratives, by the structure layer.
	Implemented bool
}

// Table returns every invariant of FHIR R4 4.0.1, by path and key.
func Table() []Entry {
	known := map[string]rule{}
	collect := func(path string, list []rule) {
		for _, r := range list {
			known[path+" "+r.key] = r
		}
	}
	for t := structure.Type(1); t.String() != ""; t++ {
		collect(rootOf(t.String()), rulesOf(t))
	}
	collect("DomainResource", domainRules)
	collect("DomainResource", containedRules)
	entries := make([]Entry, len(published))
	for i, p := range published {
		e := Entry{Path: p.path, Key: p.key, Rule: "inv-" + p.key, IsWarning: p.isWarning}
		if r, ok := known[rootOf(p.path)+" "+p.key]; ok {
			e.Rule, e.Implemented = r.ruleID(), r.holds != nil || r.fault != nil
		}
		switch p.key {
		case "ele-1", "txt-1", "txt-2":
			e.Implemented = true
		}
		entries[i] = e
	}
	return entries
}

func rootOf(path string) string {
	root, _, _ := strings.Cut(path, ".")
	return root
}
