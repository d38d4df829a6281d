package fhirpath

import (
	"cmp"
	"slices"

	"runsheet.example/validate/doc"
)

// Blame returns the node that violates an invariant, if the form of the
// expression shows it: an item of X in X.all(Y), the first of X.Y in
// X.Y.empty(), the second of two equal values in isDistinct(), also as part of
// and, or, implies. Otherwise it returns doc.None.
func (x *Expression) Blame(env *Environment, focus doc.Node) doc.Node {
	e := begin(env, focus)
	at := e.blame(x.root, []value{e.focus})
	if e.err != nil {
		return doc.None
	}
	return at
}

func (e *evaluation) blame(t term, focus []value) doc.Node {
	switch t := t.(type) {
	case *binary:
		return e.blameSide(t, focus)
	case *call:
		switch of, isPath := t.of.(*member); {
		case t.of == nil || len(t.args) > 1:
		case t.name == "all":
			return e.blameItem(t, focus)
		case t.name == "empty" && isPath:
			return firstNode(of.eval(e, focus))
		case t.name == "isDistinct":
			return e.blameSecond(t.of, focus)
		}
	}
	return doc.None
}

// blameSide selects the side of an operator that makes it false. If both sides
// of an or qualify, it selects neither.
func (e *evaluation) blameSide(t *binary, focus []value) doc.Node {
	switch t.operator {
	case "and":
		if holds, known := e.boolean(t.left.eval(e, focus)); known && !holds {
			return e.blame(t.left, focus)
		}
		return e.blame(t.right, focus)
	case "implies":
		return e.blame(t.right, focus)
	case "or":
		left, right := e.blame(t.left, focus), e.blame(t.right, focus)
		if left == doc.None || right == doc.None {
			return max(left, right)
		}
	}
	return doc.None
}

func (e *evaluation) blameItem(t *call, focus []value) doc.Node {
	for i, v := range t.of.eval(e, focus) {
		if holds, _ := e.boolean(e.within(t.args[0], v, i)); !holds {
			return v.node
		}
	}
	return doc.None
}

func firstNode(in []value) doc.Node {
	if len(in) == 0 {
		return doc.None
	}
	return in[0].node
}

// blameSecond finds the first value of the document that equals an earlier
// one. A value computed by select() is attributed to its source item.
func (e *evaluation) blameSecond(of term, focus []value) doc.Node {
	type found struct {
		value
		at doc.Node
	}
	var all []found
	if mapped, ok := of.(*call); ok && mapped.name == "select" {
		for i, v := range mapped.of.eval(e, focus) {
			for _, w := range e.within(mapped.args[0], v, i) {
				all = append(all, found{w, cmp.Or(max(w.node, 0), v.node)})
			}
		}
	} else {
		for _, v := range of.eval(e, focus) {
			all = append(all, found{v, v.node})
		}
	}
	slices.SortStableFunc(all, func(a, b found) int { return cmp.Compare(a.at, b.at) })
	seen := set{evaluation: e}
	for _, f := range all {
		if !seen.add(f.value) {
			return f.at
		}
	}
	return doc.None
}
