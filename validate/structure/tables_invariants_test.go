package structure_test

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
)

// invariant is a constraint that a definition adds, and the type of the
// objects it is evaluated on.
type invariant struct {
	path, key, expression string
	isWarning             bool
	on                    string
}

// invariantsFile lists the invariants that each definition adds, in the order
// of the types they are evaluated on.
func (m *model) invariantsFile(d definitions) string {
	reused := d.reused()
	var all []invariant
	for _, s := range d.structures {
		for _, e := range s.Snapshot.Element {
			for _, k := range e.own() {
				i := invariant{e.Path, k.Key, k.Expression, k.Severity == "warning", e.Path}
				if _, isType := m.index[e.Path]; !isType || reused[e.Path] {
					at := strings.LastIndexByte(e.Path, '.')
					i.on = e.Path[:at]
					i.expression = strings.TrimSuffix(e.Path[at+1:], "[x]") + ".all(" + k.Expression + ")"
				}
				all = append(all, i)
			}
		}
	}
	slices.SortFunc(all, func(a, b invariant) int {
		return cmp.Or(cmp.Compare(m.index[a.on], m.index[b.on]), cmp.Compare(len(a.key), len(b.key)), cmp.Compare(a.key, b.key), cmp.Compare(a.path, b.path))
	})
	var b strings.Builder
	b.WriteString(header + "package invariant\n\nimport \"runsheet.example/validate/structure\"\n\n" +
		"// published lists the invariants of FHIR R4 4.0.1 by the type of the objects\n// they are evaluated on.\nvar published = [...]publishedInvariant{\n")
	for _, i := range all {
		fmt.Fprintf(&b, "\t{structure.%s, %q, %q, %t, %q},\n", constName(i.on), i.path, i.key, i.isWarning, i.expression)
	}
	b.WriteString("}\n")
	return b.String()
}

// reused are the elements that others take their content from while both have
// invariants of their own, which then must not be asked of the other.
func (d definitions) reused() map[string]bool {
	out := map[string]bool{}
	for _, s := range d.structures {
		for _, e := range s.Snapshot.Element {
			if e.ContentReference != "" && len(e.own()) > 0 {
				out[strings.TrimPrefix(e.ContentReference, "#")] = true
			}
		}
	}
	return out
}
