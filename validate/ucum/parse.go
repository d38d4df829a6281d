package ucum

import "math/big"

// Limits keep a hostile code cheap. No unit in use comes near them.
const (
	// MaxLength is the longest code accepted, in bytes.
	MaxLength = 1000
	// MaxDepth is the deepest nesting of parentheses accepted.
	MaxDepth = 32
	// MaxExponent is the largest absolute exponent accepted; 10* and 10^
	// accept up to 999.
	MaxExponent    = 99
	maxTenExponent = 999
)

// parser parses a code in one pass. It sums the dimension and, on request, the
// exact factor.
type parser struct {
	code  string
	at    int
	depth int
	dim   Dimension

	special special
	// onScale is the atom that special belongs to.
	onScale *atom
	// mixed is the offset + 1 of the first part that cannot be combined with a
	// special unit, 0 if there is none.
	mixed int

	// guessing prevents a search for suggestions from starting another.
	guessing bool
	// factor, if not nil, collects the product of all ordinary units.
	factor *factor
}

func (p *parser) fail(at int, expected string) error {
	err := &SyntaxError{Code: p.code, Offset: at, Expected: expected}
	if !p.guessing {
		err.Suggestion = suggest(p.code)
	}
	return err
}

// parse reads main-term: an optional leading solidus, then a term.
func (p *parser) parse() error {
	switch {
	case p.code == "":
		return p.fail(0, "a unit")
	case len(p.code) > MaxLength:
		return &SyntaxError{Code: p.code[:MaxLength], Offset: MaxLength, Expected: "a code of at most 1000 bytes"}
	}
	sign := 1
	if p.code[0] == '/' {
		p.at, sign = 1, -1
	}
	if err := p.term(sign, 1); err != nil {
		return err
	}
	if p.at < len(p.code) {
		return p.fail(p.at, "\".\", \"/\" or the end")
	}
	if p.special != ratio && p.mixed > 0 {
		return p.fail(p.mixed-1, "nothing but a number beside a unit on a scale of its own")
	}
	return nil
}

// term reads components joined by "." and "/", left to right. first is the
// sign of the exponents of the first component, outer that of those joined by
// a point.
func (p *parser) term(first, outer int) error {
	sign := first
	for {
		if err := p.component(sign); err != nil {
			return err
		}
		switch p.peek() {
		case '.':
			sign = outer
		case '/':
			sign = -outer
			if p.special != ratio {
				p.mix(p.at)
			}
		default:
			return nil
		}
		p.at++
	}
}

// mix records the offset of a part that cannot be combined with a special
// unit.
func (p *parser) mix(at int) {
	if p.mixed == 0 {
		p.mixed = at + 1
	}
}

func (p *parser) peek() byte {
	if p.at < len(p.code) {
		return p.code[p.at]
	}
	return 0
}

func (p *parser) component(sign int) error {
	start := p.at
	var err error
	switch c := p.peek(); {
	case c == '{':
		return p.annotation()
	case c == '(':
		err = p.group(sign)
	case isDigit(c) && !p.atTen():
		err = p.number(sign)
	default:
		err = p.simpleUnit(sign)
	}
	if err != nil {
		return err
	}
	if p.at == start {
		return p.fail(p.at, "a unit, a number or \"(\"")
	}
	if p.peek() == '{' {
		return p.annotation()
	}
	return nil
}

// group reads a term in parentheses.
func (p *parser) group(sign int) error {
	open := p.at
	if p.depth++; p.depth > MaxDepth {
		return p.fail(open, "at most 32 parentheses within each other")
	}
	p.at++
	if err := p.term(sign, sign); err != nil {
		return err
	}
	if p.peek() != ')' {
		return p.fail(p.at, "\")\"")
	}
	p.at++
	p.depth--
	return nil
}

// annotation reads text in curly braces: printable ASCII without spaces and
// braces (UCUM section 6). It does not affect the unit.
func (p *parser) annotation() error {
	for i := p.at + 1; i < len(p.code); i++ {
		switch c := p.code[i]; {
		case c == '}':
			p.at = i + 1
			return nil
		case c <= ' ' || c > '~' || c == '{':
			return p.fail(i, "a printable ASCII character other than space in the annotation")
		}
	}
	return p.fail(len(p.code), "\"}\"")
}

