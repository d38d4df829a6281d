package profile

import (
	"strings"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/structure"
)

// typeName returns the FHIR type of an occurrence. A choice with extensions
// only has its type in the member name alone.
func (c *Checker) typeName(e *element, it item) string {
	if it.node != it.extension {
		return c.typeOf(it.node)
	}
	key := strings.TrimPrefix(string(c.d.Key(it.node)), "_")
	suffix, ok := strings.CutPrefix(key, e.name)
	if !ok || suffix == "" {
		return ""
	}
	return strings.ToLower(suffix[:1]) + suffix[1:]
}

// typeOf returns the FHIR type of a value. A profile that R4 uses as a type
// counts as that type (FHIR R4 4.0.1, SimpleQuantity).
func (c *Checker) typeOf(n doc.Node) string {
	switch t := c.s.TypeOf(n); t {
	case structure.SimpleQuantity:
		return structure.Quantity.String()
	default:
		return t.String()
	}
}

// types checks the type of a choice or of a resource.
func (c *Checker) types(e *element, it item) {
	name := c.typeName(e, it)
	if name == "" || e.takes(name, c.s.TypeOf(it.node)) {
		return
	}
	f := c.finding(it.node, "profile-type", issue.T("the type is none that {} takes", c.naming(e)))
	f.Value = name
	var names []string
	for _, t := range e.types {
		names = append(names, t.code)
	}
	f.Expected = issue.Or(names)
	c.send(f)
}

// takes reports whether the element allows a type.
func (e *element) takes(name string, t structure.Type) bool {
	for i := range e.types {
		switch code := e.types[i].code; {
		case code == name, code == "Resource", code == "*", strings.HasPrefix(code, "http://hl7.org/fhirpath/"):
			return true
		case code == "DomainResource" && t.IsDomainResource():
			return true
		case code == "Element" || code == "BackboneElement":
			return true
		}
	}
	return len(e.types) == 0
}
