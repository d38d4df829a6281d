package fhirpath

import (
	"bytes"
	"strings"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/structure"
	"runsheet.example/validate/ucum"
)

// equal compares two values; known is false if FHIRPath does not decide, as
// for dates of different precision.
func (e *evaluation) equal(x, y value) (same, known bool) {
	if !e.spend() {
		return false, false
	}
	if same, settled := e.equalTexts(x, y); settled {
		return same, true
	}
	a, b := e.atom(x), e.atom(y)
	if a.kind == kindNode || b.kind == kindNode {
		if a.kind == kindNode && b.kind == kindNode {
			return e.deepEqual(a.node, b.node), true
		}
		return false, true
	}
	if a.kind != b.kind {
		return e.equalKinds(a, b)
	}
	switch a.kind {
	case kindBoolean:
		return a.boolean == b.boolean, true
	case kindNumber:
		return a.number.Cmp(b.number) == 0, true
	case kindQuantity:
		if x.kind == kindNode && y.kind == kindNode {
			return e.deepEqual(x.node, y.node), true
		}
		order, known := compareQuantities(a, b)
		return order == 0, known
	case kindMoment, kindTime:
		order, known := e.order(a, b)
		return order == 0, known
	default:
		return a.text == b.text, true
	}
}

// equalTexts handles the most common comparison, that of two texts, without
// building values.
func (e *evaluation) equalTexts(x, y value) (same, settled bool) {
	if x.kind == kindNode {
		x, y = y, x
	}
	switch {
	case y.kind != kindNode || y.node < 0 || e.d.Kind(y.node) != doc.String || e.isMoment(y):
		return false, false
	case x.kind == kindString:
		return x.text == string(e.d.Str(y.node)), true
	case x.kind != kindNode || x.node < 0 || e.d.Kind(x.node) != doc.String || e.isMoment(x):
		return false, false
	default:
		return bytes.Equal(e.d.Str(x.node), e.d.Str(y.node)), true
	}
}

func (e *evaluation) isMoment(v value) bool {
	switch e.s.TypeOf(v.node) {
	case structure.Date, structure.DateTime, structure.Instant, structure.Time:
		return true
	default:
		return false
	}
}

// equalKinds compares values of different kinds: a literal date with the text
// of one, a number with a quantity without unit.
func (e *evaluation) equalKinds(a, b value) (same, known bool) {
	if isText(a) && isText(b) {
		return a.text == b.text, true
	}
	if a.number != nil && b.number != nil && (a.text == "" || a.text == "1") && (b.text == "" || b.text == "1") {
		return a.number.Cmp(b.number) == 0, true
	}
	return false, true
}

func isText(v value) bool { return v.kind == kindString || v.kind == kindMoment || v.kind == kindTime }

// compareQuantities compares amounts of one unit, or of UCUM units that can be
// converted.
func compareQuantities(a, b value) (order int, known bool) {
	if a.text == b.text || calendarUnit(a.text) != "" && calendarUnit(a.text) == calendarUnit(b.text) {
		return a.number.Cmp(b.number), true
	}
	if a.loose || b.loose {
		return 0, false
	}
	converted, err := ucum.ConvertExact(a.number, a.text, b.text)
	if err != nil {
		return 0, false
	}
	return converted.Cmp(b.number), true
}

// order compares two values that have an order.
func (e *evaluation) order(x, y value) (order int, known bool) {
	a, b := e.atom(x), e.atom(y)
	if a.kind == kindString && b.kind != kindString && isText(b) {
		a.kind = b.kind
	}
	if b.kind == kindString && a.kind != kindString && isText(a) {
		b.kind = a.kind
	}
	switch {
	case a.kind == kindNumber && b.kind == kindNumber:
		return a.number.Cmp(b.number), true
	case a.number != nil && b.number != nil:
		return compareQuantities(a, b)
	case a.kind != b.kind:
		e.fail("values of different kinds have no order")
		return 0, false
	case a.kind == kindString:
		return strings.Compare(a.text, b.text), true
	case a.kind == kindMoment || a.kind == kindTime:
		m, ok := parseMoment(a.text, a.kind == kindTime)
		n, okToo := parseMoment(b.text, b.kind == kindTime)
		if !ok || !okToo {
			return 0, false
		}
		return compareMoments(m, n)
	default:
		e.fail("the values have no order")
		return 0, false
	}
}

// deepEqual compares two nodes member by member, in any order of members.
func (e *evaluation) deepEqual(a, b doc.Node) bool {
	d := e.d
	if a == b {
		return true
	}
	if a == doc.None || b == doc.None || !e.spend() || d.Kind(a) != d.Kind(b) {
		return false
	}
	switch d.Kind(a) {
	case doc.Object:
		if d.Count(a) != d.Count(b) {
			return false
		}
		for m := d.FirstChild(a); m != doc.None; m = d.Next(m) {
			if !e.deepEqual(m, d.Get(b, string(d.Key(m)))) {
				return false
			}
		}
		return true
	case doc.Array:
		if d.Count(a) != d.Count(b) {
			return false
		}
		other := d.FirstChild(b)
		for i := d.FirstChild(a); i != doc.None; i, other = d.Next(i), d.Next(other) {
			if !e.deepEqual(i, other) {
				return false
			}
		}
		return true
	case doc.String:
		return bytes.Equal(d.Str(a), d.Str(b))
	default:
		return bytes.Equal(d.Raw(a), d.Raw(b))
	}
}

// equivalent is ~ for single values: it ignores case and space of texts, and
// compares numbers by value.
func (e *evaluation) equivalent(x, y value) bool {
	a, b := e.atom(x), e.atom(y)
	if a.kind == kindString && b.kind == kindString {
		return strings.EqualFold(strings.Join(strings.Fields(a.text), " "), strings.Join(strings.Fields(b.text), " "))
	}
	same, known := e.equal(x, y)
	return same && known
}

// holds reports whether a collection has a value.
func (e *evaluation) holds(in []value, v value) bool {
	for _, other := range in {
		if same, known := e.equal(other, v); same && known {
			return true
		}
	}
	return false
}

func (e *evaluation) distinct(in []value) []value {
	seen := set{evaluation: e}
	var out []value
	for _, v := range in {
		if seen.add(v) {
			out = append(out, v)
		}
	}
	return out
}

// set holds distinct values. It indexes many texts, so that finding duplicates
// takes time linear in their number.
type set struct {
	*evaluation
	listed  []value
	indexed map[string]struct{}
}

// setOf returns the set of some values.
func (e *evaluation) setOf(in []value) *set {
	s := &set{evaluation: e}
	for _, v := range in {
		s.add(v)
	}
	return s
}

// add reports whether the value is new.
func (s *set) add(v value) bool {
	const few = 16
	switch text, isText := s.plainText(v); {
	case s.has(v):
		return false
	case isText && len(s.listed) >= few:
		if s.indexed == nil {
			s.indexed = map[string]struct{}{}
		}
		s.indexed[string(text)] = struct{}{}
	default:
		s.listed = append(s.listed, v)
	}
	return true
}

func (s *set) has(v value) bool {
	if s.holds(s.listed, v) {
		return true
	}
	if s.indexed == nil || !s.spend() {
		return false
	}
	a := s.atom(v)
	_, has := s.indexed[a.text]
	return has && isText(a)
}

// plainText returns the text of a value that is not a date or time.
func (e *evaluation) plainText(v value) (string, bool) {
	a := e.atom(v)
	return a.text, a.kind == kindString
}