// number reads a factor: a positive integer without sign (UCUM section 8).
func (p *parser) number(sign int) error {
	start := p.at
	zero := true
	for ; isDigit(p.peek()); p.at++ {
		zero = zero && p.peek() == '0'
	}
	if zero {
		return p.fail(start, "a number above 0")
	}
	if p.factor != nil {
		n, _ := new(big.Int).SetString(p.code[start:p.at], 10)
		p.factor.multiply(new(big.Rat).SetInt(n), sign)
	}
	return nil
}

// atTen reports whether the atom 10* or 10^ is next.
func (p *parser) atTen() bool {
	rest := p.code[p.at:]
	return len(rest) > 2 && rest[:2] == "10" && (rest[2] == '*' || rest[2] == '^')
}

// simpleUnit reads an atom with or without prefix and exponent.
func (p *parser) simpleUnit(sign int) error {
	start := p.at
	if err := p.symbol(); err != nil || p.at == start {
		return err
	}
	end := p.at
	pre, unit := resolve(p.code[start:end])
	if unit == nil {
		return p.fail(start, "a UCUM unit symbol")
	}
	limit := MaxExponent
	if p.code[start:end] == "10*" || p.code[start:end] == "10^" {
		limit = maxTenExponent
	}
	exponent, err := p.exponent(limit)
	if err != nil {
		return err
	}
	if unit.special != ratio {
		return p.useSpecial(pre, unit, start, p.at > end || sign < 0)
	}
	return p.use(pre, unit, start, sign*exponent)
}

// symbol skips the characters of an atom with its prefix: all but operators,
// digits, braces and parentheses, and everything within square brackets.
func (p *parser) symbol() error {
	if p.atTen() {
		p.at += len("10*")
		return nil
	}
	for ; p.at < len(p.code); p.at++ {
		switch c := p.code[p.at]; {
		case c == '[':
			open := p.at
			for p.at++; p.peek() != ']'; p.at++ {
				if p.at >= len(p.code) {
					return p.fail(open, "a closing \"]\"")
				}
			}
		case isDigit(c), c == '.', c == '/', c == '+', c == '-',
			c == '(', c == ')', c == '{', c == '}', c <= ' ':
			return nil
		}
	}
	return nil
}

// exponent reads an optional integer exponent; 1 if there is none.
func (p *parser) exponent(limit int) (int, error) {
	start, sign := p.at, 1
	if c := p.peek(); c == '+' || c == '-' {
		if c == '-' {
			sign = -1
		}
		p.at++
		if !isDigit(p.peek()) {
			return 0, p.fail(p.at, "a digit of the exponent")
		}
	}
	if !isDigit(p.peek()) {
		return 1, nil
	}
	n := 0
	for ; isDigit(p.peek()); p.at++ {
		if n = n*10 + int(p.peek()-'0'); n > limit {
			return 0, p.fail(start, "a smaller exponent")
		}
	}
	return sign * n, nil
}

// use adds an ordinary unit to the dimension and the factor.
func (p *parser) use(pre *prefix, unit *atom, at, exponent int) error {
	for i, e := range unit.dim {
		if e == 0 {
			continue
		}
		p.mix(at)
		if !p.dim.add(i, int(e)*exponent) {
			return p.fail(at, "a smaller exponent")
		}
	}
	if unit.arbitrary > 0 {
		p.mix(at)
		if !p.dim.add(baseUnits+int(unit.arbitrary)-1, exponent) {
			return p.fail(at, "a smaller exponent")
		}
	}
	if p.factor != nil {
		p.factor.multiplyUnit(pre, unit, exponent)
	}
	return nil
}

// useSpecial records a special unit. It cannot be raised to a power, be a
// divisor, or be combined with another unit (UCUM section 22).
func (p *parser) useSpecial(pre *prefix, unit *atom, at int, inAlgebra bool) error {
	if inAlgebra || p.special != ratio {
		p.mix(at)
	}
	p.special, p.onScale = unit.special, unit
	for i, e := range unit.dim {
		p.dim.add(i, int(e))
	}
	if p.factor != nil && pre != nil {
		p.factor.multiply(pre.rat(), 1)
	}
	return nil
}

// add adds to one exponent and reports whether the sum is in range.
func (d *Dimension) add(i, exponent int) bool {
	sum := int(d[i]) + exponent
	if sum < -MaxExponent || sum > MaxExponent {
		return false
	}
	d[i] = int8(sum)
	return true
}

func isDigit(c byte) bool { return '0' <= c && c <= '9' }
