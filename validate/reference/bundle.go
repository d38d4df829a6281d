package reference

import (
	"bytes"
	"sort"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/record"
)

// manyEntries is the smaller of the limits on entries that servers are known
// to set.
const manyEntries = 160

// bundle checks what concerns the entries of a Bundle together.
func (c *Checker) bundle(at int, res *record.Resource) {
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
	c.onePatient(at)
}

// endOf is the index after the last resource in a Bundle: the resources stand
// in document order.
func (c *Checker) endOf(bundle int) int {
	end := c.d.End(c.rec.Resources[bundle].Node)
	after := c.rec.Resources[bundle+1:]
	return bundle + 1 + sort.Search(len(after), func(i int) bool { return c.d.Offset(after[i].Node) >= end })
}

func (c *Checker) sameConditions(bundle int) {
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

// eachIsOwn reports whether each condition is the resource's own, and no record
// identifier may stand twice.
func (c *Checker) eachIsOwn(bundle, end int) bool {
	for i := bundle + 1; i < end; i++ {
		res := &c.rec.Resources[i]
		if res.Bundle == bundle && res.IfNoneExist != doc.None && (!res.First || !c.isOwnCondition(res)) {
			return false
		}
	}
	return true
}

// onePatient compares the subjects of what belongs to a session with the
// session's. Only resources that say they are part of a Procedure are
// compared: a Bundle of several patients is legal.
func (c *Checker) onePatient(bundle int) {
	end := c.endOf(bundle)
	for i := bundle + 1; i < end; i++ {
		res := &c.rec.Resources[i]
		if res.Bundle != bundle || res.Hub == record.Nowhere || res.Subject == doc.None {
			continue
		}
		hub := &c.rec.Resources[res.Hub]
		if hub.Subject != doc.None && !c.samePatient(res.Subject, i, hub.Subject, res.Hub) {
			c.report(res.Subject, "bundle-one-patient", "the subject is not the subject of the session it is part of", c.d.Str(c.d.Get(res.Subject, "reference")))
		}
	}
}

// samePatient is false only where two references surely mean different
// patients: both literal or both by identifier, and not the same.
func (c *Checker) samePatient(a doc.Node, fromA int, b doc.Node, fromB int) bool {
	d := c.d
	if bytes.Equal(d.Raw(a), d.Raw(b)) {
		return true
	}
	textA, textB := d.Str(d.Get(a, "reference")), d.Str(d.Get(b, "reference"))
	if len(textA) > 0 && len(textB) > 0 {
		if bytes.Equal(textA, textB) {
			return true
		}
		targetA, outcomeA := c.rec.ResolveText(textA, fromA)
		targetB, outcomeB := c.rec.ResolveText(textB, fromB)
		if outcomeA == record.Found && outcomeB == record.Found {
			return targetA == targetB
		}
		if outcomeA != outcomeB {
			return true // one literal, one search: nobody can tell from here
		}
		return false
	}
	idA, idB := d.Get(a, "identifier"), d.Get(b, "identifier")
	if idA == doc.None || idB == doc.None {
		return true
	}
	sameSystem := bytes.Equal(d.Str(d.Get(idA, "system")), d.Str(d.Get(idB, "system")))
	return !sameSystem || bytes.Equal(d.Str(d.Get(idA, "value")), d.Str(d.Get(idB, "value")))
}
