package invariant

import (
	"bytes"
	"math/big"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/ucum"
)

type (
	checker = Checker
	node    = doc.Node
)

// Age, Count, Distance and Duration are Quantities and carry its invariant too.

var ageRules = []rule{
	{key: "age-1", holds: func(c *checker, n node) bool {
		return c.codedByUCUM(n) && (!c.hasNumber(n, "value") || c.sign(n, "value") > 0)
	}},
	{key: "qty-3", holds: hasSystemOfCode},
}

var countRules = []rule{
	{key: "cnt-3", holds: func(c *checker, n node) bool {
		return c.codedByUCUM(n) && c.isOrEmpty(n, "code", "1") && bytes.IndexByte(c.d.Raw(c.s.Child(n, "value")), '.') < 0
	}},
	{key: "qty-3", holds: hasSystemOfCode},
}

var distanceRules = []rule{
	{key: "dis-1", holds: (*checker).codedByUCUM},
	{key: "qty-3", holds: hasSystemOfCode},
}

var durationRules = []rule{
	{key: "drt-1", holds: func(c *checker, n node) bool {
		return !c.has(n, "code") || c.isOrEmpty(n, "system", ucum.System) && c.has(n, "value")
	}},
	{key: "qty-3", holds: hasSystemOfCode},
}

var quantityRules = []rule{{key: "qty-3", holds: hasSystemOfCode}}

var simpleQuantityRules = []rule{
	{key: "qty-3", holds: hasSystemOfCode},
	{key: "sqty-1", holds: func(c *checker, n node) bool { return !c.has(n, "comparator") }},
}

func hasSystemOfCode(c *checker, n node) bool { return c.implies(n, "code", "system") }

// codedByUCUM is what age-1, cnt-3 and dis-1 share: a value has a code, and
// the system, where there is one, is UCUM.
func (c *Checker) codedByUCUM(n doc.Node) bool {
	return c.implies(n, "value", "code") && c.isOrEmpty(n, "system", ucum.System)
}

func (c *Checker) hasNumber(n doc.Node, element string) bool {
	return c.d.Kind(c.s.Child(n, element)) == doc.Number
}

// sign is the sign of a number, 0 also when there is none.
func (c *Checker) sign(n doc.Node, element string) int {
	v := c.s.Child(n, element)
	if c.d.Kind(v) != doc.Number {
		return 0
	}
	d, ok := parseDecimal(c.d.Raw(v))
	if !ok {
		return 0
	}
	return d.sign
}

var attachmentRules = []rule{{key: "att-1", holds: func(c *checker, n node) bool { return c.implies(n, "data", "contentType") }}}

var contactPointRules = []rule{{key: "cpt-2", holds: func(c *checker, n node) bool { return c.implies(n, "value", "system") }}}

var codeFilterRules = []rule{{key: "drq-1", holds: pathOrParameter}}

var dateFilterRules = []rule{{key: "drq-2", holds: pathOrParameter}}

func pathOrParameter(c *checker, n node) bool { return c.oneOf(n, "path", "searchParam") }

var expressionRules = []rule{{key: "exp-1", holds: func(c *checker, n node) bool { return c.hasAny(n, "expression", "reference") }}}

var extensionRules = []rule{{key: "ext-1", holds: func(c *checker, n node) bool { return c.oneOf(n, "extension", "value") }}}

var periodRules = []rule{{key: "per-1", holds: func(c *checker, n node) bool {
	start, end := c.text(n, "start"), c.text(n, "end")
	return start == nil || end == nil || compareTimes(start, end) != greater
}}}

var rangeRules = []rule{{key: "rng-2", holds: func(c *checker, n node) bool {
	low, high := c.s.Child(n, "low"), c.s.Child(n, "high")
	return low == doc.None || high == doc.None || c.compareQuantities(low, high) != greater
}}}

