package profile

import (
	"regexp"
	"slices"
	"strings"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/profile/fhirpath"
	"runsheet.example/validate/structure"
)

// extensionContext is where an extension is allowed
// (StructureDefinition.context).
type extensionContext struct {
	Type, Expression string
	query            *fhirpath.Expression // of type fhirpath; nil if it cannot be evaluated
}

// contextRule is a rule about when an extension can be used
// (StructureDefinition.contextInvariant).
type contextRule struct {
	text     string
	compiled *fhirpath.Expression // nil if it cannot be evaluated
}

// usedByHL7 are places where R4 4.0.1's own definitions use an extension
// outside its published context.
var usedByHL7 = map[string][]extensionContext{
	coreBase + "structuredefinition-fhir-type":         {{Type: "element", Expression: "ElementDefinition.type"}},
	coreBase + "structuredefinition-normative-version": {{Type: "element", Expression: "Resource"}, {Type: "element", Expression: "ElementDefinition"}},
	coreBase + "regex":                     {{Type: "element", Expression: "ElementDefinition.type"}},
	coreBase + "translation":               {{Type: "element", Expression: "ValueSet.expansion.contains"}},
	coreBase + "valueset-concept-comments": {{Type: "element", Expression: "CodeSystem.concept"}},
}

// addContexts compiles the rules of an extension about its use.
func (p *profile) addContexts(sd *outline) {
	p.context = sd.Context
	for i := range p.context {
		if x := &p.context[i]; x.Type == "fhirpath" {
			x.query = compiled(x.Expression)
		}
	}
	for _, text := range sd.ContextInvariant {
		// R4 4.0.1 names a value with its type, which FHIRPath does not.
		expression := strings.ReplaceAll(text, "%extension.valueInteger", "%extension.value")
		p.contextRules = append(p.contextRules, contextRule{text, compiled(expression)})
	}
}

// compiled is nil for an expression that cannot be evaluated.
func compiled(expression string) *fhirpath.Expression {
	x, err := fhirpath.Compile(expression)
	if err != nil {
		return nil
	}
	return x
}

// context reports an extension outside its allowed contexts, or a modifier
// extension in extension.
func (c *Checker) context(p *profile, n, holder doc.Node, at int) {
	d := c.d
	if asModifier := c.s.ElementName(n) == "modifierExtension"; asModifier != p.isModifier {
		f := d.Finding(n, "ext-modifier", issue.T("the extension changes no meaning and stands in modifierExtension"))
		f.Value = p.url
		if p.isModifier {
			f.Details = issue.T("the extension changes the meaning of what it is in and does not stand in modifierExtension")
		}
		c.send(f)
	}
	before := c.at
	c.at = at
	defer func() { c.at = before }()
	var allowed []string
	for _, context := range slices.Concat(p.context, usedByHL7[p.url]) {
		if c.isIn(p, holder, context) {
			allowed = nil
			break
		}
		allowed = append(allowed, context.Expression)
	}
	if len(allowed) > 0 {
		c.send(d.Finding(n, "ext-context", issue.T("the extension may not stand in {}", c.standsIn(holder))).Seen(p.url, issue.Or(allowed)))
		return
	}
	c.checkContextRules(p, n, holder)
}

// checkContextRules evaluates the rules about when an extension can be used, on the
// element with the extension. All must be true, so an empty result is not
// enough.
func (c *Checker) checkContextRules(p *profile, n, holder doc.Node) {
	for _, r := range p.contextRules {
		env := c.environment(holder)
		env.Extension = n
		holds, err := false, fhirpath.ErrUnsupported
		if r.compiled != nil {
			holds, _, err = r.compiled.Truth(&env, holder)
		}
		if err != nil {
			c.reportOnce("profile-not-evaluated", n, p.url+r.text, "when the extension {} may be used: {}", p.name, r.text)
			continue
		}
		if !holds {
			c.send(c.d.Finding(n, "ext-context", issue.T("the extension may only be used where {}", r.text)).Seen(p.url, issue.Text{}))
		}
	}
}

// isIn reports whether an object matches a context. A context that cannot be
// evaluated counts as matched.
func (c *Checker) isIn(p *profile, holder doc.Node, context extensionContext) bool {
	switch context.Type {
	case "extension":
		bare, _, _ := strings.Cut(context.Expression, "#")
		return c.s.TypeOf(holder) == structure.Extension && string(c.d.Str(c.d.Get(holder, "url"))) == bare
	case "fhirpath":
		return c.isSelected(p, holder, context)
	}
	url, id, ofProfile := strings.Cut(context.Expression, "#")
	if !ofProfile {
		return c.isElement(holder, context.Expression)
	}
	if !c.isElement(holder, sliceName.ReplaceAllString(id, "")) {
		return false
	}
	of := c.known(url, holder)
	return of == nil || of.typ != c.rec.Resources[c.at].Type || c.conformsTo(of, c.at).conforms
}

// sliceName is the name of a slice in the id of an element.
var sliceName = regexp.MustCompile(`:[^.]*`)

// isSelected reports whether an expression selects an object from its resource,
// or is true of it.
func (c *Checker) isSelected(p *profile, holder doc.Node, context extensionContext) bool {
	env := c.environment(holder)
	selects, err := false, fhirpath.ErrUnsupported
	if context.query != nil {
		selects, err = context.query.Selects(&env, env.Resource, holder)
	}
	if err != nil {
		c.reportOnce("profile-not-evaluated", holder, p.url+context.Expression, "where the extension {} may stand: {}", p.name, context.Expression)
		return true
	}
	if !selects {
		selects, _ = context.query.Selects(&env, holder, holder) // an error is that of an expression for a whole resource
	}
	return selects
}

// isElement reports whether an object is an element of the path, which begins
// with a type.
func (c *Checker) isElement(holder doc.Node, path string) bool {
	want := strings.ReplaceAll(path, "[x]", "")
	typ := c.s.TypeOf(holder)
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
	path = ""
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
