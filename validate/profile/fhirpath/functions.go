package fhirpath

import (
	"math/big"

	"runsheet.example/validate/doc"
)

// function is one row of the table of functions.
type function struct {
	least, most int // arguments
	takesType   bool
	each        bool // arguments are evaluated for each item
	run         func(c *invocation) []value
}

// functions finds a function by name.
func functions(name string) (function, bool) {
	switch name {
	case "is", "as", "ofType":
		return function{takesType: true}, true
	}
	if f, ok := collectionFunctions[name]; ok {
		return f, true
	}
	f, ok := textFunctions[name]
	return f, ok
}

var collectionFunctions = map[string]function{
	"exists":         {0, 1, false, true, func(c *invocation) []value { return truth(len(c.filtered()) > 0) }},
	"empty":          {0, 0, false, false, func(c *invocation) []value { return truth(len(c.in) == 0) }},
	"count":          {0, 0, false, false, func(c *invocation) []value { return one(count(len(c.in))) }},
	"where":          {1, 1, false, true, (*invocation).filtered},
	"select":         {1, 1, false, true, (*invocation).mapped},
	"repeat":         {1, 1, false, true, (*invocation).repeated},
	"all":            {1, 1, false, true, func(c *invocation) []value { return truth(len(c.filtered()) == len(c.in)) }},
	"aggregate":      {1, 2, false, true, (*invocation).aggregated},
	"not":            {0, 0, false, false, (*invocation).negated},
	"allTrue":        {0, 0, false, false, func(c *invocation) []value { return truth(c.every(true, true)) }},
	"allFalse":       {0, 0, false, false, func(c *invocation) []value { return truth(c.every(false, true)) }},
	"anyTrue":        {0, 0, false, false, func(c *invocation) []value { return truth(!c.every(true, false)) }},
	"anyFalse":       {0, 0, false, false, func(c *invocation) []value { return truth(!c.every(false, false)) }},
	"first":          {0, 0, false, false, func(c *invocation) []value { return c.in[:min(1, len(c.in))] }},
	"last":           {0, 0, false, false, func(c *invocation) []value { return c.in[max(0, len(c.in)-1):] }},
	"tail":           {0, 0, false, false, func(c *invocation) []value { return c.in[min(1, len(c.in)):] }},
	"skip":           {1, 1, false, false, func(c *invocation) []value { return c.in[c.place(0):] }},
	"take":           {1, 1, false, false, func(c *invocation) []value { return c.in[:c.place(0)] }},
	"single":         {0, 0, false, false, (*invocation).onlyOne},
	"distinct":       {0, 0, false, false, func(c *invocation) []value { return c.distinct(c.in) }},
	"isDistinct":     {0, 0, false, false, func(c *invocation) []value { return truth(len(c.distinct(c.in)) == len(c.in)) }},
	"union":          {1, 1, false, false, func(c *invocation) []value { return c.distinct(c.joined()) }},
	"combine":        {1, 1, false, false, (*invocation).joined},
	"intersect":      {1, 1, false, false, func(c *invocation) []value { return c.distinct(c.kept(true)) }},
	"exclude":        {1, 1, false, false, func(c *invocation) []value { return c.kept(false) }},
	"subsetOf":       {1, 1, false, false, func(c *invocation) []value { return truth(len(c.kept(true)) == len(c.in)) }},
	"supersetOf":     {1, 1, false, false, (*invocation).holdsAll},
	"iif":            {2, 3, false, false, (*invocation).chosen},
	"trace":          {1, 2, false, false, func(c *invocation) []value { return c.in }},
	"children":       {0, 0, false, false, func(c *invocation) []value { return c.below(c.in) }},
	"descendants":    {0, 0, false, false, (*invocation).allBelow},
	"hasValue":       {0, 0, false, false, (*invocation).hasValue},
	"getValue":       {0, 0, false, false, func(c *invocation) []value { return c.atoms() }},
	"extension":      {1, 1, false, false, (*invocation).extensions},
	"resolve":        {0, 0, false, false, (*invocation).resolved},
	"memberOf":       {1, 1, false, false, (*invocation).memberOf},
	"conformsTo":     {1, 1, false, false, (*invocation).conforms},
	"htmlChecks":     {0, 0, false, false, func(c *invocation) []value { return truth(true) }}, // by the structure layer
	"elementDefined": {0, 0, false, false, func(c *invocation) []value { c.fail("elementDefined(): %w", ErrUnsupported); return nil }},
}

func one(v value) []value { return []value{v} }

// filtered keeps the items for which the condition holds; without one, all.
func (c *invocation) filtered() []value {
	if len(c.args) == 0 {
		return c.in
	}
	var out []value
	for i, v := range c.in {
		if holds, _ := c.boolean(c.within(c.args[0], v, i)); holds {
			out = append(out, v)
		}
	}
	return out
}

func (c *invocation) mapped() []value {
	var out []value
	for i, v := range c.in {
		out = append(out, c.within(c.args[0], v, i)...)
	}
	return out
}

func (c *invocation) repeated() []value {
	var out []value
	for next := c.in; len(next) > 0; {
		var found []value
		for i, v := range next {
			for _, w := range c.within(c.args[0], v, i) {
				if !c.holds(out, w) {
					out, found = append(out, w), append(found, w)
				}
			}
		}
		next = found
	}
	return out
}

