package schema

import (
	"maps"
	"slices"
	"sync"
)

// ResourceTypes lists the types that the published schema has.
func ResourceTypes() []string {
	names := slices.Sorted(maps.Keys(published().text))
	return slices.DeleteFunc(names, func(name string) bool { return !published().isResource(name) })
}

// Forget lets the next check unpack and compile again.
func Forget() { published = sync.OnceValue(newDefinitions) }
