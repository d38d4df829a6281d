package invariant

import (
	"bytes"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/structure"
)

var sectionRules = []rule{
	{key: "cmp-1", holds: func(c *checker, n node) bool { return c.hasAny(n, "text", "entry", "section") }},
	{key: "cmp-2", holds: func(c *checker, n node) bool { return c.notBoth(n, "emptyReason", "entry") }},
}

var listRules = []rule{
	{key: "lst-1", holds: func(c *checker, n node) bool { return c.notBoth(n, "emptyReason", "entry") }},
	{key: "lst-2", fault: func(c *checker, n node) doc.Node {
		if c.isOrEmpty(n, "mode", "changes") {
			return doc.None
		}
		return c.firstNot(n, "entry", func(e node) bool { return !c.has(e, "deleted") })
	}},
	{key: "lst-3", fault: func(c *checker, n node) doc.Node {
		if c.isOrEmpty(n, "mode", "working") {
			return doc.None
		}
		return c.firstNot(n, "entry", func(e node) bool { return !c.has(e, "date") })
	}},
}

var questionnaireRules = []rule{
	{key: "que-0", holds: isComputerName},
	{key: "que-2", fault: func(c *checker, n node) doc.Node {
		c.gather(n, structure.QuestionnaireItem, "linkId")
		return c.duplicate()
	}},
}

var questionnaireItemRules = []rule{
	{key: "que-1", holds: func(c *checker, n node) bool {
		return (!c.is(n, "type", "group") || c.has(n, "item")) && (!c.is(n, "type", "display") || !c.has(n, "item"))
	}},
	{key: "que-3", holds: func(c *checker, n node) bool { return !c.is(n, "type", "display") || !c.has(n, "code") }},
	{key: "que-4", holds: func(c *checker, n node) bool { return c.notBoth(n, "answerOption", "answerValueSet") }},
	{key: "que-5", holds: func(c *checker, n node) bool {
		return !c.hasAny(n, "answerOption", "answerValueSet") ||
			c.isOrEmpty(n, "type", "choice", "open-choice", "decimal", "integer", "date", "dateTime", "time", "string", "quantity")
	}},
	{key: "que-6", holds: func(c *checker, n node) bool {
		return !c.is(n, "type", "display") || !c.hasAny(n, "required", "repeats")
	}},
	{key: "que-8", holds: func(c *checker, n node) bool { return !c.is(n, "type", "group", "display") || !c.has(n, "initial") }},
	{key: "que-9", holds: func(c *checker, n node) bool { return !c.is(n, "type", "display") || !c.has(n, "readOnly") }},
	{key: "que-10", holds: func(c *checker, n node) bool {
		return !c.has(n, "maxLength") || c.isOrEmpty(n, "type", "boolean", "decimal", "integer", "string", "text", "url", "open-choice")
	}},
	{key: "que-11", holds: func(c *checker, n node) bool { return c.notBoth(n, "answerOption", "initial") }},
	{key: "que-12", holds: func(c *checker, n node) bool { return c.count(n, "enableWhen") <= 1 || c.has(n, "enableBehavior") }},
	{key: "que-13", holds: func(c *checker, n node) bool { return c.isTrue(n, "repeats") || c.count(n, "initial") <= 1 }},
}

var enableWhenRules = []rule{{key: "que-7", holds: func(c *checker, n node) bool {
	answer := c.s.Child(n, "answer") // one that is missing makes the expression empty
	return !c.is(n, "operator", "exists") || answer == doc.None || c.s.TypeOf(answer) == structure.Boolean
}}}

var responseItemRules = []rule{{key: "qrs-1", holds: func(c *checker, n node) bool { return c.notBoth(n, "answer", "item") }}}

var serviceRequestRules = []rule{{key: "prr-1", holds: func(c *checker, n node) bool { return c.implies(n, "orderDetail", "code") }}}

var carePlanActivityRules = []rule{{key: "cpl-3", holds: func(c *checker, n node) bool { return c.notBoth(n, "detail", "reference") }}}

