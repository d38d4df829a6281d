package profile

import (
	"fmt"
	"slices"
	"strings"
)

// part is one step of the path to an element of a differential.
type part struct{ name, slice string }

// parts splits the id of an element, or its path if it has no id. Slice names
// may contain dots, so the path shows where names end.
func parts(def *elementDefinition) []part {
	names := strings.Split(def.Path, ".")
	if def.ID == "" {
		out := make([]part, len(names))
		for i, name := range names {
			out[i].name = name
		}
		out[len(out)-1].slice = def.SliceName
		return out
	}
	var out []part
	rest := def.ID
	for i, name := range names {
		after, ok := strings.CutPrefix(rest, name)
		if !ok {
			return partsOfID(def.ID)
		}
		end := len(after)
		if i+1 < len(names) {
			if end = strings.Index(after, "."+names[i+1]); end < 0 {
				return partsOfID(def.ID)
			}
		}
		slice, isSlice := strings.CutPrefix(after[:end], ":")
		if !isSlice && slice != "" {
			return partsOfID(def.ID)
		}
		out = append(out, part{name, slice})
		rest = strings.TrimPrefix(after[end:], ".")
	}
	return out
}

func partsOfID(id string) []part {
	var out []part
	for _, one := range strings.Split(id, ".") {
		name, slice, _ := strings.Cut(one, ":")
		out = append(out, part{name, slice})
	}
	return out
}

// take merges one element of the differential into the tree.
func (m *maker) take(def *elementDefinition) error {
	way := parts(def)
	if way[0].name != m.root.name || len(way) > maxNesting {
		return fmt.Errorf("%s is no element of %s", def.Path, m.root.name)
	}
	at := m.root
	for i := 1; i < len(way); i++ {
		below, err := m.below(at, way[i])
		if err != nil {
			return fmt.Errorf("%s: %w", def.Path, err)
		}
		at = below
	}
	at.merge(def, m.url)
	if def.Max == "" && len(def.Type) == 1 && at.def.SliceName != "" {
		m.limit(at)
	}
	return nil
}

// limit lowers the maximum of an extension to that of its own definition.
func (m *maker) limit(b *branch) {
	t := &b.def.Type[0]
	if t.Code != "Extension" || len(t.Profile) != 1 {
		return
	}
	x, err := m.lib.outline(t.Profile[0])
	if err == nil && len(x.elements) > 0 && b.def.Max == "*" {
		b.def.Max = x.elements[0].Max
	}
}

// below finds a child of an element, or its slice, and creates the slice if it
// does not exist. The name of a choice may include the type.
func (m *maker) below(at *branch, p part) (*branch, error) {
	if err := m.unfold(at); err != nil {
		return nil, err
	}
	child := at.child(p.name)
	if child == nil {
		if child = at.choice(p.name); child == nil {
			return nil, fmt.Errorf("there is no element %s", p.name)
		}
		child.narrow(p.name)
		p.slice = first(p.slice, p.name)
	}
	if p.slice == "" {
		return child, nil
	}
	if s := child.named(p.slice); s != nil {
		return s, nil
	}
	return m.cut(child, p.slice)
}

// choice returns the choice element of a name with a type.
func (b *branch) choice(name string) *branch {
	for _, c := range b.children {
		if c.typeNamed(name) != nil {
			return c
		}
	}
	return nil
}

// typeNamed returns the type in the name of a choice.
func (b *branch) typeNamed(name string) *elementType {
	bare, isChoice := strings.CutSuffix(b.name, "[x]")
	if !isChoice {
		return nil
	}
	types := b.def.Type
	if b.choices != nil {
		types = b.choices
	}
	for i := range types {
		if code := types[i].Code; code != "" && name == bare+strings.ToUpper(code[:1])+code[1:] {
			return &types[i]
		}
	}
	return nil
}

// narrow restricts a choice to the types that the differential names in the
// short form, as the snapshots of R4 do: valueQuantity restricts value[x] to
// Quantity and refers to the slice of that type.
func (b *branch) narrow(name string) {
	t := b.typeNamed(name)
	if b.choices == nil {
		b.choices, b.def.Type = b.def.Type, nil
		b.def.Slicing = slicedBy("type", "$this", "closed")
	}
	if !slices.ContainsFunc(b.def.Type, func(other elementType) bool { return sameType(other, *t) }) {
		b.def.Type = append(b.def.Type, *t)
	}
}

func slicedBy(kind, path, rules string) *elementSlicing {
	s := &elementSlicing{Rules: rules}
	s.Discriminator = append(s.Discriminator, struct{ Type, Path string }{kind, path})
	return s
}

// cut creates a new slice: a copy of the element, but optional. Extensions and
// choices have a default slicing.
func (m *maker) cut(of *branch, name string) (*branch, error) {
	if m.size++; m.size > maxElements {
		return nil, fmt.Errorf("there are more than %d elements", maxElements)
	}
	t := of.typeNamed(name)
	switch {
	case of.def.Slicing != nil:
	case t != nil:
		of.def.Slicing = slicedBy("type", "$this", "open")
	case of.name == "extension" || of.name == "modifierExtension":
		of.def.Slicing = slicedBy("value", "url", "open")
	}
	if before, _, isAgain := strings.Cut(name, "/"); isAgain {
		if s := of.named(before); s != nil {
			of = s
		}
	}
	s := &branch{name: of.name, def: of.def}
	s.def.SliceName, s.def.Slicing, s.def.Min = name, nil, new(int)
	if t != nil {
		s.def.Type = []elementType{*t}
	}
	of.slice(s)
	return s, nil
}
