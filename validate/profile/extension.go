package profile

import (
	"errors"
	"io/fs"
	"slices"
	"strings"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/structure"
)

// HasExtensions reports whether the document has an Extension.
func HasExtensions(s *structure.Checker) bool {
	return slices.ContainsFunc(s.Objects(), func(n doc.Node) bool { return s.TypeOf(n) == structure.Extension })
}

// extensions checks every extension against its definition, if known, and
// checks its context. An unknown extension is not a fault.
func (c *Checker) extensions() {
	around := c.rec.Around()
	for _, n := range c.s.Objects() {
		if c.s.TypeOf(n) == structure.Extension {
			c.extension(n, around.Of(n))
		}
	}
}

func (c *Checker) extension(n doc.Node, at int) {
	d := c.d
	urlNode := d.Get(n, "url")
	url := string(d.Str(urlNode))
	holder := d.Parent(n)
	if d.Kind(holder) == doc.Array {
		holder = d.Parent(holder)
	}
	if !strings.Contains(url, ":") {
		return // part of a complex extension, or wrong in R4 itself
	}
	p, err := c.lib.profile(url)
	if err != nil {
		if !errors.Is(err, fs.ErrNotExist) {
			c.reportOnce("profile-not-evaluated", n, url, "an extension that cannot be used: {}", err.Error())
		}
		return
	}
	if p.typ != "Extension" || p.root == nil {
		c.send(d.Finding(urlNode, "ext-context", issue.T("the url is not that of an extension")).Seen(url, issue.Text{}))
		return
	}
	c.context(p, n, holder, at)
	if c.extended[frame{p, n}] {
		return
	}
	before, beforeAt := c.profile, c.at
	c.profile, c.at = p, at
	c.check(p.root, item{n, doc.None})
	c.profile, c.at = before, beforeAt
}