// compareQuantities compares two quantities: of one unit as they stand, of two
// UCUM units after conversion, of anything else not at all.
func (c *Checker) compareQuantities(a, b doc.Node) order {
	if !c.hasNumber(a, "value") || !c.hasNumber(b, "value") {
		return unknown
	}
	x, y := c.d.Raw(c.s.Child(a, "value")), c.d.Raw(c.s.Child(b, "value"))
	unit := "code"
	if c.text(a, "code") == nil && c.text(b, "code") == nil {
		unit = "unit"
	}
	switch from, to := c.text(a, unit), c.text(b, unit); {
	case !bytes.Equal(c.text(a, "system"), c.text(b, "system")):
		return unknown
	case bytes.Equal(from, to):
		return compareDecimals(x, y)
	case unit == "code" && c.is(a, "system", ucum.System):
		return compareConverted(x, y, string(from), string(to))
	default:
		return unknown
	}
}

// compareConverted compares numbers of two UCUM units, exactly. Numbers of
// exotic length are left alone: their powers of ten would fill the memory.
func compareConverted(x, y []byte, from, to string) order {
	const enough = 30
	if len(x) > enough || len(y) > enough || bytes.ContainsAny(x, "eE") || bytes.ContainsAny(y, "eE") {
		return unknown
	}
	a, ok1 := new(big.Rat).SetString(string(x))
	b, ok2 := new(big.Rat).SetString(string(y))
	if !ok1 || !ok2 {
		return unknown
	}
	converted, err := ucum.ConvertExact(a, from, to)
	if err != nil {
		return unknown
	}
	return orderOf(converted.Cmp(b))
}

var ratioRules = []rule{{key: "rat-1", holds: func(c *checker, n node) bool {
	return c.has(n, "numerator") == c.has(n, "denominator") && c.hasAny(n, "numerator", "extension")
}}}

// ref-1: a local reference has its resource in the contained resources of the
// outermost resource around it. "#" alone is the outermost resource itself.
var referenceRules = []rule{{key: "ref-1", holds: func(c *checker, n node) bool {
	reference := c.text(n, "reference")
	return len(reference) < 2 || reference[0] != '#' || c.contains(c.rootResourceOf(n), reference[1:])
}}}

var repeatRules = []rule{
	{key: "tim-1", holds: func(c *checker, n node) bool { return c.implies(n, "duration", "durationUnit") }},
	{key: "tim-2", holds: func(c *checker, n node) bool { return c.implies(n, "period", "periodUnit") }},
	{key: "tim-4", holds: func(c *checker, n node) bool { return c.sign(n, "duration") >= 0 }},
	{key: "tim-5", holds: func(c *checker, n node) bool { return c.sign(n, "period") >= 0 }},
	{key: "tim-6", holds: func(c *checker, n node) bool { return c.implies(n, "periodMax", "period") }},
	{key: "tim-7", holds: func(c *checker, n node) bool { return c.implies(n, "durationMax", "duration") }},
	{key: "tim-8", holds: func(c *checker, n node) bool { return c.implies(n, "countMax", "count") }},
	// The published expression fails to evaluate for more than one when; its
	// words are followed.
	{key: "tim-9", holds: func(c *checker, n node) bool {
		return !c.has(n, "offset") || c.has(n, "when") && c.all(n, "when", func(w node) bool {
			switch string(c.d.Str(w)) {
			case "C", "CM", "CD", "CV":
				return false
			}
			return true
		})
	}},
	{key: "tim-10", holds: func(c *checker, n node) bool { return c.notBoth(n, "timeOfDay", "when") }},
}

var triggerRules = []rule{
	{key: "trd-1", holds: func(c *checker, n node) bool { return c.notBoth(n, "data", "timing") }},
	{key: "trd-2", holds: func(c *checker, n node) bool { return c.implies(n, "condition", "data") }},
	{key: "trd-3", holds: func(c *checker, n node) bool {
		t := c.text(n, "type")
		return (string(t) != "named-event" || c.has(n, "name")) && (string(t) != "periodic" || c.has(n, "timing")) &&
			(!bytes.HasPrefix(t, []byte("data-")) || c.has(n, "data"))
	}},
}
