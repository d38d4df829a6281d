package schema

import (
	"maps"
	"slices"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
)

// ResourceTypes lists the types the Checker knows.
func ResourceTypes(c *Checker) []string {
	names := slices.Sorted(maps.Keys(c.definitions.text()))
	return slices.DeleteFunc(names, func(name string) bool { return !c.definitions.isResource(name) })
}

// CheckWhole asks the engine about the document as a whole, whatever is known
// of its parts.
func CheckWhole(c *Checker, d *doc.Doc, add func(issue.Finding)) { c.checkWhole(d, add) }

// Certifies reports whether the parts of the document are enough to know that
// it is valid.
func Certifies(c *Checker, d *doc.Doc) bool { return c.certify(d) }

// Unplanned lists the definitions with members that could not be taken apart.
func Unplanned(c *Checker) (names []string) {
	for _, name := range slices.Sorted(maps.Keys(c.definitions.text())) {
		var members = c.definitions.members(name)
		if len(members) > 0 && c.definitions.plans.of(name) == nil {
			names = append(names, name)
		}
	}
	return names
}
