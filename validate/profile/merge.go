package profile

import (
	"fmt"
	"slices"
	"strings"
)

// part names one element on the way to that of a differential.
type part struct{ name, slice string }

// parts splits the id of an element, or its path where it has none. Names of
// slices may hold dots, so the path says where names end.
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

// take brings one element of the differential into the tree.
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

// limit lets an extension occur no more often than its own definition says.
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

// below finds an element below another, or the slice of one, which is made
// when there is none yet. A choice may be named with its type.
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

// choice returns the choice element that a name with a type belongs to.
func (b *branch) choice(name string) *branch {
	for _, c := range b.children {
		if c.typeNamed(name) != nil {
			return c
		}
	}
	return nil
}

// typeNamed returns the type of a choice that its name with a type stands for.
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

// narrow leaves a choice the types that the differential names in the short
// form, as the snapshots of R4 do: valueQuantity says that value[x] is a
// Quantity, and stands for the slice of that type.
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

// cut makes a new slice: like the element, but not mandatory. Extensions and
// choices need not say by what they are sliced.
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

// unfold gives an element what its type has below it, if it has none yet: that
// of the element it is a slice of, of the element it refers to, or of its
// type, as its profile has it where there is one.
func (m *maker) unfold(b *branch) error {
	if len(b.children) > 0 {
		return nil
	}
	if of := b.of; of != nil && len(of.children) > 0 && slices.EqualFunc(of.def.Type, b.def.Type, sameType) {
		return m.adopt(b, of)
	}
	if _, id, refers := strings.Cut(b.def.ContentReference, "#"); refers {
		to := m.root.find(id)
		if to == nil {
			return fmt.Errorf("there is no element %s to refer to", id)
		}
		b.def.ContentReference, b.def.Type = "", to.def.Type
		return m.adopt(b, to)
	}
	elements, err := m.typeOf(b)
	if err != nil {
		return err
	}
	root, err := m.grow(elements)
	if err != nil {
		return err
	}
	b.children = root.children
	return nil
}

func sameType(a, b elementType) bool {
	return a.Code == b.Code && slices.Equal(a.Profile, b.Profile)
}

// typeOf returns the elements of the type of an element; several types have in
// common what every element has.
func (m *maker) typeOf(b *branch) ([]elementDefinition, error) {
	canonical := coreBase + "Element"
	if len(b.def.Type) == 1 {
		t := &b.def.Type[0]
		if len(t.Profile) == 1 {
			if p, err := m.lib.outline(t.Profile[0]); err == nil && len(p.elements) > 0 {
				return p.elements, nil
			}
		}
		switch {
		case strings.HasPrefix(t.Code, systemType): // a plain value, of which only an element can have more
		case strings.Contains(t.Code, ":"):
			canonical = t.Code
		default:
			canonical = coreBase + t.Code
		}
	}
	o, err := m.lib.outline(canonical)
	if err != nil {
		return nil, notFound(err, "its type")
	}
	return o.elements, nil
}

// adopt copies what is below another element.
func (m *maker) adopt(b, from *branch) error {
	var copied []*branch
	for _, c := range from.children {
		one, err := m.copy(c, nil)
		if err != nil {
			return err
		}
		copied = append(copied, one)
	}
	b.children = copied
	return nil
}

func (m *maker) copy(from, of *branch) (*branch, error) {
	if m.size++; m.size > maxElements {
		return nil, fmt.Errorf("there are more than %d elements", maxElements)
	}
	b := &branch{name: from.name, def: from.def, of: of}
	for _, c := range from.children {
		one, err := m.copy(c, nil)
		if err != nil {
			return nil, err
		}
		b.children = append(b.children, one)
	}
	for _, s := range from.slices {
		one, err := m.copy(s, b)
		if err != nil {
			return nil, err
		}
		b.slices = append(b.slices, one)
	}
	return b, nil
}

// find returns the element of an id.
func (b *branch) find(id string) *branch {
	way := partsOfID(id)
	if way[0].name != b.name {
		return nil
	}
	for _, p := range way[1:] {
		if b = b.child(p.name); b == nil {
			return nil
		}
		if p.slice != "" {
			if b = b.named(p.slice); b == nil {
				return nil
			}
		}
	}
	return b
}

// merge lets the differential say what it says of an element; the rest stays.
func (b *branch) merge(def *elementDefinition, url string) {
	d := &b.def
	d.Min, d.MaxLength, d.MustSupport = either(def.Min, d.Min), either(def.MaxLength, d.MaxLength), either(def.MustSupport, d.MustSupport)
	d.fixed, d.pattern = either(def.fixed, d.fixed), either(def.pattern, d.pattern)
	d.minValue, d.maxValue = either(def.minValue, d.minValue), either(def.maxValue, d.maxValue)
	if def.Max != "" {
		d.Max = def.Max
	}
	if len(def.Type) > 0 {
		d.Type = def.Type
	}
	if def.ContentReference != "" {
		d.ContentReference = def.ContentReference
	}
	if s := def.Binding; s != nil {
		merged := *s
		if old := d.Binding; old != nil {
			merged.Strength, merged.ValueSet = first(s.Strength, old.Strength), first(s.ValueSet, old.ValueSet)
		}
		d.Binding = &merged
	}
	if s := def.Slicing; s != nil {
		merged := *s
		if old := d.Slicing; old != nil {
			merged.Rules, merged.Ordered = first(s.Rules, old.Rules), either(s.Ordered, old.Ordered)
			if len(s.Discriminator) == 0 {
				merged.Discriminator = old.Discriminator
			}
		}
		d.Slicing = &merged
	}
	d.Extension = append(slices.Clip(d.Extension), def.Extension...)
	for _, c := range def.Constraint {
		c.Source = first(c.Source, url)
		same := func(other elementConstraint) bool { return other.Key == c.Key }
		d.Constraint = append(slices.DeleteFunc(slices.Clone(d.Constraint), same), c)
	}
}

func either[T any](a, b *T) *T {
	if a != nil {
		return a
	}
	return b
}

func first(a, b string) string {
	if a != "" {
		return a
	}
	return b
}
