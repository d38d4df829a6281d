package invariant

import (
	"runsheet.example/validate/doc"
)

var appointmentRules = []rule{
	{key: "app-2", holds: func(c *checker, n node) bool { return c.has(n, "start") == c.has(n, "end") }},
	{key: "app-3", holds: func(c *checker, n node) bool {
		return c.has(n, "start") && c.has(n, "end") || c.isOrEmpty(n, "status", "proposed", "cancelled", "waitlist")
	}},
	// The published expression says no-show, the code is noshow.
	{key: "app-4", holds: func(c *checker, n node) bool {
		return !c.has(n, "cancelationReason") || c.isOrEmpty(n, "status", "noshow", "cancelled")
	}},
}

var appointmentParticipantRules = []rule{{key: "app-1", holds: func(c *checker, n node) bool { return c.hasAny(n, "type", "actor") }}}

var appointmentResponseRules = []rule{{key: "apr-1", holds: func(c *checker, n node) bool { return c.hasAny(n, "participantType", "actor") }}}

var eligibilityItemRules = []rule{{key: "ces-1", holds: func(c *checker, n node) bool { return c.oneOf(n, "category", "productOrService") }}}

var groupRules = []rule{{key: "grp-1", holds: func(c *checker, n node) bool {
	return !c.has(n, "member") || c.d.Kind(c.s.Child(n, "actual")) != doc.Bool || c.isTrue(n, "actual")
}}}

var insurancePlanRules = []rule{{key: "ipn-1", holds: func(c *checker, n node) bool { return c.hasAny(n, "identifier", "name") }}}

var linkageRules = []rule{{key: "lnk-1", holds: func(c *checker, n node) bool { return c.count(n, "item") > 1 }}}

var measureRules = []rule{
	{key: "mea-0", holds: isComputerName},
	{key: "mea-1", fault: func(c *checker, n node) doc.Node {
		return c.nested(n, "group", "stratifier", func(s node) bool {
			return c.hasAny(s, "code", "description", "criteria") != c.has(s, "component")
		})
	}},
}

var measureReportRules = []rule{
	{key: "mrp-1", holds: func(c *checker, n node) bool { return !c.is(n, "type", "data-collection") || !c.has(n, "group") }},
	{key: "mrp-2", fault: func(c *checker, n node) doc.Node {
		at := doc.None
		for g := c.first(n, "group"); g != doc.None && at == doc.None; g = c.next(g) {
			at = c.nested(g, "stratifier", "stratum", func(s node) bool { return c.oneOf(s, "value", "component") })
		}
		return at
	}},
}

// nested returns the first item of inner in any item of outer that does not
// pass.
func (c *Checker) nested(n doc.Node, outer, inner string, pass func(doc.Node) bool) doc.Node {
	for o := c.first(n, outer); o != doc.None; o = c.next(o) {
		if at := c.firstNot(o, inner, pass); at != doc.None {
			return at
		}
	}
	return doc.None
}

var organizationRules = []rule{
	{key: "org-1", holds: func(c *checker, n node) bool { return c.hasAny(n, "identifier", "name") }},
	{key: "org-2", fault: func(c *checker, n node) doc.Node {
		return c.firstNot(n, "address", func(a node) bool { return !c.is(a, "use", "home") })
	}},
	{key: "org-3", fault: func(c *checker, n node) doc.Node {
		return c.firstNot(n, "telecom", func(t node) bool { return !c.is(t, "use", "home") })
	}},
}

var requestActionRules = []rule{{key: "rqg-1", holds: func(c *checker, n node) bool { return c.oneOf(n, "resource", "action") }}}
