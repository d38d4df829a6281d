package fhirpath

import (
	"bytes"
	"math/big"
)

type binary struct {
	operator    string
	left, right term
}

func (t *binary) eval(e *evaluation, focus []value) []value {
	left := t.left.eval(e, focus)
	if out, settled := t.short(e, left); settled {
		return out
	}
	right := t.right.eval(e, focus)
	if e.err != nil {
		return nil
	}
	switch t.operator {
	case "and", "or", "xor", "implies":
		return e.logic(t.operator, left, right)
	case "=", "!=":
		return e.equality(left, right, t.operator == "!=")
	case "~", "!~":
		return truth(e.equivalence(left, right) == (t.operator == "~"))
	case "<", ">", "<=", ">=":
		return e.inequality(t.operator, left, right)
	case "|":
		return e.distinct(append(append([]value(nil), left...), right...))
	case "in":
		return e.membership(left, right)
	case "contains":
		return e.membership(right, left)
	case "&":
		return e.concatenation(left, right)
	default:
		return e.arithmetic(t.operator, left, right)
	}
}

// short decides a condition by its left side alone if possible.
func (t *binary) short(e *evaluation, left []value) (out []value, settled bool) {
	switch t.operator {
	case "and", "or", "implies":
	default:
		return nil, false
	}
	holds, known := e.boolean(left)
	if !known {
		return nil, false
	}
	switch {
	case t.operator == "and" && !holds:
		return truth(false), true
	case t.operator == "or" && holds, t.operator == "implies" && !holds:
		return truth(true), true
	default:
		return nil, false
	}
}

// logic is three-valued logic (FHIRPath N1, Boolean logic).
func (e *evaluation) logic(operator string, left, right []value) []value {
	a, aKnown := e.boolean(left)
	b, bKnown := e.boolean(right)
	switch operator {
	case "and":
		if aKnown && !a || bKnown && !b {
			return truth(false)
		}
		return known(aKnown && bKnown, true)
	case "or":
		if aKnown && a || bKnown && b {
			return truth(true)
		}
		return known(aKnown && bKnown, false)
	case "xor":
		return known(aKnown && bKnown, a != b)
	default: // implies
		switch {
		case aKnown && !a, bKnown && b:
			return truth(true)
		default:
			return known(aKnown && bKnown, b)
		}
	}
}

func known(is, result bool) []value {
	if !is {
		return nil
	}
	return truth(result)
}

func (e *evaluation) equality(left, right []value, negate bool) []value {
	if len(left) == 0 || len(right) == 0 {
		return nil
	}
	if len(left) != len(right) {
		return truth(negate)
	}
	all := true
	for i := range left {
		same, sure := e.equal(left[i], right[i])
		if !sure {
			return nil
		}
		all = all && same
	}
	return truth(all != negate)
}

func (e *evaluation) equivalence(left, right []value) bool {
	if len(left) != len(right) {
		return false
	}
	rest := append([]value(nil), right...)
	for _, v := range left {
		at := -1
		for i := range rest {
			if e.equivalent(v, rest[i]) {
				at = i
				break
			}
		}
		if at < 0 {
			return false
		}
		rest = append(rest[:at], rest[at+1:]...)
	}
	return true
}

func (e *evaluation) inequality(operator string, left, right []value) []value {
	a, ok := e.single(left)
	b, okToo := e.single(right)
	if !ok || !okToo {
		return nil
	}
	order, sure := e.order(a, b)
	switch operator {
	case "<":
		return known(sure, order < 0)
	case ">":
		return known(sure, order > 0)
	case "<=":
		return known(sure, order <= 0)
	default:
		return known(sure, order >= 0)
	}
}

func (e *evaluation) membership(item, of []value) []value {
	if len(item) == 0 {
		return nil
	}
	if _, ok := e.single(item); !ok {
		return nil
	}
	return truth(e.holds(of, item[0]))
}

// concatenation treats an empty operand as empty text.
func (e *evaluation) concatenation(left, right []value) []value {
	a, _ := e.single(left)
	b, _ := e.single(right)
	return []value{text(e.written(a) + e.written(b))}
}

// written is a value as text.
func (e *evaluation) written(v value) string {
	switch v.kind {
	case kindBoolean:
		if v.boolean {
			return "true"
		}
		return "false"
	case kindNumber:
		if raw := e.d.Raw(v.node); len(raw) > 0 && !bytes.ContainsAny(raw, "eE") {
			return string(raw) // with the written decimals
		}
		return decimal(v.number)
	case kindQuantity:
		return decimal(v.number) + " '" + v.text + "'"
	default:
		return v.text
	}
}

// decimal formats a number exactly if its decimal expansion is finite,
// otherwise to 8 places (FHIRPath N1, Decimal).
func decimal(n *big.Rat) string {
	if n.IsInt() {
		return n.Num().String()
	}
	places, exact := n.FloatPrec()
	if !exact {
		places = 8
	}
	return n.FloatString(places)
}

func (e *evaluation) arithmetic(operator string, left, right []value) []value {
	a, ok := e.single(left)
	b, okToo := e.single(right)
	switch {
	case !ok || !okToo:
		return nil
	case (a.kind == kindMoment || a.kind == kindTime) && b.kind == kindQuantity && (operator == "+" || operator == "-"):
		return e.shifted(a, b, operator)
	case operator == "+" && a.kind == kindString && b.kind == kindString:
		return []value{text(a.text + b.text)}
	case a.kind == kindNumber && b.kind == kindNumber:
		return e.calculation(operator, a.number, b.number)
	case a.kind == kindNumber && a.number.Sign() == 0 && operator == "-" && b.kind == kindQuantity:
		b.number = new(big.Rat).Neg(b.number) // the sign before a quantity
		return []value{b}
	case a.kind == kindQuantity && b.kind == kindQuantity && a.text == b.text && (operator == "+" || operator == "-"):
		out := e.calculation(operator, a.number, b.number)
		out[0].kind, out[0].text = kindQuantity, a.text
		return out
	default:
		e.fail("%s of these values: %w", operator, ErrUnsupported)
		return nil
	}
}

func (e *evaluation) shifted(a, b value, operator string) []value {
	amount := b.number
	if operator == "-" {
		amount = new(big.Rat).Neg(amount)
	}
	m, ok := parseMoment(a.text, a.kind == kindTime)
	if !ok {
		return nil
	}
	if m, ok = m.plus(amount, b.text); !ok {
		return nil
	}
	out := text(m.String())
	out.kind = a.kind
	return []value{out}
}

// maxBits limits the size of numbers that multiplication produces.
const maxBits = 4096

func (e *evaluation) calculation(operator string, a, b *big.Rat) []value {
	out := new(big.Rat)
	switch operator {
	case "+":
		out.Add(a, b)
	case "-":
		out.Sub(a, b)
	case "*":
		out.Mul(a, b)
	default:
		if b.Sign() == 0 {
			return nil
		}
		out.Quo(a, b)
		if operator != "/" {
			whole := new(big.Rat).SetInt(new(big.Int).Quo(out.Num(), out.Denom()))
			if operator == "mod" {
				whole.Sub(a, whole.Mul(whole, b))
			}
			out = whole
		}
	}
	if out.Num().BitLen() > maxBits || out.Denom().BitLen() > maxBits {
		e.fail("a number grows too long")
		return nil
	}
	return []value{number(out)}
}
