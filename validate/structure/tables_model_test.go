package structure_test

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
)

const (
	profileURL = "http://hl7.org/fhir/StructureDefinition/"
	systemURL  = "http://hl7.org/fhirpath/System."
)

// row is one member name an object of a type may have.
type row struct {
	name    string
	base    int // length of the element's name, shorter than name for a choice
	typ     string
	array   bool
	bit     int // place in the mask of required and choice elements, or -1
	binding string
	targets []string
	plain   bool // a System type: without id and extensions of its own
}

// typ is one type of object.
type typ struct {
	path     string
	kind     string // primitive, datatype, backbone, resource, domain, abstract
	rows     []row
	required uint64
}

type model struct {
	types    []typ
	index    map[string]int // type path to number
	sets     []codeSet
	setIndex map[string]int
	targets  [][]string
	plain    map[string][]string // element names and the places they stand at
	bases    map[string]map[string]bool
}

// primitives stand first, in the order of the checks' switch.
var primitives = []string{
	"base64Binary", "boolean", "canonical", "code", "date", "dateTime", "decimal", "id", "instant", "integer",
	"markdown", "oid", "positiveInt", "string", "time", "unsignedInt", "uri", "url", "uuid", "xhtml",
}

func buildModel(d definitions) (*model, error) {
	m := &model{
		index: map[string]int{}, setIndex: map[string]int{},
		plain: map[string][]string{}, bases: map[string]map[string]bool{},
		sets: []codeSet{{}}, targets: [][]string{nil},
	}
	var types []typ
	for _, p := range primitives {
		types = append(types, typ{path: p, kind: "primitive"})
	}
	var rest []typ
	for _, s := range d.structures {
		if s.Kind == "primitive-type" {
			continue
		}
		more, err := m.split(s, d)
		if err != nil {
			return nil, err
		}
		rest = append(rest, more...)
	}
	rest = append(rest, simpleQuantity(rest))
	slices.SortFunc(rest, func(a, b typ) int { return cmp.Compare(a.path, b.path) })
	m.types = append([]typ{{}}, append(types, rest...)...)
	for i, t := range m.types {
		m.index[t.path] = i
	}
	for _, t := range m.types {
		for _, r := range t.rows {
			if _, ok := m.index[r.typ]; !ok {
				return nil, fmt.Errorf("%s.%s: no type %q", t.path, r.name, r.typ)
			}
		}
	}
	return m, nil
}

// split makes one type of a definition and one more of each of its elements
// that have children.
func (m *model) split(s structureDefinition, d definitions) ([]typ, error) {
	parents := map[string]bool{s.ID: true}
	for _, e := range s.Snapshot.Element {
		if i := strings.LastIndexByte(e.Path, '.'); i > 0 {
			parents[e.Path[:i]] = true
		}
	}
	var types []typ
	at := map[string]int{}
	for _, e := range s.Snapshot.Element {
		if parents[e.Path] {
			at[e.Path] = len(types)
			types = append(types, typ{path: e.Path, kind: kindOf(s, e.Path)})
		}
		i := strings.LastIndexByte(e.Path, '.')
		if i < 0 {
			continue
		}
		t := &types[at[e.Path[:i]]]
		if err := m.addElement(t, s, e, parents[e.Path], d); err != nil {
			return nil, err
		}
	}
	return types, nil
}

func kindOf(s structureDefinition, path string) string {
	switch {
	case path != s.ID:
		return "backbone"
	case slices.Contains([]string{"BackboneElement", "DomainResource", "Element", "Resource"}, s.ID):
		return "abstract"
	case s.Kind != "resource":
		return "datatype"
	default:
		for _, e := range s.Snapshot.Element {
			if e.Path == s.ID+".contained" {
				return "domain"
			}
		}
		return "resource"
	}
}

func (m *model) addElement(t *typ, s structureDefinition, e element, hasChildren bool, d definitions) error {
	if e.Max != "1" && e.Max != "*" || e.Min > 1 {
		return fmt.Errorf("%s: cardinality %d..%s has no place in the tables", e.Path, e.Min, e.Max)
	}
	name := e.Path[strings.LastIndexByte(e.Path, '.')+1:]
	base, isChoice := strings.CutSuffix(name, "[x]")
	r := row{name: name, base: len(base), array: e.Max == "*", bit: -1}
	if e.Min > 0 || isChoice {
		r.bit = t.nextBit()
		if e.Min > 0 {
			t.required |= 1 << r.bit
		}
	}
	if url := e.Binding.mustBeFrom(); url != "" {
		var err error
		if r.binding, err = m.expand(url, d); err != nil {
			return fmt.Errorf("%s: %w", e.Path, err)
		}
	}
	switch {
	case e.ContentReference != "":
		r.typ = strings.TrimPrefix(e.ContentReference, "#")
		t.rows = append(t.rows, r)
	case hasChildren:
		r.typ = e.Path
		t.rows = append(t.rows, r)
	default:
		for _, et := range e.Type {
			t.rows = append(t.rows, m.typed(r, base, isChoice, s, t.path == s.ID, et))
		}
	}
	m.noteNames(e.Path, base, isChoice, e.Type)
	return nil
}

// typed fills in one of the types an element may have.
func (m *model) typed(r row, base string, isChoice bool, s structureDefinition, isRoot bool, et elementType) row {
	code := et.Code
	if isChoice {
		r.name = base + strings.ToUpper(code[:1]) + code[1:]
	}
	switch {
	case strings.HasPrefix(code, systemURL):
		r.plain = true
		code = "string"
		if s.Kind == "resource" && isRoot && base == "id" { // of a backbone element it is a string
			code = "id"
		}
		if s.ID == "Extension" && base == "url" {
			code = "uri"
		}
	case code == "Quantity" && slices.Contains(et.Profile, profileURL+"SimpleQuantity"):
		code = "SimpleQuantity"
	case code == "Reference":
		r.targets = targetNames(et.TargetProfile)
	}
	if code != "code" && code != "CodeableConcept" && code != "Coding" {
		r.binding = ""
	}
	r.typ = code
	return r
}

// targetNames lists the resource types a reference may point to; none means
// any.
func targetNames(profiles []string) []string {
	var names []string
	for _, p := range profiles {
		name := strings.TrimPrefix(p, profileURL)
		if name == "Resource" {
			return nil
		}
		names = append(names, name)
	}
	slices.Sort(names)
	return slices.Compact(names)
}

func (t *typ) nextBit() int {
	next := 0
	for _, r := range t.rows {
		next = max(next, r.bit+1)
	}
	return next
}

// simpleQuantity is the one profile that other definitions use as a type: a
// Quantity without comparator.
func simpleQuantity(types []typ) typ {
	i := slices.IndexFunc(types, func(t typ) bool { return t.path == "Quantity" })
	q := types[i]
	q.path = "SimpleQuantity"
	q.rows = slices.Clone(q.rows)
	return q
}

func (m *model) noteNames(path, base string, isChoice bool, types []elementType) {
	if !isChoice {
		m.plain[base] = append(m.plain[base], path)
		return
	}
	if m.bases[base] == nil {
		m.bases[base] = map[string]bool{}
	}
	for _, t := range types {
		m.bases[base][strings.ToUpper(t.Code[:1])+t.Code[1:]] = true
	}
}
