package profile

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"runsheet.example/validate/invariant"
	"runsheet.example/validate/profile/fhirpath"
	"runsheet.example/validate/structure"
)

const coreBase = "http://hl7.org/fhir/StructureDefinition/"

// constraint is an invariant of a profile.
type constraint struct {
	key, human, expression string
	isWarning              bool
	compiled               *fhirpath.Expression
}

// maxElements limits the snapshot of one profile: the largest of R4 have
// several hundred elements.
const maxElements = 20_000

// compile converts a StructureDefinition to its compact form.
func compile(sd *outline) (*profile, error) {
	p := &profile{url: sd.URL, version: sd.Version, typ: sd.Type, name: lastPart(sd.URL)}
	p.isBase = sd.Derivation != "constraint"
	elements := sd.elements
	switch {
	case p.isBase:
		return p, nil
	case len(elements) > maxElements:
		return nil, fmt.Errorf("%s has more than %d elements", sd.URL, maxElements)
	}
	p.addContexts(sd)
	b := builder{profile: p, known: knownInvariants(), byID: map[string]*element{}}
	for i := range elements {
		if err := b.take(&elements[i]); err != nil {
			return nil, fmt.Errorf("%s: %w", sd.URL, err)
		}
	}
	if root := &elements[0]; root.IsModifier != nil {
		p.isModifier = *root.IsModifier
	}
	b.link()
	prune(p.root)
	return p, nil
}

// knownInvariants are the keys of the invariants that package invariant
// evaluates on every resource.
func knownInvariants() map[string]bool {
	known := map[string]bool{}
	for _, e := range invariant.Table() {
		known[e.Key] = true
	}
	return known
}

type builder struct {
	profile *profile
	known   map[string]bool
	// open are the elements from the root to the latest, by depth.
	open   []*element
	byID   map[string]*element
	linked []*element
}

// take adds the next element of the snapshot. A snapshot lists an element
// before its children, and slices after the sliced element.
func (b *builder) take(def *elementDefinition) error {
	depth := strings.Count(def.Path, ".")
	e, err := b.element(def)
	if err != nil {
		return err
	}
	if depth == 0 {
		if b.profile.root != nil {
			return fmt.Errorf("the snapshot has two roots")
		}
		b.profile.root, b.open = e, []*element{e}
		b.byID[def.ID] = e
		return nil
	}
	if depth > len(b.open) {
		return fmt.Errorf("%s stands before the element it is in", def.Path)
	}
	b.byID[def.ID] = e
	parent := b.open[depth-1]
	e.path = joined(parent.path, stepName(e))
	b.open = append(b.open[:depth], e)
	if e.slice == "" {
		parent.children = append(parent.children, e)
		return nil
	}
	b.slice(parent, e)
	return nil
}

// slice adds a slice to its sliced element. It drops invariants that the
// element has too, so that none is evaluated twice.
func (b *builder) slice(parent, e *element) {
	of := parent.child(e.name)
	if of == nil { // a snapshot that omits the sliced element
		of = &element{name: e.name, choice: e.choice, max: -1, path: joined(parent.path, e.name)}
		parent.children = append(parent.children, of)
	}
	e.rules = slices.DeleteFunc(e.rules, func(r constraint) bool {
		return slices.ContainsFunc(of.rules, func(other constraint) bool { return other.key == r.key && other.expression == r.expression })
	})
	sliceOf(of, e.slice).add(e)
}

// sliceOf finds the slice that is resliced: a/b is a slice of a.
func sliceOf(of *element, name string) *element {
	for _, s := range of.slices {
		if strings.HasPrefix(name, s.slice+"/") {
			return sliceOf(s, name)
		}
	}
	return of
}

func (e *element) add(slice *element) { e.slices = append(e.slices, slice) }

func stepName(e *element) string {
	if e.slice == "" {
		return e.name
	}
	return e.name + ":" + e.slice
}

func (b *builder) element(def *elementDefinition) (*element, error) {
	last := def.Path[strings.LastIndexByte(def.Path, '.')+1:]
	e := &element{
		name: strings.TrimSuffix(last, "[x]"), choice: strings.HasSuffix(last, "[x]"), slice: def.SliceName,
		min: def.minimum(), max: -1, fixed: def.fixed, pattern: def.pattern, must: def.MustSupport != nil && *def.MustSupport,
		reference: def.ContentReference,
	}
	if e.name == "" {
		return nil, fmt.Errorf("the path %q has no name at its end", def.Path)
	}
	if def.Max != "*" && def.Max != "" {
		var err error
		if e.max, err = strconv.Atoi(def.Max); err != nil || e.max < 0 {
			return nil, fmt.Errorf("%s: the maximum %q is no number", def.Path, def.Max)
		}
	}
	e.counted = def.Base == nil || e.min != def.Base.Min || def.Max != def.Base.Max || e.slice != ""
	for _, t := range def.Type {
		e.types = append(e.types, typeRef{t.Code, t.Profile, t.TargetProfile, t.Aggregation, t.Versioning})
		typ, isResource := structure.ResourceType([]byte(t.Code))
		e.narrowed = e.narrowed || isResource && typ.IsResource()
	}
	e.narrowed = e.narrowed || e.choice && len(e.types) > 0
	e.bind(def.Binding)
	b.limits(e, def)
	b.constraints(e, def)
	b.slicing(e, def)
	if e.reference != "" {
		b.linked = append(b.linked, e)
	}
	return e, nil
}

