package profile

import (
	"fmt"
	"slices"
	"strings"
)

// unfold adds child elements to an element without any: those of the element
// it slices, of its content reference, or of its type, from the profile on the
// type if there is one.
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

// typeOf returns the elements of an element's type; several types share the
// elements of Element.
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
		case strings.HasPrefix(t.Code, systemType): // a plain value, whose children only an element can have
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

// adopt copies the children of another element.
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

// find returns the element with an id.
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
