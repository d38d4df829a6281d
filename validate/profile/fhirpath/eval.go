package fhirpath

import (
	"errors"
	"fmt"
	"regexp"
	"slices"

	"runsheet.example/profiles"
	"runsheet.example/validate/doc"
	"runsheet.example/validate/structure"
)

// maxSteps limits the work of one evaluation, unless the environment does: no
// sensible invariant needs as much on a Bundle of thousands of entries.
const maxSteps = 4 << 20

// Environment is the context of an evaluation.
type Environment struct {
	// Types has checked the document.
	Types *structure.Checker
	// Resource is %resource, the resource that contains the focus; Root is
	// %rootResource, the container of that one, or the same.
	Resource, Root doc.Node
	// Extension is %extension, the extension that an invariant of its use is
	// about. Only such expressions have that variable.
	Extension doc.Node
	// Resolve follows the text of a reference; it returns doc.None for a
	// target outside the document. nil resolves nothing.
	Resolve func(reference []byte) doc.Node
	// MemberOf reports whether a code, Coding or CodeableConcept is in a
	// value set, and whether the value set is known. nil knows none.
	MemberOf func(n doc.Node, valueSet string) (in, known bool)
	// ConformsTo reports whether a resource conforms to a profile, and
	// whether the profile is known. nil knows none.
	ConformsTo func(n doc.Node, profile string) (conforms, known bool)
	// Budget, if set, is the number of steps for all evaluations together,
	// instead of a limit on each; evaluations count it down.
	Budget *int
}

// Truth evaluates the expression as an invariant of the node: known is false
// for an empty result. The error explains why evaluation failed.
func (x *Expression) Truth(env *Environment, focus doc.Node) (holds, known bool, err error) {
	e := begin(env, focus)
	holds, known = e.boolean(x.root.eval(e, []value{e.focus}))
	return holds, known, e.err
}

// Selects reports whether the result of the expression, evaluated on the focus,
// contains the node, or is true if the node is the focus. The object with the
// extensions of a primitive stands for the primitive.
func (x *Expression) Selects(env *Environment, focus, n doc.Node) (bool, error) {
	e := begin(env, focus)
	selected := slices.ContainsFunc(x.root.eval(e, []value{e.focus}), func(v value) bool {
		return v.kind == kindNode && (v.node == n || v.extension == n) || v.kind == kindBoolean && v.boolean && focus == n
	})
	return selected && e.err == nil, e.err
}

func begin(env *Environment, focus doc.Node) *evaluation {
	e := &evaluation{env: env, s: env.Types, d: env.Types.Doc(), focus: e0(env, focus), left: maxSteps}
	e.this = e.focus
	return e
}

// e0 is the focus as a value: a primitive with its primitive extension,
// whichever of the two is given.
func e0(env *Environment, focus doc.Node) value {
	v := node(focus)
	d := env.Types.Doc()
	if d.Kind(focus) == doc.Object && env.Types.TypeOf(focus) != structure.Element {
		return v
	}
	holder, key, index := d.Parent(focus), d.Key(focus), -1
	if d.Kind(holder) == doc.Array {
		index, key, holder = d.Index(focus), d.Key(holder), d.Parent(holder)
	}
	if len(key) == 0 {
		return v
	}
	if key[0] == '_' {
		v.extension = focus
		if of := d.Get(holder, string(key[1:])); of != doc.None {
			if index >= 0 {
				of = d.Item(of, index)
			}
			if of != doc.None && d.Kind(of) != doc.Null {
				v.node = of
			}
		}
		return v
	}
	if extension := d.Get(holder, "_"+string(key)); extension != doc.None && d.Kind(focus) != doc.Object {
		if index >= 0 {
			extension = d.Item(extension, index)
		}
		if d.Kind(extension) == doc.Object {
			v.extension = extension
		}
	}
	return v
}

type evaluation struct {
	env   *Environment
	s     *structure.Checker
	d     *doc.Doc
	focus value // %context
	this  value
	index int
	total []value
	memo  map[*once][]value
	left  int // steps, if the environment has no budget
	err   error
}

// fail ends the evaluation and keeps the first reason.
func (e *evaluation) fail(format string, args ...any) {
	if e.err == nil {
		e.err = fmt.Errorf(format, args...)
	}
}

// ErrTooMuch ends an evaluation that takes too many steps.
var ErrTooMuch = errors.New("the evaluation takes too many steps")

// spend counts a step and reports whether to continue.
func (e *evaluation) spend() bool {
	left := &e.left
	if e.env.Budget != nil {
		left = e.env.Budget
	}
	if *left--; *left < 0 && e.err == nil {
		e.err = ErrTooMuch
	}
	return e.err == nil
}

// boolean converts a collection to a condition: empty is unknown, a single
// value that is not a boolean is true.
func (e *evaluation) boolean(in []value) (holds, known bool) {
	switch {
	case e.err != nil || len(in) == 0:
		return false, false
	case len(in) > 1:
		e.fail("a condition has %d values", len(in))
		return false, false
	}
	if v := e.atom(in[0]); v.kind == kindBoolean {
		return v.boolean, true
	}
	return true, true
}

// single returns the only value of a collection.
func (e *evaluation) single(in []value) (value, bool) {
	if len(in) > 1 {
		e.fail("one value is expected, not %d", len(in))
	}
	if len(in) != 1 || e.err != nil {
		return value{}, false
	}
	return e.atom(in[0]), true
}

// within evaluates an argument for one item.
func (e *evaluation) within(arg term, v value, index int) []value {
	this, at := e.this, e.index
	e.this, e.index = v, index
	var out []value
	if e.spend() {
		out = arg.eval(e, []value{v})
	}
	e.this, e.index = this, at
	return out
}