var consentRules = []rule{
	{key: "ppc-1", holds: func(c *checker, n node) bool { return c.hasAny(n, "policy", "policyRule") }},
	// ppc-2 to ppc-5 are published with "something" for a code system.
	{key: "ppc-2", holds: func(c *checker, n node) bool { return scopeNeedsPatient(c, n, "patient-privacy") }},
	{key: "ppc-3", holds: func(c *checker, n node) bool { return scopeNeedsPatient(c, n, "research") }},
	{key: "ppc-4", holds: func(c *checker, n node) bool { return scopeNeedsPatient(c, n, "adr") }},
	{key: "ppc-5", holds: func(c *checker, n node) bool { return scopeNeedsPatient(c, n, "treatment") }},
}

func scopeNeedsPatient(c *checker, n node, scope string) bool {
	return c.has(n, "patient") || !c.hasCoding(n, "scope", "something", scope)
}

var auditEntityRules = []rule{{key: "sev-1", holds: func(c *checker, n node) bool { return c.notBoth(n, "name", "query") }}}

var parameterRules = []rule{{key: "inv-1", id: "inv-inv-1-parameters", holds: func(c *checker, n node) bool {
	if c.has(n, "part") {
		return !c.hasAny(n, "value", "resource")
	}
	return c.oneOf(n, "value", "resource")
}}}

var taskRules = []rule{{key: "inv-1", id: "inv-inv-1-task", holds: func(c *checker, n node) bool {
	modified, authored := c.text(n, "lastModified"), c.text(n, "authoredOn")
	return modified == nil || authored == nil || compareTimes(modified, authored) != less
}}}

var valueSetRules = []rule{{key: "vsd-0", holds: isComputerName}}

var includeRules = []rule{
	{key: "vsd-1", holds: func(c *checker, n node) bool { return c.hasAny(n, "valueSet", "system") }},
	{key: "vsd-2", holds: func(c *checker, n node) bool { return !c.hasAny(n, "concept", "filter") || c.has(n, "system") }},
	{key: "vsd-3", holds: func(c *checker, n node) bool { return c.notBoth(n, "concept", "filter") }},
}

var containsRules = []rule{
	{key: "vsd-6", holds: func(c *checker, n node) bool { return c.hasAny(n, "code", "display") }},
	{key: "vsd-9", holds: func(c *checker, n node) bool { return c.has(n, "code") || c.isTrue(n, "abstract") }},
	{key: "vsd-10", holds: func(c *checker, n node) bool { return c.implies(n, "code", "system") }},
}

var codeSystemRules = []rule{
	{key: "csd-0", holds: isComputerName},
	{key: "csd-1", fault: func(c *checker, n node) doc.Node {
		c.gather(n, structure.CodeSystemConcept, "code")
		return c.duplicate()
	}},
}

var namingSystemRules = []rule{
	{key: "nsd-0", holds: isComputerName},
	{key: "nsd-1", fault: func(c *checker, n node) doc.Node {
		if c.isOrEmpty(n, "kind", "codesystem", "identifier") {
			return doc.None
		}
		return c.firstNot(n, "uniqueId", func(u node) bool { return !c.is(u, "type", "uuid") })
	}},
	{key: "nsd-2", fault: func(c *checker, n node) doc.Node {
		c.sorted = c.sorted[:0]
		for u := c.first(n, "uniqueId"); u != doc.None; u = c.next(u) {
			if t := c.s.Child(u, "type"); c.isTrue(u, "preferred") && c.d.Kind(t) == doc.String {
				c.sorted = append(c.sorted, t)
			}
		}
		return c.duplicate()
	}},
}

var conceptTargetRules = []rule{{key: "cmd-1", holds: func(c *checker, n node) bool {
	return c.has(n, "comment") || !c.is(n, "equivalence", "narrower", "inexact")
}}}

var unmappedRules = []rule{
	{key: "cmd-2", holds: func(c *checker, n node) bool { return !c.is(n, "mode", "fixed") || c.has(n, "code") }},
	{key: "cmd-3", holds: func(c *checker, n node) bool { return !c.is(n, "mode", "other-map") || c.has(n, "url") }},
}

func hasPrefix(text []byte, prefix string) bool { return bytes.HasPrefix(text, []byte(prefix)) }
