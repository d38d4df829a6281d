package fhirpath

import (
	"errors"
	"fmt"
	"math/big"
	"strconv"
)

// ErrUnsupported marks an expression with a feature that this package does not
// support.
var ErrUnsupported = errors.New("not supported")

// maxDepth limits the nesting of an expression.
const maxDepth = 100

// Expression is a compiled FHIRPath expression. It is safe for concurrent use.
type Expression struct {
	root term
	text string
}

// String returns the expression as it was written.
func (e *Expression) String() string { return e.text }

// Compile parses an expression (FHIRPath N1 with the additions of FHIR R4). It
// returns an error that wraps ErrUnsupported for unknown functions, and other
// errors for a text that is not FHIRPath.
func Compile(text string) (*Expression, error) {
	tokens, err := lex(text)
	if err != nil {
		return nil, err
	}
	p := parser{tokens: tokens}
	root, err := p.expression(0)
	if err != nil {
		return nil, err
	}
	if t := p.peek(); t.kind != tokenEnd {
		return nil, fmt.Errorf("unexpected %q at %d", t.text, t.at)
	}
	return &Expression{root, text}, nil
}

type parser struct {
	tokens []token
	at     int
	depth  int
}

func (p *parser) peek() token { return p.tokens[p.at] }

func (p *parser) next() token {
	t := p.tokens[p.at]
	if t.kind != tokenEnd {
		p.at++
	}
	return t
}

func (p *parser) isSymbol(text string) bool {
	t := p.peek()
	return t.kind == tokenSymbol && t.text == text
}

func (p *parser) accept(symbol string) bool {
	if !p.isSymbol(symbol) {
		return false
	}
	p.at++
	return true
}

func (p *parser) expect(symbol string) error {
	if !p.accept(symbol) {
		t := p.peek()
		return fmt.Errorf("expected %q at %d, not %q", symbol, t.at, t.text)
	}
	return nil
}

// strength is the precedence of an operator, 0 for other tokens.
func strength(t token) int {
	if t.kind != tokenSymbol && t.kind != tokenName {
		return 0
	}
	switch t.text {
	case "implies":
		return 1
	case "or", "xor":
		return 2
	case "and":
		return 3
	case "in", "contains":
		return 4
	case "=", "!=", "~", "!~":
		return 5
	case "<", ">", "<=", ">=":
		return 6
	case "|":
		return 7
	case "is", "as":
		return 8
	case "+", "-", "&":
		return 9
	case "*", "/", "div", "mod":
		return 10
	default:
		return 0
	}
}

// expression reads operators with a higher precedence than the given one.
func (p *parser) expression(above int) (term, error) {
	p.depth++
	defer func() { p.depth-- }()
	if p.depth > maxDepth {
		return nil, fmt.Errorf("the expression is nested too deeply")
	}
	left, err := p.unary()
	for err == nil {
		s := strength(p.peek())
		if s == 0 || s <= above {
			break
		}
		operator := p.next().text
		if operator == "is" || operator == "as" {
			var name string
			if name, err = p.typeName(); err == nil {
				left = &typeTest{of: left, name: name, cast: operator == "as"}
			}
			continue
		}
		var right term
		if right, err = p.expression(s); err == nil {
			left = &binary{operator, left, right}
		}
	}
	return left, err
}

func (p *parser) unary() (term, error) {
	switch {
	case p.accept("-"):
		of, err := p.invocations()
		return &binary{"-", &literal{[]value{number(new(big.Rat))}}, of}, err
	case p.accept("+"):
		return p.invocations()
	default:
		return p.invocations()
	}
}

// invocations reads a term and its invocations. A term that does not depend on
// the current item is evaluated once.
func (p *parser) invocations() (term, error) {
	t, err := p.chain()
	if err == nil && isFromResource(t) {
		return &once{t}, nil
	}
	return t, err
}

// chain reads a term and the following .name, .function(), [i].
func (p *parser) chain() (term, error) {
	t, err := p.primary()
	for err == nil {
		switch {
		case p.accept("."):
			t, err = p.invocation(t)
		case p.accept("["):
			var index term
			if index, err = p.expression(0); err == nil {
				t, err = &indexer{t, index}, p.expect("]")
			}
		default:
			return t, nil
		}
	}
	return t, err
}

