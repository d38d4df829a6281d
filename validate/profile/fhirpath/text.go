package fhirpath

import (
	"math/big"
	"regexp"
	"strings"
	"unicode/utf8"
)

var textFunctions = map[string]function{
	"startsWith":     {1, 1, false, false, func(c *invocation) []value { return c.test(strings.HasPrefix) }},
	"endsWith":       {1, 1, false, false, func(c *invocation) []value { return c.test(strings.HasSuffix) }},
	"contains":       {1, 1, false, false, func(c *invocation) []value { return c.test(strings.Contains) }},
	"matches":        {1, 1, false, false, func(c *invocation) []value { return c.matching(false) }},
	"matchesFull":    {1, 1, false, false, func(c *invocation) []value { return c.matching(true) }},
	"length":         {0, 0, false, false, (*invocation).length},
	"toString":       {0, 0, false, false, func(c *invocation) []value { return c.changed(func(s string) string { return s }) }},
	"lower":          {0, 0, false, false, func(c *invocation) []value { return c.changed(strings.ToLower) }},
	"upper":          {0, 0, false, false, func(c *invocation) []value { return c.changed(strings.ToUpper) }},
	"trim":           {0, 0, false, false, func(c *invocation) []value { return c.changed(strings.TrimSpace) }},
	"replace":        {2, 2, false, false, (*invocation).replaced},
	"replaceMatches": {2, 2, false, false, (*invocation).replacedMatches},
	"substring":      {1, 2, false, false, (*invocation).substring},
	"indexOf":        {1, 1, false, false, (*invocation).indexOf},
	"split":          {1, 1, false, false, (*invocation).split},
	"join":           {0, 1, false, false, (*invocation).join},
	"toChars":        {0, 0, false, false, (*invocation).characters},
	"toInteger":      {0, 0, false, false, func(c *invocation) []value { return c.converted((*big.Rat).IsInt) }},
	"toDecimal":      {0, 0, false, false, func(c *invocation) []value { return c.converted(anyNumber) }},
	"convertsToInteger": {0, 0, false, false, func(c *invocation) []value {
		return known(len(c.in) == 1, len(c.converted((*big.Rat).IsInt)) == 1)
	}},
	"convertsToDecimal": {0, 0, false, false, func(c *invocation) []value {
		return known(len(c.in) == 1, len(c.converted(anyNumber)) == 1)
	}},
	"abs": {0, 0, false, false, func(c *invocation) []value {
		return c.calculated(func(n *big.Rat) *big.Rat { return new(big.Rat).Abs(n) })
	}},
	"truncate": {0, 0, false, false, func(c *invocation) []value { return c.calculated(truncated) }},
	"floor":    {0, 0, false, false, func(c *invocation) []value { return c.calculated(floor) }},
	"ceiling": {0, 0, false, false, func(c *invocation) []value {
		return c.calculated(func(n *big.Rat) *big.Rat { up := floor(new(big.Rat).Neg(n)); return up.Neg(up) })
	}},
}

// maxText limits the texts that functions produce.
const maxText = 1 << 20

func anyNumber(*big.Rat) bool { return true }

// textOf returns the input as one text, "" and false for an empty input.
func (c *invocation) textOf(in []value) (string, bool) {
	v, ok := c.single(in)
	if !ok || v.kind == kindNode {
		return "", false
	}
	return c.written(v), true
}

func (c *invocation) argument(i int) (string, bool) {
	return c.textOf(c.args[i].eval(c.evaluation, c.focus))
}

func (c *invocation) test(is func(s, part string) bool) []value {
	s, ok := c.textOf(c.in)
	part, okToo := c.argument(0)
	return known(ok && okToo, is(s, part))
}

// matching matches a regular expression. One beyond RE2, for instance with
// look-ahead, leaves the invariant unevaluated.
func (c *invocation) matching(full bool) []value {
	s, ok := c.textOf(c.in)
	if !ok {
		return nil
	}
	re := c.pattern
	if re == nil {
		pattern, given := c.argument(0)
		if !given {
			return nil
		}
		var err error
		if re, err = compilePattern(pattern, full); err != nil {
			c.fail("the regular expression: %w", ErrUnsupported)
			return nil
		}
	}
	return truth(re.MatchString(s))
}

func (c *invocation) length() []value {
	s, ok := c.textOf(c.in)
	if !ok {
		return nil
	}
	return one(count(utf8.RuneCountInString(s)))
}

