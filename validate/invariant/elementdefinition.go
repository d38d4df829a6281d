package invariant

import (
	"bytes"
	"regexp"
	"strconv"
	"sync"

	"runsheet.example/validate/doc"
)

var elementRules = []rule{
	{key: "eld-2", holds: func(c *checker, n node) bool {
		low, ok1 := c.integer(c.s.Child(n, "min"))
		high, err := strconv.Atoi(string(c.text(n, "max")))
		return !ok1 || err != nil || low <= high
	}},
	{key: "eld-3", holds: func(c *checker, n node) bool {
		text := c.text(n, "max")
		high, err := strconv.Atoi(string(text))
		return text == nil || string(text) == "*" || err == nil && high >= 0
	}},
	{key: "eld-5", holds: func(c *checker, n node) bool {
		return !c.has(n, "contentReference") || !c.hasAny(n, "type", "defaultValue", "fixed", "pattern", "example",
			"minValue", "maxValue", "maxLength", "binding")
	}},
	{key: "eld-6", holds: func(c *checker, n node) bool { return !c.has(n, "fixed") || c.count(n, "type") <= 1 }},
	{key: "eld-7", holds: func(c *checker, n node) bool { return !c.has(n, "pattern") || c.count(n, "type") <= 1 }},
	{key: "eld-8", holds: func(c *checker, n node) bool { return c.notBoth(n, "pattern", "fixed") }},
	// select(...).exists() of the published expression is true for any type
	// at all; its words are followed.
	{key: "eld-11", holds: func(c *checker, n node) bool {
		return !c.has(n, "binding") || !c.has(n, "type") || c.anyBindable(n)
	}},
	{key: "eld-13", fault: func(c *checker, n node) doc.Node { return c.duplicateOf(n, "type", "code") }},
	{key: "eld-14", fault: func(c *checker, n node) doc.Node { return c.duplicateOf(n, "constraint", "key") }},
	{key: "eld-15", holds: func(c *checker, n node) bool { return c.notBoth(n, "defaultValue", "meaningWhenMissing") }},
	{key: "eld-16", holds: func(c *checker, n node) bool { return c.matches(n, "sliceName", sliceName()) }},
	{key: "eld-18", holds: func(c *checker, n node) bool { return !c.isTrue(n, "isModifier") || c.has(n, "isModifierReason") }},
	{key: "eld-19", holds: func(c *checker, n node) bool { return c.matches(n, "path", elementPath()) }},
	{key: "eld-20", holds: func(c *checker, n node) bool { return c.matches(n, "path", plainPath()) }},
	{key: "eld-22", holds: func(c *checker, n node) bool { return c.implies(n, "sliceIsConstraining", "sliceName") }},
}

func isBindable(code string) bool {
	switch code {
	case "code", "Coding", "CodeableConcept", "Quantity", "string", "uri":
		return true
	}
	return false
}

func (c *Checker) anyBindable(n doc.Node) bool {
	return c.firstNot(n, "type", func(t doc.Node) bool { return !isBindable(string(c.text(t, "code"))) }) != doc.None
}

// integer returns the value of an integer.
func (c *Checker) integer(n doc.Node) (int, bool) {
	if c.d.Kind(n) != doc.Number {
		return 0, false
	}
	v, err := strconv.Atoi(string(c.d.Raw(n)))
	return v, err == nil
}

// matches reports whether the whole text matches, or there is none.
func (c *Checker) matches(n doc.Node, element string, pattern *regexp.Regexp) bool {
	text := c.text(n, element)
	return text == nil || pattern.Match(text)
}

var (
	sliceName = pattern(`^[a-zA-Z0-9/\-_\[\]@]+$`)
	// eld-19 and eld-20, taken to speak of the whole path.
	elementPath = pattern(`^[^\s.,:;'"/|?!@#$%&*()\[\]{}]{1,64}(\.[^\s.,:;'"/|?!@#$%&*()\[\]{}]{1,64}(\[x\])?(:[^\s.]+)?)*$`)
	plainPath   = pattern(`^[A-Za-z][A-Za-z0-9]*(\.[a-z][A-Za-z0-9]*(\[x\])?)*$`)
)

// pattern compiles an expression when it is first needed.
func pattern(expression string) func() *regexp.Regexp {
	return sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(expression) })
}

var slicingRules = []rule{{key: "eld-1", holds: func(c *checker, n node) bool { return c.hasAny(n, "discriminator", "description") }}}

var elementTypeRules = []rule{
	{key: "eld-4", holds: func(c *checker, n node) bool {
		return !c.has(n, "aggregation") || c.is(n, "code", "Reference", "canonical")
	}},
	{key: "eld-17", holds: func(c *checker, n node) bool {
		return !c.has(n, "targetProfile") || c.is(n, "code", "Reference", "canonical")
	}},
}

var constraintRules = []rule{{key: "eld-21", holds: func(c *checker, n node) bool { return c.has(n, "expression") }}}

var bindingRules = []rule{{key: "eld-12", holds: func(c *checker, n node) bool {
	url := c.text(n, "valueSet")
	return url == nil || bytes.HasPrefix(url, []byte("http:")) || bytes.HasPrefix(url, []byte("https")) || bytes.HasPrefix(url, []byte("urn:"))
}}}