const maxValueSet = coreBase + "elementdefinition-maxValueSet"

// bind sets the value set of a required or extensible binding.
func (e *element) bind(b *elementBinding) {
	if b == nil {
		return
	}
	switch b.Strength {
	case "required":
		e.valueSet = b.ValueSet
		return
	case "extensible":
		e.wide = b.ValueSet
	}
	for _, x := range b.Extension {
		if x.URL == maxValueSet {
			e.valueSet = x.ValueCanonical + x.ValueURI
		}
	}
}

// constraints adds the invariants that are not part of R4.
func (b *builder) constraints(e *element, def *elementDefinition) {
	for _, c := range def.Constraint {
		isCore := c.Source == "" || strings.HasPrefix(c.Source, "http://hl7.org/fhir/")
		if b.known[c.Key] && isCore {
			continue
		}
		if c.Expression == "" {
			b.leaveOut(c.Key)
			continue
		}
		compiled, err := fhirpath.Compile(c.Expression)
		if err != nil {
			b.leaveOut(c.Key)
			continue
		}
		e.rules = append(e.rules, constraint{c.Key, c.Human, c.Expression, c.Severity == "warning", compiled})
	}
}

func (b *builder) leaveOut(key string) {
	for _, k := range b.profile.unevaluated {
		if k == key {
			return
		}
	}
	b.profile.unevaluated = append(b.profile.unevaluated, key)
}

func (b *builder) slicing(e *element, def *elementDefinition) {
	if def.Slicing == nil {
		return
	}
	s := &slicing{ordered: def.Slicing.Ordered != nil && *def.Slicing.Ordered, rules: def.Slicing.Rules}
	for _, d := range def.Slicing.Discriminator {
		steps, ok := readSteps(d.Path)
		s.discriminators = append(s.discriminators, discriminator{d.Type, d.Path, steps, ok})
	}
	e.slicing = s
}

// link resolves content references.
func (b *builder) link() {
	for _, e := range b.linked {
		_, id, _ := strings.Cut(e.reference, "#")
		e.content = b.byID[id]
		if e.content == nil {
			e.reference = ""
		}
	}
}

// prune removes elements without rules, and slicing without slices.
func prune(e *element) {
	if e.slicing != nil && len(e.slices) == 0 && e.slicing.rules != "closed" {
		e.slicing = nil
	}
	if e.slicing == nil && len(e.slices) > 0 {
		e.slicing = impliedSlicing(e)
	}
	for _, s := range e.slices {
		prune(s)
	}
	kept := e.children[:0]
	for _, c := range e.children {
		prune(c)
		if !c.isOpaque(true) {
			kept = append(kept, c)
		}
	}
	e.children = kept
}

// impliedSlicing is the default slicing of extensions and choices (FHIR R4
// 4.0.1, Profiling, Slicing).
func impliedSlicing(e *element) *slicing {
	switch {
	case e.name == "extension" || e.name == "modifierExtension":
		steps, _ := readSteps("url")
		return &slicing{discriminators: []discriminator{{"value", "url", steps, true}}, rules: "open"}
	case e.choice:
		return &slicing{discriminators: []discriminator{{"type", "$this", nil, true}}, rules: "open"}
	default:
		return &slicing{rules: "open"}
	}
}

// readSteps parses the path of a discriminator: names, extension('url'),
// ofType(Type), resolve() (FHIR R4 4.0.1, Profiling, Discriminator).
func readSteps(path string) (steps []step, ok bool) {
	if path == "$this" {
		return nil, true
	}
	for rest := strings.TrimPrefix(path, "$this."); rest != ""; {
		var s step
		name, argument, after, ok := cutStep(rest)
		if !ok {
			return nil, false
		}
		switch name {
		case "extension":
			s = step{stepExtension, strings.Trim(argument, `'"`)}
			if argument == "" {
				s = step{stepMember, name}
			}
		case "ofType", "as":
			s = step{stepOfType, argument}
		case "resolve":
			s = step{stepResolve, ""}
		default:
			s = step{stepMember, strings.TrimSuffix(name, "[x]")}
			if argument != "" || s.name == "" {
				return nil, false
			}
		}
		steps, rest = append(steps, s), after
	}
	return steps, true
}

// cutStep splits off the first step of a path.
func cutStep(path string) (name, argument, after string, ok bool) {
	end := strings.IndexAny(path, ".(")
	if end < 0 {
		return path, "", "", true
	}
	if path[end] == '.' {
		return path[:end], "", path[end+1:], end+1 < len(path)
	}
	closing := strings.IndexByte(path[end:], ')')
	if closing < 0 {
		return "", "", "", false
	}
	name, argument = path[:end], path[end+1:end+closing]
	after = path[end+closing+1:]
	if after != "" && after[0] != '.' {
		return "", "", "", false
	}
	return name, argument, strings.TrimPrefix(after, "."), true
}

func lastPart(url string) string {
	url, _, _ = strings.Cut(url, "|")
	return url[strings.LastIndexByte(url, '/')+1:]
}
