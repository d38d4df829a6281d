package fhirpath

import (
	"regexp"

	"runsheet.example/validate/doc"
)

// once is a term that starts at %resource or %context and does not depend on
// the current item: within one evaluation it has one value. Without this
// cache, an invariant with a look-up for each entry of a Bundle takes
// quadratic time.
type once struct{ of term }

func (t *once) eval(e *evaluation, focus []value) []value {
	if out, done := e.memo[t]; done {
		return out
	}
	out := t.of.eval(e, focus)
	for i, v := range out {
		if v.kind == kindNode && v.extension < 0 {
			if a := e.atom(v); a.kind == kindString {
				out[i] = a // its text is computed once as well
			}
		}
	}
	if e.memo == nil {
		e.memo = map[*once][]value{}
	}
	e.memo[t] = out
	return out
}

// isFromResource reports a term that starts at %resource, %rootResource or
// %context and whose arguments depend on nothing else.
func isFromResource(t term) bool {
	switch t := t.(type) {
	case *member:
		return t.of != nil && (isSurroundings(t.of) || isFromResource(t.of))
	case *indexer:
		return isFromResource(t.of) && isFixed(t.index)
	case *typeTest:
		return isFromResource(t.of)
	case *call:
		if t.of == nil || !isFromResource(t.of) || t.name == "aggregate" {
			return false
		}
		for _, arg := range t.args {
			if !t.each && !isFixed(arg) {
				return false
			}
		}
		return true
	default:
		return false
	}
}

func isSurroundings(t term) bool {
	_, ok := t.(*surroundings)
	return ok
}

func isFixed(t term) bool {
	if _, ok := t.(*literal); ok {
		return true
	}
	_, ok := t.(*once)
	return ok
}

// simplified compiles a regular expression literal, and converts a test for
// existence to a presence.
func (t *call) simplified() term {
	switch t.name {
	case "matches", "matchesFull":
	case "exists", "empty":
		if m, ok := t.of.(*member); ok && m.of == nil && m.name[0] > 'Z' && len(t.args) == 0 {
			return &presence{t, m.name}
		}
		return t
	default:
		return t
	}
	if l, ok := t.args[0].(*literal); ok && len(l.values) == 1 && l.values[0].kind == kindString {
		t.pattern, _ = compilePattern(l.values[0].text, t.name == "matchesFull")
	}
	return t
}

// presence is name.exists() or name.empty(), the most common terms of
// invariants: it needs no collection.
type presence struct {
	*call
	name string
}

func (t *presence) eval(e *evaluation, focus []value) []value {
	if len(focus) == 1 && focus[0].kind == kindNode && e.d.Kind(focus[0].node) == doc.Object && e.spend() {
		if m := e.firstOf(e.s.Child(focus[0].node, t.name)); m == doc.None || e.d.Kind(m) != doc.Null {
			return truth((m != doc.None) == (t.call.name == "exists"))
		}
	}
	return t.call.eval(e, focus)
}

// compilePattern compiles a regular expression with FHIRPath semantics: a dot
// also matches line ends.
func compilePattern(pattern string, full bool) (*regexp.Regexp, error) {
	if full {
		pattern = "^(?:" + pattern + ")$"
	}
	return regexp.Compile("(?s)" + pattern)
}
