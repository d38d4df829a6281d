package fhirpath

import (
	"math/big"

	"runsheet.example/profiles"
	"runsheet.example/validate/doc"
	"runsheet.example/validate/structure"
)

type kind uint8

const (
	kindNode kind = iota // of the document
	kindBoolean
	kindNumber
	kindString
	kindMoment // date, dateTime or instant
	kindTime   // of the day
	kindQuantity
)

// value is one item of a collection: a node of the document, or a computed
// value. A primitive node is parsed on demand.
type value struct {
	kind kind
	// node is the value, extension its primitive extension (_name); a primitive
	// with only an extension has it in both.
	node, extension doc.Node
	text            string
	number          *big.Rat
	boolean         bool
	loose           bool // a quantity whose unit is not a UCUM code
}

func text(s string) value {
	return value{kind: kindString, node: doc.None, extension: doc.None, text: s}
}

// The two results of a condition, shared by all evaluations.
var (
	isTrue  = []value{{kind: kindBoolean, node: doc.None, extension: doc.None, boolean: true}}
	isFalse = []value{{kind: kindBoolean, node: doc.None, extension: doc.None}}
)

func truth(b bool) []value {
	if b {
		return isTrue
	}
	return isFalse
}

func number(n *big.Rat) value {
	return value{kind: kindNumber, node: doc.None, extension: doc.None, number: n}
}
func count(n int) value { return number(new(big.Rat).SetInt64(int64(n))) }
func node(n doc.Node) value {
	return value{kind: kindNode, node: n, extension: doc.None}
}

// bare reports a primitive with extensions only.
func (v value) bare() bool { return v.kind == kindNode && v.node == v.extension }

// children appends the items of one element of a value, or of all elements for
// "".
func (e *evaluation) children(out []value, v value, name string) []value {
	if v.kind != kindNode || v.node == doc.None {
		return out
	}
	holder := v.node
	if e.d.Kind(holder) != doc.Object {
		holder = v.extension
	}
	if holder == doc.None {
		return out
	}
	if name != "" {
		m := e.s.Child(holder, name)
		return e.items(out, holder, m)
	}
	for m := e.d.FirstChild(holder); m != doc.None; m = e.d.Next(m) {
		key := e.d.Key(m)
		if key[0] == '_' && e.d.Get(holder, string(key[1:])) != doc.None || string(key) == "resourceType" {
			continue
		}
		out = e.items(out, holder, m)
	}
	return out
}

// items appends the items of a member, each with its primitive extension.
func (e *evaluation) items(out []value, holder, m doc.Node) []value {
	if m == doc.None {
		return out
	}
	key := string(e.d.Key(m))
	extension := doc.None
	if key[0] == '_' {
		extension = m
	} else if t := e.s.TypeOf(e.firstOf(m)); t == 0 || t.IsPrimitive() {
		extension = e.d.Get(holder, "_"+key)
	}
	if e.d.Kind(m) != doc.Array {
		return e.item(out, m, extension)
	}
	index := 0
	for i := e.d.FirstChild(m); i != doc.None; i = e.d.Next(i) {
		if !e.spend() {
			return out
		}
		beside := doc.None
		if extension != doc.None {
			beside = e.d.Item(extension, index)
		}
		out = e.item(out, i, beside)
		index++
	}
	return out
}

func (e *evaluation) firstOf(m doc.Node) doc.Node {
	if e.d.Kind(m) == doc.Array {
		return e.d.FirstChild(m)
	}
	return m
}

func (e *evaluation) item(out []value, n, extension doc.Node) []value {
	if extension != doc.None && e.d.Kind(extension) != doc.Object {
		extension = doc.None
	}
	if e.d.Kind(n) == doc.Null {
		if extension == doc.None {
			return out
		}
		n = extension
	}
	return append(out, value{kind: kindNode, node: n, extension: extension})
}

// atom converts a primitive node to a FHIRPath value. Other nodes stay
// unchanged.
func (e *evaluation) atom(v value) value {
	if v.kind != kindNode || v.node == doc.None {
		return v
	}
	out := value{node: v.node, extension: v.extension}
	switch e.d.Kind(v.node) {
	case doc.Bool:
		out.kind, out.boolean = kindBoolean, string(e.d.Raw(v.node)) == "true"
	case doc.Number:
		n, ok := e.rat(v.node)
		if !ok {
			return v
		}
		out.kind, out.number = kindNumber, n
	case doc.String:
		out.kind, out.text = kindString, string(e.d.Str(v.node))
		switch e.s.TypeOf(v.node) {
		case structure.Date, structure.DateTime, structure.Instant:
			out.kind = kindMoment
		case structure.Time:
			out.kind = kindTime
		}
	case doc.Object:
		if q, ok := e.quantity(v.node); ok {
			q.node, q.extension = out.node, out.extension
			return q
		}
		return v
	default:
		return v
	}
	return out
}

// maxDigits limits the size of parsed numbers, exponents included.
const maxDigits = 60

func (e *evaluation) rat(n doc.Node) (*big.Rat, bool) {
	raw := e.d.Raw(n)
	exponent := false
	for _, c := range raw {
		exponent = exponent || c == 'e' || c == 'E'
	}
	if len(raw) > maxDigits || exponent && len(raw) > 20 {
		return nil, false
	}
	f := new(big.Rat)
	if exponent {
		// A short number may still denote a huge power of ten.
		mantissa, _, err := big.ParseFloat(string(raw), 10, 128, big.ToNearestEven)
		if err != nil || mantissa.MantExp(nil) > 400 || mantissa.MantExp(nil) < -400 {
			return nil, false
		}
	}
	return f.SetString(string(raw))
}

// quantity converts a Quantity to a number and UCUM code.
func (e *evaluation) quantity(n doc.Node) (value, bool) {
	if !isA(e.s.TypeOf(n), "Quantity") {
		return value{}, false
	}
	amount := e.d.Get(n, "value")
	if e.d.Kind(amount) != doc.Number {
		return value{}, false
	}
	number, ok := e.rat(amount)
	if !ok {
		return value{}, false
	}
	unit := e.d.Str(e.d.Get(n, "code"))
	if unit == nil {
		unit = e.d.Str(e.d.Get(n, "unit"))
	}
	return value{kind: kindQuantity, number: number, text: string(unit), loose: !e.d.Is(e.d.Get(n, "system"), profiles.UCUM)}, true
}

// isA reports whether a type of the document is the named type or derived from
// it (FHIR R4 4.0.1, data types).
func isA(t structure.Type, name string) bool {
	if t == 0 {
		return false
	}
	own := t.String()
	if own == name {
		return true
	}
	switch name {
	case "Resource":
		return t.IsResource()
	case "DomainResource":
		return t.IsDomainResource()
	case "Element":
		return !t.IsResource()
	case "BackboneElement":
		return !t.IsResource() && !t.IsPrimitive() && containsDot(own)
	case "Quantity":
		return own == "Age" || own == "Count" || own == "Distance" || own == "Duration" ||
			own == "SimpleQuantity"
	case "string":
		return own == "code" || own == "id" || own == "markdown"
	case "uri":
		return own == "url" || own == "canonical" || own == "uuid" || own == "oid"
	case "integer":
		return own == "positiveInt" || own == "unsignedInt"
	default:
		return false
	}
}

func containsDot(s string) bool {
	for i := range s {
		if s[i] == '.' {
			return true
		}
	}
	return false
}
