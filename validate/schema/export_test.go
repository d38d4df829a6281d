package schema

import (
	"maps"
	"slices"
)

// ResourceTypes lists the types the Checker knows.
func ResourceTypes(c *Checker) []string {
	names := slices.Sorted(maps.Keys(c.definitions.text()))
	return slices.DeleteFunc(names, func(name string) bool { return !c.definitions.isResource(name) })
}
