package reference

import (
	"slices"
	"strings"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/structure"
)

// target checks the type a reference leads to against what its element
// allows. A type that R4 does not know is not judged here: the reference is
// no literal of R4 then.
func (c *Checker) target(n, element doc.Node, named []byte) {
	allowed := c.types.AllowedTargets(element)
	if len(allowed) == 0 || slices.ContainsFunc(allowed, func(t structure.Type) bool { return t.String() == string(named) }) {
		return
	}
	if _, known := structure.ResourceType(named); !known {
		return
	}
	names := make([]string, len(allowed))
	for i, t := range allowed {
		names[i] = t.String()
	}
	f := c.d.Finding(n, "ref-target-type")
	f.Details, f.Value = "the element does not take this type of resource", string(named)
	f.Expected = strings.Join(names, " or ")
	c.add(f)
}
