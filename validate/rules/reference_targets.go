package rules

import (
	"slices"

	"runsheet.example/validate/issue"
	"runsheet.example/validate/resources"
	"runsheet.example/validate/structure"
)

// target checks the type of a reference's target against the types its element
// allows. It skips a type that R4 does not define: the text is then not a
// literal reference of R4.
func (c *referenceChecker) target(ref *resources.Reference) {
	allowed := c.types.AllowedTargets(ref.Node)
	if len(allowed) == 0 || slices.ContainsFunc(allowed, func(t structure.Type) bool { return t.String() == ref.Type }) {
		return
	}
	if _, known := structure.ResourceType([]byte(ref.Type)); !known {
		return
	}
	names := make([]string, len(allowed))
	for i, t := range allowed {
		names[i] = t.String()
	}
	f := c.d.Finding(ref.Literal, "ref-target-type", issue.Text{})
	f.Details, f.Value = issue.T("the element does not take this type of resource"), ref.Type
	f.Expected = issue.Or(names)
	c.add(f)
}