// term is one part of an expression. eval gives its result for a focus.
type term interface {
	eval(e *evaluation, focus []value) []value
}

type literal struct{ values []value }

func (t *literal) eval(*evaluation, []value) []value { return t.values }

type variable struct{ name string }

func (t *variable) eval(e *evaluation, _ []value) []value {
	switch t.name {
	case "index":
		return []value{count(e.index)}
	case "total":
		return e.total
	default:
		return []value{e.this}
	}
}

// environment is %name.
func environment(name string) (term, error) {
	switch name {
	case "resource", "rootResource", "context", "extension":
		return &surroundings{name}, nil
	case "ucum":
		return &literal{[]value{text(profiles.UCUM)}}, nil
	case "sct":
		return &literal{[]value{text(profiles.SNOMED)}}, nil
	case "loinc":
		return &literal{[]value{text(profiles.LOINC)}}, nil
	}
	if len(name) > 3 && name[:3] == "vs-" {
		return &literal{[]value{text("http://hl7.org/fhir/ValueSet/" + name[3:])}}, nil
	}
	if len(name) > 4 && name[:4] == "ext-" {
		return &literal{[]value{text("http://hl7.org/fhir/StructureDefinition/" + name[4:])}}, nil
	}
	return nil, fmt.Errorf("%%%s: %w", name, ErrUnsupported)
}

type surroundings struct{ name string }

func (t *surroundings) eval(e *evaluation, _ []value) []value {
	switch t.name {
	case "resource":
		return []value{node(e.env.Resource)}
	case "rootResource":
		return []value{node(e.env.Root)}
	case "extension":
		if e.s.TypeOf(e.env.Extension) != structure.Extension {
			e.fail("no %%extension: %w", ErrUnsupported)
			return nil
		}
		return []value{node(e.env.Extension)}
	default:
		return []value{e.focus}
	}
}

// member is .name; at the start of an expression the name may be the resource
// type.
type member struct {
	of   term
	name string
}

func (t *member) eval(e *evaluation, focus []value) []value {
	in := focus
	if t.of != nil {
		in = t.of.eval(e, focus)
	} else if len(focus) == 1 && t.name[0] <= 'Z' && focus[0].kind == kindNode && isA(e.s.TypeOf(focus[0].node), t.name) {
		return focus
	}
	var out []value
	for _, v := range in {
		if !e.spend() {
			return nil
		}
		out = e.children(out, v, t.name)
	}
	return out
}

type indexer struct{ of, index term }

func (t *indexer) eval(e *evaluation, focus []value) []value {
	in := t.of.eval(e, focus)
	at, ok := e.single(t.index.eval(e, focus))
	if !ok || at.kind != kindNumber || !at.number.IsInt() || !at.number.Num().IsInt64() {
		return nil
	}
	i := at.number.Num().Int64()
	if i < 0 || i >= int64(len(in)) {
		return nil
	}
	return in[i : i+1]
}

// typeTest is "is", "as" and ofType().
type typeTest struct {
	of        term
	name      string
	cast, all bool
}

func orThis(of term) term {
	if of == nil {
		return &ownFocus{}
	}
	return of
}

// ownFocus is the focus of a function at the start of an expression.
type ownFocus struct{}

func (*ownFocus) eval(_ *evaluation, focus []value) []value { return focus }

func (t *typeTest) eval(e *evaluation, focus []value) []value {
	in := t.of.eval(e, focus)
	if t.cast {
		var out []value
		for _, v := range in {
			if e.isOf(v, t.name) {
				out = append(out, v)
			}
		}
		return out
	}
	if len(in) == 0 {
		return nil
	}
	if len(in) > 1 {
		e.fail("the type of %d values is asked for", len(in))
		return nil
	}
	return truth(e.isOf(in[0], t.name))
}

// isOf tests the type of a value: the FHIR type of a node, the FHIRPath type
// of a computed value.
func (e *evaluation) isOf(v value, name string) bool {
	if v.kind == kindNode && v.node != doc.None {
		typ := e.s.TypeOf(v.node)
		if isA(typ, name) {
			return true
		}
		if !typ.IsPrimitive() {
			return false
		}
	}
	a := e.atom(v)
	switch name {
	case "Boolean", "System.Boolean":
		return a.kind == kindBoolean
	case "String", "System.String":
		return a.kind == kindString
	case "Integer", "System.Integer":
		return a.kind == kindNumber && a.number.IsInt()
	case "Decimal", "System.Decimal":
		return a.kind == kindNumber
	case "Date", "System.Date", "DateTime", "System.DateTime":
		return a.kind == kindMoment
	case "Time", "System.Time":
		return a.kind == kindTime
	case "System.Quantity", "Quantity":
		return a.kind == kindQuantity
	default:
		return false
	}
}

type call struct {
	of   term
	name string
	args []term
	run  func(c *invocation) []value
	// each reports that arguments are evaluated for each item of the input.
	each    bool
	pattern *regexp.Regexp // of a literal argument
}

// invocation is one call of a function: its input, and the focus for its
// arguments.
type invocation struct {
	*evaluation
	in      []value
	args    []term
	focus   []value
	pattern *regexp.Regexp
}

func (t *call) eval(e *evaluation, focus []value) []value {
	in := focus
	if t.of != nil {
		in = t.of.eval(e, focus)
	}
	if !e.spend() {
		return nil
	}
	return t.run(&invocation{e, in, t.args, focus, t.pattern})
}
