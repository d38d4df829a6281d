package structure

import "runsheet.example/validate/doc"

// repeats takes over what is known of a member's value that stands in the
// document before, byte by byte the same, as the same element. Of datatypes the
// verdict hangs on nothing outside; of resources it is not asked, nor of arrays
// of primitives, which depend on their twin. From the first fault on every
// value is checked, so that each fault is told where it stands.
func (c *Checker) repeats(m doc.Node, row uint16) bool {
	all := c.doc.Repeats()
	for c.repeat < len(all) && all[c.repeat].Node < m {
		c.repeat++
	}
	if c.repeat == len(all) || all[c.repeat].Node != m {
		return false
	}
	again := all[c.repeat]
	if c.found > 0 || c.rows[again.Of] != row || typeTable[elementTable[row].typ].kind != kindDatatype {
		return false
	}
	from, to := int(again.Of), int(m)
	copy(c.types[to:to+again.Len], c.types[from:])
	copy(c.rows[to:to+again.Len], c.rows[from:])
	copy(c.members[to:to+again.Len], c.members[from:])
	for n, t := range c.types[to : to+again.Len] {
		if t != 0 && !t.IsPrimitive() {
			c.objects = append(c.objects, m+doc.Node(n))
		}
	}
	return true
}
