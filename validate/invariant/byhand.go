package invariant

import (
	"bytes"
	"hash/maphash"

	"runsheet.example/validate/doc"
)

type check = func(c *Checker, n doc.Node) bool

// byHand are the invariants of the types our records are made of, by key.
// What they find to hold is not evaluated further.
var byHand = map[string]rule{
	"bdl-2": {holds: func(c *Checker, n doc.Node) bool { return c.entriesHave(n, "search", false) }},
	"bdl-3": {holds: func(c *Checker, n doc.Node) bool {
		return !c.hasBundleType(n) || c.entriesHave(n, "request", c.is(n, "type", "batch", "transaction", "history"))
	}},
	"bdl-4": {holds: func(c *Checker, n doc.Node) bool {
		return !c.hasBundleType(n) || c.entriesHave(n, "response", c.is(n, "type", "batch-response", "transaction-response", "history"))
	}},
	"bdl-5": {holds: has("resource", "request", "response")},
	"bdl-7": {holds: (*Checker).fullURLsDiffer},
	"bdl-8": {holds: func(c *Checker, n doc.Node) bool { return !bytes.Contains(c.text(n, "fullUrl"), []byte("/_history/")) }},
	"dom-2": {holds: lacks("contained")},
	"dom-3": {fault: (*Checker).unreferenced, decides: true},
	"dom-4": {holds: lacks("contained")},
	"dom-5": {holds: lacks("contained")},
	"dom-6": {holds: func(c *Checker, n doc.Node) bool { return c.s.Has(c.s.Child(n, "text"), "div") }, decides: true},
	"ext-1": {holds: func(c *Checker, n doc.Node) bool { return c.s.Has(n, "extension") != c.s.Has(n, "value") }},
	"obs-6": {holds: func(c *Checker, n doc.Node) bool { return !c.s.Has(n, "dataAbsentReason") || !c.s.Has(n, "value") }},
	"obs-7": {holds: (*Checker).componentsDiffer},
	"per-1": {holds: (*Checker).isForward},
	"qty-3": {holds: func(c *Checker, n doc.Node) bool { return !c.s.Has(n, "code") || c.s.Has(n, "system") }},
	"ref-1": {holds: (*Checker).isContainedHere, decides: true},
}

// has asks for at least one of the elements.
func has(elements ...string) check {
	return func(c *Checker, n doc.Node) bool {
		for _, e := range elements {
			if c.s.Has(n, e) {
				return true
			}
		}
		return false
	}
}

func lacks(element string) check {
	return func(c *Checker, n doc.Node) bool { return !c.s.Has(n, element) }
}

// isForward compares start and end of a Period that are written in one zone
// and to the second.
func (c *Checker) isForward(n doc.Node) bool {
	const seconds = len("2006-01-02T15:04:05")
	start, end := c.text(n, "start"), c.text(n, "end")
	if start == nil || end == nil {
		return true
	}
	return len(start) > seconds && len(end) > seconds && bytes.Equal(start[seconds:], end[seconds:]) &&
		bytes.Compare(start, end) <= 0
}

// componentsDiffer is obs-7 by system and code.
func (c *Checker) componentsDiffer(n doc.Node) bool {
	first := c.s.First(n, "component")
	if first == doc.None || !c.s.Has(n, "value") {
		return true
	}
	code := c.s.Child(n, "code")
	for k := first; k != doc.None; k = c.d.NextItem(k) {
		if c.shareCoding(code, c.s.Child(k, "code")) {
			return false
		}
	}
	return true
}

// shareCoding looks at the first codings of a, more than any real concept has:
// comparing all with all would let a hostile one take forever.
func (c *Checker) shareCoding(a, b doc.Node) bool {
	const most = 64
	for x := c.s.First(a, "coding"); x != doc.None && c.d.Index(x) < most; x = c.d.NextItem(x) {
		code := c.text(x, "code")
		if code == nil {
			continue
		}
		for y := c.s.First(b, "coding"); y != doc.None; y = c.d.NextItem(y) {
			if bytes.Equal(code, c.text(y, "code")) && bytes.Equal(c.text(x, "system"), c.text(y, "system")) {
				return true
			}
		}
	}
	return false
}

// entriesHave reports whether every entry has the element, or none does.
func (c *Checker) entriesHave(n doc.Node, element string, should bool) bool {
	for e := c.s.First(n, "entry"); e != doc.None; e = c.d.NextItem(e) {
		if c.s.Has(e, element) != should {
			return false
		}
	}
	return true
}

// hasBundleType reports whether the Bundle has a type of R4, without which
// nothing can be said of its entries.
func (c *Checker) hasBundleType(n doc.Node) bool {
	return c.is(n, "type", "batch", "transaction", "history", "batch-response", "transaction-response", "document", "message", "searchset", "collection")
}

// fullURLsDiffer reports whether no two entries of a Bundle can have the same
// fullUrl.
func (c *Checker) fullURLsDiffer(n doc.Node) bool {
	clear(c.urls)
	count := 0
	for e := c.s.First(n, "entry"); e != doc.None; e = c.d.NextItem(e) {
		if url := c.text(e, "fullUrl"); url != nil {
			count++
			c.urls[maphash.Bytes(c.seed, url)] = struct{}{}
		}
	}
	return len(c.urls) == count
}
