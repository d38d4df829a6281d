package main

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
)

// invariantsFile lists the invariants that each definition adds.
func invariantsFile(d definitions) string {
	type entry struct{ path, key, severity string }
	var entries []entry
	for _, s := range d.structures {
		for _, e := range s.Differential.Element {
			for _, k := range e.Constraint {
				entries = append(entries, entry{e.Path, k.Key, k.Severity})
			}
		}
	}
	slices.SortFunc(entries, func(a, b entry) int {
		return cmp.Or(cmp.Compare(a.path, b.path), cmp.Compare(a.key, b.key))
	})
	var b strings.Builder
	b.WriteString(header + "package invariant\n\n// published lists the invariants of FHIR R4 4.0.1 by path and key.\nvar published = [...]publishedInvariant{\n")
	for _, e := range entries {
		fmt.Fprintf(&b, "\t{%q, %q, %t},\n", e.path, e.key, e.severity == "warning")
	}
	b.WriteString("}\n")
	return b.String()
}