// invocation reads a member, function or variable of the term.
func (p *parser) invocation(of term) (term, error) {
	switch t := p.next(); t.kind {
	case tokenName, tokenQuoted:
		if t.kind == tokenName && p.accept("(") {
			return p.function(of, t)
		}
		return &member{of: of, name: t.text}, nil
	case tokenVariable:
		return &variable{t.text}, knownVariable(t)
	default:
		return nil, fmt.Errorf("expected a name at %d, not %q", t.at, t.text)
	}
}

func knownVariable(t token) error {
	switch t.text {
	case "this", "index", "total":
		return nil
	}
	return fmt.Errorf("$%s at %d: %w", t.text, t.at, ErrUnsupported)
}

func (p *parser) primary() (term, error) {
	t := p.peek()
	switch t.kind {
	case tokenString:
		p.at++
		return &literal{[]value{text(t.text)}}, nil
	case tokenNumber:
		return p.quantity()
	case tokenTime:
		p.at++
		return momentLiteral(t)
	case tokenSymbol:
		return p.bracketed()
	case tokenName:
		if t.text == "true" || t.text == "false" {
			p.at++
			return &literal{truth(t.text == "true")}, nil
		}
	}
	return p.invocation(nil)
}

func (p *parser) bracketed() (term, error) {
	switch {
	case p.accept("("):
		inner, err := p.expression(0)
		if err != nil {
			return nil, err
		}
		return inner, p.expect(")")
	case p.accept("{"):
		return &literal{}, p.expect("}")
	case p.accept("%"):
		t := p.next()
		if t.kind != tokenName && t.kind != tokenQuoted && t.kind != tokenString {
			return nil, fmt.Errorf("expected a name at %d", t.at)
		}
		return environment(t.text)
	default:
		t := p.peek()
		return nil, fmt.Errorf("unexpected %q at %d", t.text, t.at)
	}
}

// quantity reads a number and its unit, if any.
func (p *parser) quantity() (term, error) {
	t := p.next()
	n, ok := new(big.Rat).SetString(t.text)
	if !ok {
		return nil, fmt.Errorf("%q at %d is no number", t.text, t.at)
	}
	v := number(n)
	switch unit := p.peek(); {
	case unit.kind == tokenString:
		p.at++
		v.kind, v.text = kindQuantity, unit.text
	case unit.kind == tokenName && calendarUnit(unit.text) != "":
		p.at++
		v.kind, v.text = kindQuantity, calendarUnit(unit.text)
	}
	return &literal{[]value{v}}, nil
}

// typeName reads Quantity, FHIR.Quantity or System.String.
func (p *parser) typeName() (string, error) {
	t := p.next()
	if t.kind != tokenName && t.kind != tokenQuoted {
		return "", fmt.Errorf("expected the name of a type at %d", t.at)
	}
	name := t.text
	if (name == "FHIR" || name == "System") && p.accept(".") {
		second := p.next()
		if second.kind != tokenName && second.kind != tokenQuoted {
			return "", fmt.Errorf("expected the name of a type at %d", second.at)
		}
		if name == "System" {
			return "System." + second.text, nil
		}
		return second.text, nil
	}
	return name, nil
}

// function reads the arguments of a function after its opening bracket.
func (p *parser) function(of term, name token) (term, error) {
	f, known := functions(name.text)
	if !known {
		return nil, fmt.Errorf("%s() at %d: %w", name.text, name.at, ErrUnsupported)
	}
	c := &call{of: of, name: name.text, run: f.run, each: f.each}
	if f.takesType {
		typ, err := p.typeName()
		if err != nil {
			return nil, err
		}
		return &typeTest{of: orThis(of), name: typ, cast: name.text != "is", all: name.text == "ofType"}, p.expect(")")
	}
	for !p.isSymbol(")") {
		arg, err := p.expression(0)
		if err != nil {
			return nil, err
		}
		c.args = append(c.args, arg)
		if !p.accept(",") {
			break
		}
	}
	if len(c.args) < f.least || len(c.args) > f.most {
		return nil, fmt.Errorf("%s() at %d has %s arguments", name.text, name.at, strconv.Itoa(len(c.args)))
	}
	return c.simplified(), p.expect(")")
}
