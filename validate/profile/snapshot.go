package profile

import (
	"encoding/json"
	"fmt"
	"io/fs"
	"slices"
	"strings"
)

// maxBases limits the chain of base definitions.
const maxBases = 64

// outline is a StructureDefinition with the elements of its snapshot,
// published or generated.
type outline struct {
	structureDefinition
	elements []elementDefinition
	err      error
}

// outline returns a definition by its canonical URL, with its elements.
func (l *Library) outline(canonical string) (*outline, error) {
	if s := l.outlines[canonical]; s != nil {
		return s, s.err
	}
	switch {
	case slices.Contains(l.making, canonical):
		return nil, fmt.Errorf("%s is based on itself", canonical)
	case len(l.making) > maxBases:
		return nil, fmt.Errorf("more than %d definitions are based on each other", maxBases)
	}
	l.making = append(l.making, canonical)
	s := new(outline)
	s.err = l.read(s, canonical)
	l.making = l.making[:len(l.making)-1]
	l.outlines[canonical] = s
	return s, s.err
}

func (l *Library) read(s *outline, canonical string) error {
	bare, version, _ := strings.Cut(canonical, "|")
	def, err := l.find("StructureDefinition", bare, version)
	if err != nil {
		return err
	}
	if err := json.Unmarshal(def.text, &s.structureDefinition); err != nil {
		return fmt.Errorf("%s: %w", bare, err)
	}
	s.elements = s.Snapshot.Element
	if len(s.elements) > 0 || s.Derivation != "constraint" {
		return nil
	}
	s.elements, err = l.snapshot(&s.structureDefinition)
	if err != nil {
		return fmt.Errorf("%s has no snapshot, and none can be made: %w", s.URL, err)
	}
	return nil
}

// snapshot generates the elements of a profile with only a differential: those
// of its base with the differential applied (FHIR R4 4.0.1, Profiling,
// Differential and snapshot).
func (l *Library) snapshot(sd *structureDefinition) ([]elementDefinition, error) {
	differential := sd.Differential.Element
	switch {
	case len(differential) == 0:
		return nil, fmt.Errorf("it has no differential")
	case len(differential) > maxElements:
		return nil, fmt.Errorf("its differential has more than %d elements", maxElements)
	case sd.BaseDefinition == "":
		return nil, fmt.Errorf("it names no base")
	}
	base, err := l.outline(sd.BaseDefinition)
	switch {
	case err != nil:
		return nil, notFound(err, "its base")
	case len(base.elements) == 0:
		return nil, fmt.Errorf("its base %s has no elements", sd.BaseDefinition)
	case base.Type != sd.Type:
		return nil, fmt.Errorf("it is of %s and its base of %s", sd.Type, base.Type)
	}
	m := maker{lib: l, url: sd.URL}
	if m.root, err = m.grow(base.elements); err != nil {
		return nil, err
	}
	for i := range differential {
		if err := m.take(&differential[i]); err != nil {
			return nil, err
		}
	}
	return m.root.flat(nil, "", ""), nil
}

// notFound reports a missing definition in an error that is not taken for one
// about the profile itself.
func notFound(err error, what string) error {
	return fmt.Errorf("%s: %s", what, strings.Replace(err.Error(), fs.ErrNotExist.Error(), "is not in the packages given, in ours or in R4", 1))
}

// maker generates one snapshot.
type maker struct {
	lib  *Library
	url  string
	root *branch
	size int
}

// branch is an element of a snapshot with its children.
type branch struct {
	name     string // with [x]
	def      elementDefinition
	of       *branch // sliced element
	children []*branch
	slices   []*branch
	// choices are the types of an element that short names such as
	// valueQuantity restrict.
	choices []elementType
}

// grow builds the tree of a snapshot, which lists an element before its
// children, and slices after the sliced element.
func (m *maker) grow(elements []elementDefinition) (*branch, error) {
	var open []*branch
	for i := range elements {
		def := &elements[i]
		depth := strings.Count(def.Path, ".")
		b := &branch{name: def.Path[strings.LastIndexByte(def.Path, '.')+1:], def: *def}
		if m.size++; m.size > maxElements {
			return nil, fmt.Errorf("there are more than %d elements", maxElements)
		}
		switch {
		case depth == 0 && i == 0:
			open = []*branch{b}
			continue
		case depth == 0 || depth > len(open):
			return nil, fmt.Errorf("%s stands out of order in a snapshot", def.Path)
		}
		parent := open[depth-1]
		open = append(open[:depth], b)
		if of := parent.child(b.name); def.SliceName != "" && of != nil {
			of.slice(b)
		} else {
			parent.children = append(parent.children, b)
		}
	}
	if len(open) == 0 {
		return nil, fmt.Errorf("a snapshot has no elements")
	}
	return open[0], nil
}

func (b *branch) child(name string) *branch {
	for _, c := range b.children {
		if c.name == name {
			return c
		}
	}
	return nil
}

// slice adds a slice: a/b to the slice a.
func (b *branch) slice(s *branch) {
	for _, other := range b.slices {
		if strings.HasPrefix(s.def.SliceName, other.def.SliceName+"/") {
			other.slice(s)
			return
		}
	}
	s.of = b
	b.slices = append(b.slices, s)
}

// named returns the slice with a name.
func (b *branch) named(slice string) *branch {
	for _, s := range b.slices {
		if s.def.SliceName == slice {
			return s
		}
		if strings.HasPrefix(slice, s.def.SliceName+"/") {
			return s.named(slice)
		}
	}
	return nil
}

// flat lists the elements again, with their current paths and ids, below the
// given path and id.
func (b *branch) flat(out []elementDefinition, path, id string) []elementDefinition {
	def := b.def
	def.Path, def.ID = joined(path, b.name), joined(id, b.name)
	if def.SliceName != "" {
		def.ID += ":" + def.SliceName
	}
	out = append(out, def)
	for _, c := range b.children {
		out = c.flat(out, def.Path, def.ID)
	}
	for _, s := range b.slices {
		out = s.flat(out, path, id)
	}
	return out
}
