package profile

import (
	"strconv"
	"strings"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
)

// Results for an occurrence in no slice, or where an unknown value set or
// profile decides the slice.
const (
	unassigned = -1
	undecided  = -2
)

// slices sorts the occurrences of an element into its slices and checks each
// against its slice (FHIR R4 4.0.1, Profiling, Slicing).
func (c *Checker) slices(e *element, items []item, in doc.Node) {
	in = c.member(items, in)
	assigned := make([]int, len(items))
	possible := make([]int, len(e.slices)) // occurrences that may be in each
	for i, it := range items {
		assigned[i] = c.sort(e, it, possible)
	}
	c.arrangement(e, items, assigned)
	for at, s := range e.slices {
		var members []item
		for i, it := range items {
			if assigned[i] == at {
				members = append(members, it)
			}
		}
		c.slice(e, s, members, items, assigned, possible[at], in)
	}
}

// sort returns the slice of an occurrence. If it is in none, sort counts it
// for each slice that it may be in.
func (c *Checker) sort(e *element, it item, possible []int) int {
	var perhaps []int
	for at, s := range e.slices {
		in, open := c.belongs(e.slicing, s, it)
		if in {
			return at
		}
		if open {
			perhaps = append(perhaps, at)
		}
	}
	if perhaps == nil {
		return unassigned
	}
	for _, at := range perhaps {
		possible[at]++
	}
	return undecided
}

// member is the place of a missing slice: the existing array, otherwise the
// parent object.
func (c *Checker) member(items []item, in doc.Node) doc.Node {
	if len(items) == 0 {
		return in
	}
	if up := c.d.Parent(items[0].node); c.d.Kind(up) == doc.Array {
		return up
	}
	return items[0].node
}

// slice checks the number of occurrences of a slice, and each of them.
// Undecided occurrences may also belong to it.
func (c *Checker) slice(e, s *element, members, items []item, assigned []int, possible int, in doc.Node) {
	switch {
	case len(members)+possible < s.min && c.endless(e):
	case len(members)+possible < s.min:
		c.missing(e, s, len(members), items, assigned, in)
	case s.max >= 0 && len(members) > s.max:
		f := c.finding(members[s.max].node, "profile-slice", issue.T("too many of {}", c.naming(s)))
		if s.max == 0 {
			f.Details = issue.T("the profile does not allow {}", c.naming(s))
		}
		f.Value, f.Expected = strconv.Itoa(len(members)), issue.T("at most {}", s.max)
		c.send(f)
	}
	if c.opts.MustSupport && s.must && len(members)+possible == 0 && c.silent == 0 {
		c.send(c.d.Finding(in, "profile-must-support", issue.T("absent, and marked must-support: {}", c.naming(s))))
	}
	for _, it := range members {
		c.check(s, it)
	}
	if s.slicing != nil {
		c.slices(s, members, in)
	}
}

// missing reports that a slice has too few occurrences, and which other
// occurrence comes nearest.
func (c *Checker) missing(e, s *element, have int, items []item, assigned []int, in doc.Node) {
	if c.silent > 0 && c.first != nil {
		c.faults++
		return
	}
	var nearest difference
	at, free := unassigned, 0
	for i, it := range items {
		if assigned[i] != unassigned {
			continue
		}
		free++
		if x := c.differs(e.slicing, s, it); at == unassigned || x.nearer(nearest) {
			nearest, at = x, i
		}
	}
	where := in
	if at != unassigned && (nearest.same > 0 || free == 1) {
		where = items[at].node
	}
	f := c.finding(where, "profile-slice", issue.T("missing: {}", c.naming(s)))
	if have > 0 {
		f.Details = issue.T("too few of {}", c.naming(s))
	}
	f.Expected = issue.T("at least {}", s.min)
	if where != in || free == 1 {
		f.Details = f.Details.And(issue.T("the nearest is {}[{}]{}", e.name, at, departs(nearest)))
		f.Value, f.Expected = c.differing(nearest), issue.Literal(nearest.want)
	} else if wants := c.wants(e.slicing, s); wants != "" {
		f.Expected = issue.T("at least {} with {}", s.min, wants)
	}
	c.send(f)
}

// departs describes where a value differs from the wanted one.
func departs(x difference) string {
	switch {
	case x.none():
		return ""
	case x.path == "":
		return ", which differs" + because(x.why)
	case x.seen:
		return ", which differs in " + x.path + because(x.why)
	default:
		return ", which lacks " + x.path
	}
}

func (c *Checker) differing(x difference) string {
	if !x.seen || x.why.fault != nil {
		return ""
	}
	return c.code(x.at)
}

// arrangement checks the rules of a slicing as a whole: no occurrence outside
// the slices, slices in order.
func (c *Checker) arrangement(e *element, items []item, assigned []int) {
	latest, outside := unassigned, unassigned
	for i, at := range assigned {
		switch {
		case at == undecided:
			continue
		case at == unassigned && e.slicing.rules == "closed":
			c.stranger(e, items[i])
		case at == unassigned:
			outside = i
		case outside != unassigned && e.slicing.rules == "openAtEnd":
			c.send(c.finding(items[outside].node, "profile-slice", issue.T("what is in no slice of {} must come after the slices", c.naming(e))))
			outside = unassigned
		}
		if at == unassigned {
			continue
		}
		if e.slicing.ordered && at < latest {
			c.send(c.finding(items[i].node, "profile-slice", issue.T("{} must stand before slice {}", c.naming(e.slices[at]), e.slices[latest].slice)))
		}
		latest = max(latest, at)
	}
}

// stranger reports an occurrence outside the slices of a closed slicing, and
// the nearest slice.
func (c *Checker) stranger(e *element, it item) {
	if c.silent > 0 && c.first != nil {
		c.faults++
		return
	}
	var nearest difference
	var slice *element
	for _, s := range e.slices {
		if x := c.differs(e.slicing, s, it); slice == nil || x.nearer(nearest) {
			nearest, slice = x, s
		}
	}
	f := c.finding(it.node, "profile-slice", issue.T("in no slice of {}, which takes nothing else", c.naming(e)))
	if slice != nil {
		f.Details = f.Details.And(issue.T("the nearest slice is {}{}", slice.slice, departs(nearest)))
		f.Value, f.Expected = c.differing(nearest), issue.Literal(nearest.want)
	}
	c.send(f)
}

// wants describes the values that discriminate a slice.
func (c *Checker) wants(s *slicing, slice *element) string {
	var parts []string
	for i := range s.discriminators {
		d := &s.discriminators[i]
		for _, a := range c.aims(slice, d.steps) {
			if want := a.String(); want != "" {
				parts = append(parts, d.path+" "+want)
			}
		}
	}
	return strings.Join(parts, ", ")
}
