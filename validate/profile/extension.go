package profile

import (
	"errors"
	"io/fs"
	"slices"
	"strings"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/structure"
)

// extensionContext is where an extension is allowed
// (StructureDefinition.context).
type extensionContext struct{ Type, Expression string }

// usedByHL7 are places where R4 4.0.1's own definitions use an extension
// outside its published context.
var usedByHL7 = map[string][]extensionContext{
	coreBase + "structuredefinition-fhir-type":         {{"element", "ElementDefinition.type"}},
	coreBase + "structuredefinition-normative-version": {{"element", "Resource"}, {"element", "ElementDefinition"}},
	coreBase + "regex":                     {{"element", "ElementDefinition.type"}},
	coreBase + "translation":               {{"element", "ValueSet.expansion.contains"}},
	coreBase + "valueset-concept-comments": {{"element", "CodeSystem.concept"}},
}

// HasExtensions reports whether the document has an Extension.
func HasExtensions(s *structure.Checker) bool {
	return slices.ContainsFunc(s.Objects(), func(n doc.Node) bool { return s.TypeOf(n) == structure.Extension })
}

// extensions checks every extension against its definition, if known, and
// checks its context. An unknown extension is not a fault.
func (c *Checker) extensions() {
	around := c.rec.Around()
	for _, n := range c.s.Objects() {
		if c.s.TypeOf(n) == structure.Extension {
			c.extension(n, around.Of(n))
		}
	}
}

func (c *Checker) extension(n doc.Node, at int) {
	d := c.d
	urlNode := d.Get(n, "url")
	url := string(d.Str(urlNode))
	holder := d.Parent(n)
	if d.Kind(holder) == doc.Array {
		holder = d.Parent(holder)
	}
	if !strings.Contains(url, ":") {
		return // part of a complex extension, or wrong in R4 itself
	}
	p, err := c.lib.profile(url)
	if err != nil {
		if !errors.Is(err, fs.ErrNotExist) {
			c.tell("profile-not-evaluated", n, url, "an extension that cannot be used: "+err.Error())
		}
		return
	}
	if p.typ != "Extension" || p.root == nil {
		f := d.Finding(urlNode, "ext-context")
		f.Details, f.Value = "the url is not that of an extension", url
		c.send(f)
		return
	}
	c.context(p, n, holder)
	if c.extended[frame{p, n}] {
		return
	}
	before, beforeAt := c.profile, c.at
	c.profile, c.at = p, at
	c.check(p.root, item{n, doc.None})
	c.profile, c.at = before, beforeAt
}

// context reports an extension outside its allowed contexts, or a modifier
// extension in extension.
func (c *Checker) context(p *profile, n, holder doc.Node) {
	d := c.d
	if asModifier := c.s.ElementName(n) == "modifierExtension"; asModifier != p.isModifier {
		f := d.Finding(n, "ext-modifier")
		f.Details, f.Value = "the extension changes no meaning and stands in modifierExtension", p.url
		if p.isModifier {
			f.Details = "the extension changes the meaning of what it is in and does not stand in modifierExtension"
		}
		c.send(f)
	}
	var allowed []string
	for _, context := range slices.Concat(p.context, usedByHL7[p.url]) {
		if context.Type == "fhirpath" || c.isIn(holder, context) {
			return
		}
		allowed = append(allowed, context.Expression)
	}
	if len(allowed) > 0 {
		f := d.Finding(n, "ext-context")
		f.Details, f.Value, f.Expected = "the extension may not stand in "+c.standsIn(holder), p.url, strings.Join(allowed, " or ")
		c.send(f)
	}
}

// isIn reports whether an object matches a context.
func (c *Checker) isIn(holder doc.Node, context extensionContext) bool {
	want := strings.ReplaceAll(context.Expression, "[x]", "")
	typ := c.s.TypeOf(holder)
	if context.Type == "extension" {
		bare, _, _ := strings.Cut(want, "#")
		return typ == structure.Extension && string(c.d.Str(c.d.Get(holder, "url"))) == bare
	}
	switch want {
	case "*", "Element":
		return true
	case "Resource":
		return typ.IsResource()
	case "DomainResource":
		return typ.IsDomainResource()
	case "BackboneElement":
		return strings.Contains(typ.String(), ".")
	case "Quantity":
		want = "Quantity Age Count Distance Duration SimpleQuantity"
	}
	if slices.Contains(strings.Fields(want), typ.String()) || isPrimitiveName(want) && typ == structure.Element {
		return true
	}
	// The path of the element, from any type that contains it.
	path := ""
	for n := holder; n != doc.None; n = c.d.Parent(n) {
		if c.d.Kind(n) == doc.Array {
			continue
		}
		if name := c.s.TypeOf(n).String(); path != "" && name+path == want {
			return true
		}
		if c.s.TypeOf(n).IsResource() {
			return false
		}
		path = "." + c.s.ElementName(n) + path
	}
	return false
}

// isPrimitiveName reports the name of a primitive type, because the extension
// object of a primitive does not have its type.
func isPrimitiveName(name string) bool {
	return name != "" && !strings.Contains(name, ".") && name[0] >= 'a' && name[0] <= 'z'
}

// standsIn names the parent object in words.
func (c *Checker) standsIn(holder doc.Node) string {
	if name := c.s.ElementName(holder); name != "" {
		return name + " (" + c.s.TypeOf(holder).String() + ")"
	}
	return c.s.TypeOf(holder).String()
}
