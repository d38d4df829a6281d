package invariant

import (
	"bytes"
	"slices"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/structure"
)

var bundleRules = []rule{
	{key: "bdl-1", holds: func(c *checker, n node) bool {
		return !c.has(n, "total") || c.isOrEmpty(n, "type", "searchset", "history")
	}},
	{key: "bdl-2", fault: func(c *checker, n node) doc.Node {
		if c.isOrEmpty(n, "type", "searchset") {
			return doc.None
		}
		return c.firstNot(n, "entry", func(e node) bool { return !c.has(e, "search") })
	}},
	{key: "bdl-3", fault: func(c *checker, n node) doc.Node {
		return c.entriesHave(n, "request", c.is(n, "type", "batch", "transaction", "history"))
	}},
	{key: "bdl-4", fault: func(c *checker, n node) doc.Node {
		return c.entriesHave(n, "response", c.is(n, "type", "batch-response", "transaction-response", "history"))
	}},
	{key: "bdl-7", fault: (*checker).entryTwice},
	{key: "bdl-9", holds: func(c *checker, n node) bool {
		id := c.s.Child(n, "identifier")
		return !c.is(n, "type", "document") || c.has(id, "system") && c.has(id, "value")
	}},
	{key: "bdl-10", holds: func(c *checker, n node) bool {
		return !c.is(n, "type", "document") || c.text(n, "timestamp") != nil
	}},
	{key: "bdl-11", holds: func(c *checker, n node) bool {
		return !c.is(n, "type", "document") || c.firstEntryIs(n, structure.Composition)
	}},
	{key: "bdl-12", holds: func(c *checker, n node) bool {
		return !c.is(n, "type", "message") || c.firstEntryIs(n, structure.MessageHeader)
	}},
}

var entryRules = []rule{
	{key: "bdl-5", holds: func(c *checker, n node) bool { return c.hasAny(n, "resource", "request", "response") }},
	{key: "bdl-8", holds: func(c *checker, n node) bool { return !bytes.Contains(c.text(n, "fullUrl"), []byte("/_history/")) }},
}

// entriesHave returns the first entry that has the element and should not, or
// the other way round. Without a type nothing can be said.
func (c *Checker) entriesHave(n doc.Node, element string, should bool) doc.Node {
	if c.text(n, "type") == nil {
		return doc.None
	}
	return c.firstNot(n, "entry", func(e doc.Node) bool { return c.has(e, element) == should })
}

// firstEntryIs reports whether the first entry's resource is of the type. A
// document without entries is not at fault.
func (c *Checker) firstEntryIs(n doc.Node, t structure.Type) bool {
	entry := c.first(n, "entry")
	r := c.s.Child(entry, "resource")
	return r == doc.None || c.s.TypeOf(r) == t
}

// entryTwice is bdl-7: but for history, no fullUrl stands twice with the same
// meta.versionId.
func (c *Checker) entryTwice(n doc.Node) doc.Node {
	if c.isOrEmpty(n, "type", "history") {
		return doc.None
	}
	c.sorted = c.sorted[:0]
	for e := c.first(n, "entry"); e != doc.None; e = c.next(e) {
		if c.text(e, "fullUrl") != nil {
			c.sorted = append(c.sorted, e)
		}
	}
	slices.SortFunc(c.sorted, func(a, b doc.Node) int {
		if order := c.compareEntries(a, b); order != 0 {
			return order
		}
		return int(a - b)
	})
	twice := doc.None
	for i := 1; i < len(c.sorted); i++ {
		if e := c.sorted[i]; c.compareEntries(c.sorted[i-1], e) == 0 && (twice == doc.None || e < twice) {
			twice = e
		}
	}
	return twice
}

func (c *Checker) compareEntries(a, b doc.Node) int {
	if order := bytes.Compare(c.text(a, "fullUrl"), c.text(b, "fullUrl")); order != 0 {
		return order
	}
	return bytes.Compare(c.versionOf(a), c.versionOf(b))
}

func (c *Checker) versionOf(entry doc.Node) []byte {
	return c.text(c.s.Child(c.s.Child(entry, "resource"), "meta"), "versionId")
}
