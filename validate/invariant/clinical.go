package invariant

import (
	"bytes"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/ucum"
)

const terminology = "http://terminology.hl7.org/CodeSystem/"

var observationRules = []rule{
	{key: "obs-6", holds: func(c *checker, n node) bool { return c.notBoth(n, "dataAbsentReason", "value") }},
	// The published expression compares whole codings, display and all; its
	// words speak of the code.
	{key: "obs-7", fault: func(c *checker, n node) doc.Node {
		if !c.has(n, "value") {
			return doc.None
		}
		code := c.s.Child(n, "code")
		return c.firstNot(n, "component", func(k node) bool { return !c.shareCoding(code, c.s.Child(k, "code")) })
	}},
}

// shareCoding reports whether two concepts have a coding of the same system
// and code. It looks at the first codings of a, more than any real concept
// has: comparing all with all would let a hostile one take forever.
func (c *Checker) shareCoding(a, b doc.Node) bool {
	const most = 64
	for x := c.first(a, "coding"); x != doc.None && c.d.Index(x) < most; x = c.next(x) {
		code := c.text(x, "code")
		if code == nil {
			continue
		}
		for y := c.first(b, "coding"); y != doc.None; y = c.next(y) {
			if bytes.Equal(code, c.text(y, "code")) && bytes.Equal(c.text(x, "system"), c.text(y, "system")) {
				return true
			}
		}
	}
	return false
}

var referenceRangeRules = []rule{{key: "obs-3", holds: func(c *checker, n node) bool { return c.hasAny(n, "low", "high", "text") }}}

var dosageAdministrationRules = []rule{{key: "mad-1", holds: func(c *checker, n node) bool { return c.hasAny(n, "dose", "rate") }}}

var medicationDispenseRules = []rule{{key: "mdd-1", holds: func(c *checker, n node) bool {
	handed, prepared := c.text(n, "whenHandedOver"), c.text(n, "whenPrepared")
	return handed == nil || prepared == nil || compareTimes(handed, prepared) != less
}}}

var patientContactRules = []rule{{key: "pat-1", holds: func(c *checker, n node) bool {
	return c.hasAny(n, "name", "telecom", "address", "organization")
}}}

var allergyRules = []rule{
	{key: "ait-1", holds: func(c *checker, n node) bool {
		return c.has(n, "clinicalStatus") || c.hasCoding(n, "verificationStatus", terminology+"allergyintolerance-verification", "entered-in-error")
	}},
	{key: "ait-2", holds: func(c *checker, n node) bool {
		return !c.has(n, "clinicalStatus") || !c.hasCoding(n, "verificationStatus", terminology+"allergyintolerance-verification", "entered-in-error")
	}},
}

var conditionRules = []rule{
	// The published expression compares a concept with a string, which is
	// never equal; its words speak of problem list items.
	{key: "con-3", holds: func(c *checker, n node) bool {
		return c.has(n, "clinicalStatus") || isWrongCondition(c, n) ||
			!c.hasCoding(n, "category", terminology+"condition-category", "problem-list-item")
	}},
	{key: "con-4", holds: func(c *checker, n node) bool {
		return !c.has(n, "abatement") || c.hasCoding(n, "clinicalStatus", terminology+"condition-clinical", "resolved", "remission", "inactive")
	}},
	{key: "con-5", holds: func(c *checker, n node) bool { return !c.has(n, "clinicalStatus") || !isWrongCondition(c, n) }},
}

func isWrongCondition(c *checker, n node) bool {
	return c.hasCoding(n, "verificationStatus", terminology+"condition-ver-status", "entered-in-error")
}

var conditionStageRules = []rule{{key: "con-1", holds: func(c *checker, n node) bool { return c.hasAny(n, "summary", "assessment") }}}

var conditionEvidenceRules = []rule{{key: "con-2", holds: func(c *checker, n node) bool { return c.hasAny(n, "code", "detail") }}}

var familyHistoryRules = []rule{
	{key: "fhs-1", holds: func(c *checker, n node) bool { return c.notBoth(n, "age", "born") }},
	{key: "fhs-2", holds: func(c *checker, n node) bool { return c.implies(n, "estimatedAge", "age") }},
}

var goalTargetRules = []rule{{key: "gol-1", holds: func(c *checker, n node) bool { return c.implies(n, "detail", "measure") }}}

var immunizationEducationRules = []rule{{key: "imm-1", holds: func(c *checker, n node) bool { return c.hasAny(n, "documentType", "reference") }}}

var recommendationRules = []rule{{key: "imr-1", holds: func(c *checker, n node) bool { return c.hasAny(n, "vaccineCode", "targetDisease") }}}

var nutritionOrderRules = []rule{{key: "nor-1", holds: func(c *checker, n node) bool {
	return c.hasAny(n, "oralDiet", "supplement", "enteralFormula")
}}}

var sequenceRules = []rule{{key: "msq-3", holds: func(c *checker, n node) bool {
	v, ok := c.integer(c.s.Child(n, "coordinateSystem"))
	return !ok || v == 0 || v == 1
}}}

var referenceSequenceRules = []rule{
	{key: "msq-5", holds: func(c *checker, n node) bool { return c.has(n, "chromosome") == c.has(n, "genomeBuild") }},
	{key: "msq-6", holds: func(c *checker, n node) bool {
		return c.countOf(n, "genomeBuild", "referenceSeqId", "referenceSeqPointer", "referenceSeqString") == 1
	}},
}

// countOf adds up the items of several elements.
func (c *Checker) countOf(n doc.Node, elements ...string) int {
	sum := 0
	for _, e := range elements {
		sum += c.count(n, e)
	}
	return sum
}

var predictionRules = []rule{
	{key: "ras-1", holds: func(c *checker, n node) bool {
		p := c.s.Child(n, "probability")
		return c.isPercent(c.s.Child(p, "low")) && c.isPercent(c.s.Child(p, "high"))
	}},
	{key: "ras-2", holds: func(c *checker, n node) bool {
		p := c.s.Child(n, "probability")
		return c.d.Kind(p) != doc.Number || compareDecimals(c.d.Raw(p), []byte("100")) != greater
	}},
}

func (c *Checker) isPercent(quantity doc.Node) bool {
	return quantity == doc.None || c.is(quantity, "code", "%") && c.is(quantity, "system", ucum.System)
}
