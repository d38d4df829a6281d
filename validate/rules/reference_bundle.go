package rules

import (
	"bytes"
	"slices"
	"sort"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/resources"
)

// manyEntries is the smallest limit on entries known to be set on servers.
const manyEntries = 160

// bundle checks rules across the entries of a Bundle.
func (c *referenceChecker) bundle(at int, res *resources.Resource) {
	kind := string(res.BundleType)
	entries := c.d.Get(res.Node, "entry")
	sent := kind == "transaction" || kind == "batch"
	if sent && c.d.Count(entries) > manyEntries {
		c.report(res.Node, "bundle-size", "the Bundle has more than 160 entries", nil)
	}
	for e := c.d.FirstChild(entries); e != doc.None && sent; e = c.d.Next(e) {
		if c.d.Get(e, "resource") == doc.None {
			c.missingResource(e)
		}
	}
	if sent {
		c.sameConditions(at)
	}
	c.links(res)
	c.onePatient(at)
}

// links reports a relation that occurs more than once among the links.
func (c *referenceChecker) links(res *resources.Resource) {
	var seen []string
	for link := c.d.FirstChild(c.d.Get(res.Node, "link")); link != doc.None; link = c.d.Next(link) {
		relation := c.d.Get(link, "relation")
		name := string(c.d.Str(relation))
		if slices.Contains(seen, name) {
			c.report(relation, "bundle-link-duplicate", "an earlier link has the same relation", []byte(name))
		}
		seen = append(seen, name)
	}
}

// endOf is the index after the last resource of a Bundle: resources are in
// document order.
func (c *referenceChecker) endOf(bundle int) int {
	end := c.d.End(c.rec.Resources[bundle].Node)
	after := c.rec.Resources[bundle+1:]
	return bundle + 1 + sort.Search(len(after), func(i int) bool { return c.d.Offset(after[i].Node) >= end })
}

func (c *referenceChecker) sameConditions(bundle int) {
	end := c.endOf(bundle)
	if c.eachIsOwn(bundle, end) {
		return
	}
	if c.conditions == nil {
		c.conditions = map[uint64]int{}
	}
	clear(c.conditions)
	for i := bundle + 1; i < end; i++ {
		res := &c.rec.Resources[i]
		if res.Bundle != bundle || res.Request == doc.None {
			continue
		}
		node := res.IfNoneExist
		condition := c.d.Str(node)
		if len(condition) == 0 {
			continue
		}
		if bytes.IndexByte(condition, '%') >= 0 {
			if plain, ok := identifierCondition(condition); ok {
				condition = append([]byte("identifier="), plain...)
			}
		}
		key := c.rec.Hash([]byte(res.Type), condition)
		first, met := c.conditions[key]
		if met && c.rec.Resources[first].Type == res.Type {
			c.report(node, "bundle-condition-duplicate", "an earlier entry of the same type has the same condition", condition)
		}
		c.conditions[key] = i
	}
}

// eachIsOwn reports whether each condition identifies its own resource, and no
// record identifier repeats.
func (c *referenceChecker) eachIsOwn(bundle, end int) bool {
	for i := bundle + 1; i < end; i++ {
		res := &c.rec.Resources[i]
		if res.Bundle == bundle && res.IfNoneExist != doc.None && (!res.First || !c.isOwnCondition(res)) {
			return false
		}
	}
	return true
}