func (c *invocation) changed(change func(string) string) []value {
	s, ok := c.textOf(c.in)
	if !ok {
		return nil
	}
	return one(text(change(s)))
}

func (c *invocation) replaced() []value {
	s, ok := c.textOf(c.in)
	from, okFrom := c.argument(0)
	to, okTo := c.argument(1)
	if !ok || !okFrom || !okTo {
		return nil
	}
	if (len(s)+1)*(len(to)+1) > maxText {
		c.fail("a text grows too long")
		return nil
	}
	return one(text(strings.ReplaceAll(s, from, to)))
}

func (c *invocation) replacedMatches() []value {
	s, ok := c.textOf(c.in)
	pattern, okFrom := c.argument(0)
	to, okTo := c.argument(1)
	if !ok || !okFrom || !okTo {
		return nil
	}
	re, err := regexp.Compile("(?s)" + pattern)
	if err != nil || (len(s)+1)*(len(to)+1) > maxText {
		c.fail("the regular expression: %w", ErrUnsupported)
		return nil
	}
	return one(text(re.ReplaceAllString(s, to)))
}

func (c *invocation) substring() []value {
	s, ok := c.textOf(c.in)
	start, okStart := c.whole(0)
	runes := []rune(s)
	if !ok || !okStart || start < 0 || start >= len(runes) {
		return nil
	}
	end := len(runes)
	if len(c.args) == 2 {
		if length, given := c.whole(1); given {
			end = start + max(0, min(length, len(runes)-start))
		}
	}
	return one(text(string(runes[start:end])))
}

// whole returns an argument as an integer.
func (c *invocation) whole(arg int) (int, bool) {
	v, ok := c.single(c.args[arg].eval(c.evaluation, c.focus))
	if !ok || v.kind != kindNumber || !v.number.IsInt() || v.number.Num().BitLen() > 31 {
		return 0, false
	}
	return int(v.number.Num().Int64()), true
}

func (c *invocation) indexOf() []value {
	s, ok := c.textOf(c.in)
	part, okToo := c.argument(0)
	if !ok || !okToo {
		return nil
	}
	at := strings.Index(s, part)
	if at > 0 {
		at = utf8.RuneCountInString(s[:at])
	}
	return one(count(at))
}

func (c *invocation) split() []value {
	s, ok := c.textOf(c.in)
	separator, okToo := c.argument(0)
	if !ok || !okToo {
		return nil
	}
	var out []value
	for _, part := range strings.Split(s, separator) {
		out = append(out, text(part))
	}
	return out
}

func (c *invocation) join() []value {
	separator := ""
	if len(c.args) == 1 {
		separator, _ = c.argument(0)
	}
	var parts []string
	size := 0
	for _, v := range c.atoms() {
		parts = append(parts, c.written(v))
		size += len(parts[len(parts)-1]) + len(separator)
	}
	if size > maxText {
		c.fail("a text grows too long")
		return nil
	}
	return one(text(strings.Join(parts, separator)))
}

func (c *invocation) characters() []value {
	s, ok := c.textOf(c.in)
	if !ok || len(s) > maxText {
		return nil
	}
	var out []value
	for _, r := range s {
		out = append(out, text(string(r)))
	}
	return out
}

// converted converts the input to a number of a kind.
func (c *invocation) converted(is func(*big.Rat) bool) []value {
	v, ok := c.single(c.in)
	if !ok {
		return nil
	}
	n := v.number
	switch v.kind {
	case kindNumber:
	case kindBoolean:
		n = new(big.Rat)
		if v.boolean {
			n.SetInt64(1)
		}
	case kindString:
		if len(v.text) > maxDigits || strings.Trim(v.text, "+-.0123456789") != "" {
			return nil
		}
		if n, ok = new(big.Rat).SetString(v.text); !ok {
			return nil
		}
	default:
		return nil
	}
	if !is(n) {
		return nil
	}
	return one(number(n))
}

func (c *invocation) calculated(f func(*big.Rat) *big.Rat) []value {
	v, ok := c.single(c.in)
	if !ok || v.kind != kindNumber {
		return nil
	}
	return one(number(f(v.number)))
}

func truncated(n *big.Rat) *big.Rat {
	return new(big.Rat).SetInt(new(big.Int).Quo(n.Num(), n.Denom()))
}

func floor(n *big.Rat) *big.Rat {
	q := new(big.Int)
	q.DivMod(n.Num(), n.Denom(), new(big.Int))
	return new(big.Rat).SetInt(q)
}
