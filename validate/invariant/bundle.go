package invariant

import (
	"bytes"
	"hash/maphash"
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
// the other way round. Without a type of R4 nothing can be said.
func (c *Checker) entriesHave(n doc.Node, element string, should bool) doc.Node {
	if !c.is(n, "type", "batch", "transaction", "history", "batch-response", "transaction-response", "document", "message", "searchset", "collection") {
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
// meta.versionId. It returns the second fullUrl's entry.
func (c *Checker) entryTwice(n doc.Node) doc.Node {
	if c.isOrEmpty(n, "type", "history") {
		return doc.None
	}
	if !c.gatherFullURLs(n) {
		return doc.None
	}
	slices.SortFunc(c.sorted, c.compareFullURLs)
	twice := doc.None
	for i := 1; i < len(c.sorted); i++ {
		a, b := c.sorted[i-1], c.sorted[i]
		if !bytes.Equal(c.d.Str(a), c.d.Str(b)) || !bytes.Equal(c.versionBeside(a), c.versionBeside(b)) {
			continue
		}
		if e := c.d.Parent(b); twice == doc.None || e < twice {
			twice = e
		}
	}
	return twice
}

// gatherFullURLs puts every fullUrl into c.sorted and reports whether two of
// them may be the same.
func (c *Checker) gatherFullURLs(n doc.Node) (maybeTwice bool) {
	if c.urls == nil {
		c.seed, c.urls = maphash.MakeSeed(), map[uint64]struct{}{}
	}
	clear(c.urls)
	c.sorted = c.sorted[:0]
	for e := c.first(n, "entry"); e != doc.None; e = c.next(e) {
		if url := c.s.Child(e, "fullUrl"); c.d.Kind(url) == doc.String {
			c.sorted = append(c.sorted, url)
			c.urls[maphash.Bytes(c.seed, c.d.Str(url))] = struct{}{}
		}
	}
	return len(c.urls) < len(c.sorted)
}

// compareFullURLs orders by URL, then version, then place.
func (c *Checker) compareFullURLs(a, b doc.Node) int {
	if order := bytes.Compare(c.d.Str(a), c.d.Str(b)); order != 0 {
		return order
	}
	if order := bytes.Compare(c.versionBeside(a), c.versionBeside(b)); order != 0 {
		return order
	}
	return int(a - b)
}

// versionBeside returns the version of the resource in a fullUrl's entry.
func (c *Checker) versionBeside(fullURL doc.Node) []byte {
	resource := c.s.Child(c.d.Parent(fullURL), "resource")
	return c.text(c.s.Child(resource, "meta"), "versionId")
}
