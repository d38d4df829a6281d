package invariant

import (
	"bytes"
	"slices"

	"runsheet.example/validate/doc"
)

var capabilityRules = []rule{
	{key: "cpb-0", holds: isComputerName},
	{key: "cpb-1", holds: func(c *checker, n node) bool { return c.hasAny(n, "rest", "messaging", "document") }},
	{key: "cpb-2", holds: func(c *checker, n node) bool { return c.hasAny(n, "description", "software", "implementation") }},
	{key: "cpb-3", fault: func(c *checker, n node) doc.Node {
		if c.isOrEmpty(n, "kind", "instance") {
			return doc.None
		}
		return c.firstNot(n, "messaging", func(m node) bool { return !c.has(m, "endpoint") })
	}},
	{key: "cpb-7", fault: (*checker).documentTwice},
	{key: "cpb-14", holds: isInstanceDescribed},
	{key: "cpb-15", holds: isCapabilityOfSoftware},
	{key: "cpb-16", holds: isOnlyRequirements},
}

func isInstanceDescribed(c *checker, n node) bool {
	return !c.is(n, "kind", "instance") || c.has(n, "implementation")
}

func isCapabilityOfSoftware(c *checker, n node) bool {
	return !c.is(n, "kind", "capability") || !c.has(n, "implementation") && c.has(n, "software")
}

func isOnlyRequirements(c *checker, n node) bool {
	return !c.is(n, "kind", "requirements") || !c.hasAny(n, "implementation", "software")
}

// documentTwice is cpb-7: no two documents share profile and mode.
func (c *Checker) documentTwice(n doc.Node) doc.Node {
	c.sorted = c.sorted[:0]
	for d := c.first(n, "document"); d != doc.None; d = c.next(d) {
		c.sorted = append(c.sorted, d)
	}
	compare := func(a, b doc.Node) int {
		if order := bytes.Compare(c.text(a, "profile"), c.text(b, "profile")); order != 0 {
			return order
		}
		return bytes.Compare(c.text(a, "mode"), c.text(b, "mode"))
	}
	slices.SortStableFunc(c.sorted, compare)
	for i := 1; i < len(c.sorted); i++ {
		if compare(c.sorted[i-1], c.sorted[i]) == 0 {
			return c.sorted[i]
		}
	}
	return doc.None
}

var restRules = []rule{{key: "cpb-9", fault: func(c *checker, n node) doc.Node { return c.duplicateOf(n, "resource", "type") }}}

var restResourceRules = []rule{{key: "cpb-12", fault: func(c *checker, n node) doc.Node { return c.duplicateOf(n, "searchParam", "name") }}}

var terminologyRules = []rule{
	{key: "tcp-0", holds: isComputerName},
	{key: "tcp-2", holds: func(c *checker, n node) bool { return c.hasAny(n, "description", "software", "implementation") }},
	{key: "tcp-3", holds: isInstanceDescribed},
	{key: "tcp-4", holds: isCapabilityOfSoftware},
	{key: "tcp-5", holds: isOnlyRequirements},
}

var terminologyCodeSystemRules = []rule{{key: "tcp-1", fault: func(c *checker, n node) doc.Node {
	if c.count(n, "version") <= 1 {
		return doc.None
	}
	return c.firstNot(n, "version", func(v node) bool { return c.has(v, "code") })
}}}

var operationRules = []rule{{key: "opd-0", holds: isComputerName}}

var operationParameterRules = []rule{
	{key: "opd-1", holds: func(c *checker, n node) bool { return c.hasAny(n, "type", "part") }},
	{key: "opd-2", holds: func(c *checker, n node) bool { return !c.has(n, "searchType") || c.isOrEmpty(n, "type", "string") }},
	{key: "opd-3", holds: func(c *checker, n node) bool {
		return !c.has(n, "targetProfile") || c.isOrEmpty(n, "type", "Reference", "canonical")
	}},
}

var searchParameterRules = []rule{
	{key: "spd-0", holds: isComputerName},
	{key: "spd-1", holds: func(c *checker, n node) bool { return c.implies(n, "xpath", "xpathUsage") }},
	{key: "spd-2", holds: func(c *checker, n node) bool { return !c.has(n, "chain") || c.isOrEmpty(n, "type", "reference") }},
}

var structureMapTargetRules = []rule{
	{key: "smp-1", holds: func(c *checker, n node) bool { return c.implies(n, "element", "context") }},
	{key: "smp-2", holds: func(c *checker, n node) bool { return c.implies(n, "context", "contextType") }},
}

var messageFocusRules = []rule{{key: "md-1", holds: func(c *checker, n node) bool {
	max := c.text(n, "max")
	return max == nil || string(max) == "*" || isPositive(max)
}}}

func isPositive(digits []byte) bool {
	for _, b := range digits {
		if b < '0' || b > '9' {
			return false
		}
	}
	return len(bytes.TrimLeft(digits, "0")) > 0
}

var implementationGuideRules = []rule{
	{key: "ig-0", holds: isComputerName},
	{key: "ig-2", fault: func(c *checker, n node) doc.Node {
		c.sortTexts(n, "fhirVersion", func(v node) node { return v })
		return c.firstNot(c.s.Child(n, "definition"), "resource", func(r node) bool {
			return c.all(r, "fhirVersion", func(v node) bool { return c.hasText(c.sorted, c.d.Str(v)) })
		})
	}},
}

var guideDefinitionRules = []rule{{key: "ig-1", fault: func(c *checker, n node) doc.Node {
	c.sortTexts(n, "grouping", func(g node) node { return c.d.Get(g, "id") })
	return c.firstNot(n, "resource", func(r node) bool {
		group := c.text(r, "groupingId")
		return group == nil || c.hasText(c.sorted, group)
	})
}}}
