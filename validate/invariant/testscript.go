package invariant

import (
	"runsheet.example/validate/doc"
)

var testMetadataRules = []rule{{key: "tst-4", holds: func(c *checker, n node) bool {
	return !c.all(n, "capability", func(k node) bool { return !c.hasAny(k, "required", "validated") })
}}}

var testVariableRules = []rule{{key: "tst-3", holds: func(c *checker, n node) bool {
	return !c.has(n, "expression") || !c.has(n, "headerField") || !c.has(n, "path")
}}}

var (
	testSetupActionRules = []rule{{key: "tst-1", holds: operationOrAssert}}
	testActionRules      = []rule{{key: "tst-2", holds: operationOrAssert}}
	reportSetupRules     = []rule{{key: "inv-1", id: "inv-inv-1-testreport", holds: operationOrAssert}}
	reportTestRules      = []rule{{key: "inv-2", id: "inv-inv-2-testreport", holds: operationOrAssert}}
)

func operationOrAssert(c *checker, n node) bool { return c.oneOf(n, "operation", "assert") }

// Operations and asserts of setup, test and teardown share one definition; the
// standard gives each place keys of its own.

var testOperationRules = []rule{
	{key: "tst-7", holds: func(c *checker, n node) bool { return c.section(n) != "setup" || isCompleteOperation(c, n) }},
	{key: "tst-8", holds: func(c *checker, n node) bool { return c.section(n) != "test" || isCompleteOperation(c, n) }},
	{key: "tst-9", holds: func(c *checker, n node) bool { return c.section(n) != "teardown" || isCompleteOperation(c, n) }},
}

var testAssertRules = []rule{
	{key: "tst-5", holds: func(c *checker, n node) bool { return c.section(n) != "setup" || isSingleAssert(c, n) }},
	{key: "tst-6", holds: func(c *checker, n node) bool { return c.section(n) != "test" || isSingleAssert(c, n) }},
	{key: "tst-10", holds: func(c *checker, n node) bool { return c.section(n) != "setup" || isWholeComparison(c, n) }},
	{key: "tst-11", holds: func(c *checker, n node) bool { return c.section(n) != "test" || isWholeComparison(c, n) }},
	{key: "tst-12", holds: func(c *checker, n node) bool { return c.section(n) != "setup" || isRequestWithoutResponse(c, n) }},
	{key: "tst-13", holds: func(c *checker, n node) bool { return c.section(n) != "test" || isRequestWithoutResponse(c, n) }},
}

// section names the part of the script an operation or assert stands in.
func (c *Checker) section(n doc.Node) string {
	d := c.d
	part := d.Parent(d.Parent(d.Parent(n)))
	if d.Kind(d.Parent(part)) == doc.Array {
		part = d.Parent(part)
	}
	return string(d.Key(part))
}

func isCompleteOperation(c *checker, n node) bool {
	return c.has(n, "sourceId") || c.countOf(n, "targetId", "url", "params") == 1 ||
		c.is(c.s.Child(n, "type"), "code", "capabilities", "search", "transaction", "history")
}

func isSingleAssert(c *checker, n node) bool {
	return c.has(n, "extension") || c.countOf(n, "contentType", "expression", "headerField", "minimumId",
		"navigationLinks", "path", "requestMethod", "resource", "responseCode", "response", "validateProfileId") <= 1
}

func isWholeComparison(c *checker, n node) bool {
	return c.has(n, "compareToSourceId") == c.hasAny(n, "compareToSourceExpression", "compareToSourcePath")
}

func isRequestWithoutResponse(c *checker, n node) bool {
	return !c.is(n, "direction", "request") || !c.hasAny(n, "response", "responseCode")
}
