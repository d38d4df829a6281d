package doc

import (
	"slices"
	"strconv"
	"strings"
)

// Path writes a FHIRPath expression for the value, rooted at the outermost
// resource: Bundle.entry[3].resource.code.coding[0].system.
//
// The form is the one FHIRPath engines resolve to the single node when they
// know the R4 model (FHIRPath N1, and FHIR R4 4.0.1 OperationOutcome
// expression: element names, repetition indicators and the default child
// accessor). A choice element therefore has no type suffix: Observation.value,
// not Observation.valueQuantity. If two types of a choice are present, which
// is a fault in itself, value.ofType(Quantity) distinguishes them. A primitive
// extension has the path of its primitive: _status is at Observation.status.
// Names that are not identifiers are in backticks. A member that R4 does not
// define resolves to nothing in a strict engine.
//
// An array of several items has no node of its own; its Path resolves to all
// of them. [Doc.Finding] points to the first instead.
//
// Path returns "" for None and for an outermost value without resourceType.
func (d *Doc) Path(n Node) string {
	if n < 0 {
		return ""
	}
	var chain []Node
	for at := n; at > 0; at = d.nodes[at].parent {
		chain = append(chain, at)
	}
	slices.Reverse(chain)
	var b strings.Builder
	if name := d.Str(d.Get(0, "resourceType")); len(name) > 0 {
		writeIdentifier(&b, string(name))
	}
	for _, at := range chain {
		up := d.nodes[at].parent
		if d.nodes[up].kind() == Array {
			b.WriteString("[" + strconv.Itoa(d.Index(at)) + "]")
			continue
		}
		if b.Len() > 0 {
			b.WriteByte('.')
		}
		d.writeStep(&b, at)
	}
	return b.String()
}

// MemberPath is Path with the JSON member name as its last step. It serves
// members that R4 does not define: engines that read the JSON alone resolve
// it.
func (d *Doc) MemberPath(n Node) string {
	up := d.Parent(n)
	if d.Kind(up) != Object {
		return d.Path(n)
	}
	var b strings.Builder
	b.WriteString(d.Path(up))
	if b.Len() > 0 {
		b.WriteByte('.')
	}
	writeIdentifier(&b, string(d.Key(n)))
	if d.Count(n) > 1 && d.Kind(n) == Array {
		b.WriteString("[0]")
	}
	return b.String()
}

func (d *Doc) writeStep(b *strings.Builder, n Node) {
	name := string(d.Key(n))
	if len(name) > 1 {
		name = strings.TrimPrefix(name, "_")
	}
	base := d.choiceBase(n, name)
	if base == "" {
		writeIdentifier(b, name)
		return
	}
	writeIdentifier(b, base)
	if d.hasRival(n, name, base) {
		b.WriteString(".ofType(" + choiceType(name[len(base):]) + ")")
	}
}

// choice is a choice element: the name without [x], and the type suffixes it
// allows.
type choice struct {
	base  string
	types []string
}

// choiceBase returns the name of the choice element a member belongs to, or
// "" when it belongs to none.
func (d *Doc) choiceBase(n Node, name string) string {
	for i := range choices {
		if c := &choices[i]; strings.HasPrefix(name, c.base) && slices.Contains(c.types, name[len(c.base):]) {
			if slices.Contains(plainPaths, d.elementPath(n)) {
				return ""
			}
			return c.base
		}
	}
	return ""
}

// hasRival reports whether n has a sibling of another type of the same choice.
// It inspects a limited number of siblings, more than any real object has, so
// that findings in a huge object stay cheap.
func (d *Doc) hasRival(n Node, name, base string) bool {
	const enough = 200
	i := slices.IndexFunc(choices, func(c choice) bool { return c.base == base })
	for c := d.FirstChild(d.Parent(n)); c >= 0 && d.Index(c) < enough; c = d.Next(c) {
		other := strings.TrimPrefix(string(d.Key(c)), "_")
		if other != name && strings.HasPrefix(other, base) && slices.Contains(choices[i].types, other[len(base):]) {
			return true
		}
	}
	return false
}

// choiceType maps the suffix of a choice member to its type name.
func choiceType(ending string) string {
	if slices.Contains(primitiveEndings, ending) {
		return strings.ToLower(ending[:1]) + ending[1:]
	}
	return ending
}

// elementPath is the path of the element within its own resource, without
// indices: ClinicalImpression.finding.itemReference.
func (d *Doc) elementPath(n Node) string {
	var names []string
	for at := n; at >= 0; at = d.nodes[at].parent {
		if at != n {
			if t := d.Str(d.Get(at, "resourceType")); t != nil {
				names = append(names, string(t))
				break
			}
		}
		if key := d.Key(at); len(key) > 0 {
			names = append(names, strings.TrimPrefix(string(key), "_"))
		}
	}
	slices.Reverse(names)
	return strings.Join(names, ".")
}

// writeIdentifier writes a name in FHIRPath syntax, in backticks if it is a
// keyword or not an identifier.
func writeIdentifier(b *strings.Builder, name string) {
	if isIdentifier(name) && !slices.Contains(keywords, name) {
		b.WriteString(name)
		return
	}
	b.WriteByte('`')
	b.WriteString(strings.NewReplacer("\\", `\\`, "`", "\\`", "\n", `\n`, "\r", `\r`, "\t", `\t`).Replace(name))
	b.WriteByte('`')
}

func isIdentifier(name string) bool {
	for i, c := range []byte(name) {
		letter := 'a' <= c && c <= 'z' || 'A' <= c && c <= 'Z' || c == '_'
		if !letter && (i == 0 || c < '0' || c > '9') {
			return false
		}
	}
	return name != ""
}