func (c *invocation) aggregated() []value {
	before := c.total
	c.total = nil
	if len(c.args) == 2 {
		c.total = c.args[1].eval(c.evaluation, c.focus)
	}
	for i, v := range c.in {
		c.total = c.within(c.args[0], v, i)
	}
	out := c.total
	c.total = before
	return out
}

func (c *invocation) negated() []value {
	holds, sure := c.boolean(c.in)
	return known(sure, !holds)
}

// every reports whether all items (or, if !all, no item) satisfy the
// condition.
func (c *invocation) every(is, all bool) bool {
	for _, v := range c.in {
		if a := c.atom(v); a.kind != kindBoolean || (a.boolean == is) != all {
			if a.kind != kindBoolean && !all {
				continue
			}
			return false
		}
	}
	return true
}

// place is an argument as an index of the input.
func (c *invocation) place(arg int) int {
	v, ok := c.single(c.args[arg].eval(c.evaluation, c.focus))
	if !ok || v.kind != kindNumber || !v.number.IsInt() {
		return 0
	}
	if v.number.Cmp(new(big.Rat).SetInt64(int64(len(c.in)))) > 0 {
		return len(c.in)
	}
	return max(0, int(v.number.Num().Int64()))
}

func (c *invocation) onlyOne() []value {
	if len(c.in) > 1 {
		c.fail("single() of %d values", len(c.in))
		return nil
	}
	return c.in
}

func (c *invocation) other() []value { return c.args[0].eval(c.evaluation, c.focus) }

func (c *invocation) joined() []value { return append(append([]value(nil), c.in...), c.other()...) }

// kept keeps the items that the argument contains, or does not contain.
func (c *invocation) kept(inOther bool) []value {
	other := c.setOf(c.other())
	var out []value
	for _, v := range c.in {
		if other.has(v) == inOther {
			out = append(out, v)
		}
	}
	return out
}

func (c *invocation) holdsAll() []value {
	in := c.setOf(c.in)
	for _, v := range c.other() {
		if !in.has(v) {
			return truth(false)
		}
	}
	return truth(true)
}

// chosen evaluates its arguments on the input.
func (c *invocation) chosen() []value {
	holds, _ := c.boolean(c.args[0].eval(c.evaluation, c.in))
	switch {
	case holds:
		return c.args[1].eval(c.evaluation, c.in)
	case len(c.args) == 3:
		return c.args[2].eval(c.evaluation, c.in)
	default:
		return nil
	}
}

func (c *invocation) below(in []value) []value {
	var out []value
	for _, v := range in {
		if !c.spend() {
			return nil
		}
		out = c.children(out, v, "")
	}
	return out
}

func (c *invocation) allBelow() []value {
	var out []value
	for next := c.below(c.in); len(next) > 0; next = c.below(next) {
		out = append(out, next...)
	}
	return out
}

func (c *invocation) hasValue() []value {
	if len(c.in) != 1 {
		return truth(false)
	}
	v := c.in[0]
	if v.kind == kindNode {
		k := c.d.Kind(v.node)
		return truth(!v.bare() && (k == doc.String || k == doc.Number || k == doc.Bool))
	}
	return truth(true)
}

func (c *invocation) atoms() []value {
	out := make([]value, 0, len(c.in))
	for _, v := range c.in {
		if a := c.atom(v); a.kind != kindNode {
			out = append(out, a)
		}
	}
	return out
}

func (c *invocation) extensions() []value {
	url, ok := c.single(c.other())
	if !ok {
		return nil
	}
	var out []value
	for _, v := range c.in {
		for _, x := range c.children(nil, v, "extension") {
			if c.d.Is(c.d.Get(x.node, "url"), url.text) {
				out = append(out, x)
			}
		}
	}
	return out
}

// resolved follows References and texts; it drops targets outside the
// document.
func (c *invocation) resolved() []value {
	if c.env.Resolve == nil {
		c.fail("resolve(): %w", ErrUnsupported)
		return nil
	}
	var out []value
	for _, v := range c.in {
		at := v.node
		if at != doc.None && c.d.Kind(at) == doc.Object {
			at = c.d.Get(at, "reference")
		}
		reference := []byte(v.text)
		if at != doc.None {
			reference = c.d.Str(at)
		}
		if len(reference) == 0 {
			continue
		}
		if target := c.env.Resolve(reference); target != doc.None {
			out = append(out, node(target))
		}
	}
	return out
}

func (c *invocation) memberOf() []value {
	url, ok := c.single(c.other())
	if !ok || len(c.in) == 0 {
		return nil
	}
	return c.ask(c.env.MemberOf, url.text, "the value set %s is not known")
}

func (c *invocation) conforms() []value {
	url, ok := c.single(c.other())
	if !ok || len(c.in) == 0 {
		return nil
	}
	return c.ask(c.env.ConformsTo, url.text, "the profile %s is not known")
}

// ask calls the environment for the only item.
func (c *invocation) ask(question func(doc.Node, string) (bool, bool), url, unknown string) []value {
	if len(c.in) != 1 || c.in[0].node == doc.None || question == nil {
		c.fail(unknown, url)
		return nil
	}
	yes, sure := question(c.in[0].node, url)
	if !sure {
		c.fail(unknown, url)
		return nil
	}
	return truth(yes)
}
