package profile

import (
	"slices"
	"strings"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/resources"
)

// belongs reports whether an occurrence is in a slice: all discriminators must
// match. Without discriminators it must conform to the slice. The answer is
// open if it depends on an unknown value set or profile.
func (c *Checker) belongs(s *slicing, slice *element, it item) (in, open bool) {
	if len(s.discriminators) == 0 {
		return c.quietly(func() { c.check(slice, it) }).conforms, false
	}
	in = true
	for i := range s.discriminators {
		d := &s.discriminators[i]
		if !d.ok {
			c.reportOnce("profile-not-evaluated", it.node, c.profile.url+" "+d.path,
				"slices of the profile {} that cannot be told apart, for the path of the discriminator is not understood: {}", c.profile.name, d.path)
			in, open = false, true
			continue
		}
		switch x := c.discriminate(d, slice, it); {
		case x.none():
		case x.open():
			in, open = false, true
		default:
			return false, false
		}
	}
	return in, open
}

// differs compares an occurrence with the rules of all discriminators.
func (c *Checker) differs(s *slicing, slice *element, it item) difference {
	var x difference
	for i := range s.discriminators {
		if d := &s.discriminators[i]; d.ok {
			x.add(c.discriminate(d, slice, it))
		}
	}
	return x
}

// discriminate compares an occurrence with the rules of one discriminator.
func (c *Checker) discriminate(d *discriminator, slice *element, it item) difference {
	nodes := c.follow([]item{it}, d.steps)
	aims := c.aims(slice, d.steps)
	switch d.kind {
	case "exists":
		return c.byExistence(d, aims, nodes, it)
	case "type":
		return c.byType(d, aims, nodes, it)
	case "profile":
		return c.byProfile(d, aims, nodes, it)
	default: // value, and its synonym pattern
		return c.byValue(d, aims, nodes, it)
	}
}

// follow resolves the path within the document.
func (c *Checker) follow(from []item, steps []step) []item {
	for _, s := range steps {
		var next []item
		for _, it := range from {
			next = c.followStep(next, it, s)
		}
		from = next
	}
	return from
}

func (c *Checker) followStep(out []item, it item, s step) []item {
	d := c.d
	switch s.kind {
	case stepMember:
		if holder := c.holder(it); holder != doc.None {
			return c.items(out, holder, s.name)
		}
	case stepExtension:
		if holder := c.holder(it); holder != doc.None {
			for _, x := range c.items(nil, holder, "extension") {
				if d.Is(d.Get(x.node, "url"), s.name) {
					out = append(out, x)
				}
			}
		}
	case stepOfType:
		if c.typeOf(it.node) == s.name {
			return append(out, it)
		}
	case stepResolve:
		if to, ok := c.resolved(d.Str(d.Get(it.node, "reference"))); ok {
			return append(out, item{c.rec.Resources[to].Node, doc.None})
		}
	}
	return out
}

func (c *Checker) resolved(reference []byte) (int, bool) {
	if len(reference) == 0 {
		return 0, false
	}
	to, outcome := c.rec.ResolveText(reference, c.at)
	return to, outcome == resources.Found
}

// byValue discriminates by value: some value must meet each mandatory aim; if
// no aim is mandatory, one value must meet one aim.
func (c *Checker) byValue(d *discriminator, aims []aim, nodes []item, it item) difference {
	restricting := slices.DeleteFunc(slices.Clone(aims), func(a aim) bool { return !a.restricts() })
	if len(restricting) == 0 {
		return c.byConformity(d, aims, nodes, it)
	}
	var all, best difference
	first, anyMust := true, false
	for _, a := range restricting {
		x := c.nearest(d, a, nodes, it)
		if a.must {
			anyMust = true
			all.add(x)
		}
		if first || x.nearer(best) {
			best, first = x, false
		}
	}
	if anyMust {
		return all
	}
	return best
}

// nearest compares the values with one aim and returns the smallest
// difference.
func (c *Checker) nearest(d *discriminator, a aim, nodes []item, it item) difference {
	var best difference
	for i, n := range nodes {
		var x difference
		if a.w != nil {
			x = c.compare(n.node, a.w, a.exact)
			x.path = joinedPath(d.path, x.path)
		} else {
			c.isFrom(&x, d, a, n.node)
		}
		if i == 0 || x.nearer(best) {
			best = x
		}
	}
	if len(nodes) == 0 {
		best.miss(it.node, d.path, a.String(), false)
	}
	return best
}

// isFrom reports whether a value is from the required value set.
func (c *Checker) isFrom(x *difference, d *discriminator, a aim, n doc.Node) {
	in, sure := c.memberOf(n, a.set)
	switch {
	case in:
		x.hit()
	case sure:
		x.miss(n, d.path, a.String(), true)
	default:
		x.doubt(n, d.path, a.String())
		c.reportValueSet(n, a.set)
	}
}

func joinedPath(path, below string) string {
	path = strings.TrimPrefix(strings.TrimPrefix(path, "$this"), ".")
	switch {
	case below == "":
		return path
	case path == "":
		return below
	case below[0] == '[':
		return path + below
	default:
		return path + "." + below
	}
}

// byConformity discriminates by conformance, for a slice without a single
// value but with rules for child elements.
func (c *Checker) byConformity(d *discriminator, aims []aim, nodes []item, it item) difference {
	var x difference
	saying := false
	for _, a := range aims {
		if a.e.isOpaque(false) {
			continue
		}
		saying = true
		for _, n := range nodes {
			if c.quietly(func() { c.check(a.e, n); c.sliced(a.e, n) }).conforms {
				x.hit()
				return x
			}
		}
	}
	if !saying {
		c.reportOnce("profile-not-evaluated", it.node, c.profile.url+" "+d.path,
			"slices of the profile {} that cannot be told apart, for nothing is asked of the discriminator's element: {}", c.profile.name, d.path)
		x.doubt(it.node, joinedPath(d.path, ""), "")
		return x
	}
	x.miss(it.node, joinedPath(d.path, ""), "", len(nodes) > 0)
	return x
}

// sliced checks a single occurrence against the slices of its own element.
func (c *Checker) sliced(e *element, it item) {
	if e.slicing != nil {
		c.slices(e, []item{it}, it.node)
	}
}

// byExistence discriminates by presence of the element.
func (c *Checker) byExistence(d *discriminator, aims []aim, nodes []item, it item) difference {
	var x difference
	for _, a := range aims {
		switch {
		case a.e.max == 0 && len(nodes) > 0:
			x.miss(nodes[0].node, joinedPath(d.path, ""), "none", true)
		case a.e.max != 0 && a.e.min > 0 && len(nodes) == 0:
			x.miss(it.node, joinedPath(d.path, ""), "", false)
		default:
			x.hit()
		}
	}
	return x
}

// byType discriminates by the type of the value, or of the target of a
// reference.
func (c *Checker) byType(d *discriminator, aims []aim, nodes []item, it item) difference {
	var names []string
	for _, a := range aims {
		for _, t := range a.e.types {
			names = append(names, t.code)
		}
	}
	var x difference
	have, at := c.typesOf(d, nodes, it)
	for _, name := range have {
		if slices.Contains(names, name) || slices.Contains(names, "Resource") {
			x.hit()
			return x
		}
	}
	x.miss(at, joinedPath(d.path, ""), strings.Join(names, " or "), len(have) > 0)
	return x
}

// typesOf returns the types of the values. A reference to a resource outside
// the document may contain the type.
func (c *Checker) typesOf(d *discriminator, nodes []item, it item) (names []string, at doc.Node) {
	at = it.node
	for _, n := range nodes {
		if name := c.typeOf(n.node); name != "" {
			names, at = append(names, name), n.node
		}
	}
	last := len(d.steps) - 1
	if len(nodes) > 0 || last < 0 || d.steps[last].kind != stepResolve {
		return names, at
	}
	for _, n := range c.follow([]item{it}, d.steps[:last]) {
		if name := resources.TargetType(c.d.Str(c.d.Get(n.node, "reference"))); len(name) > 0 {
			names, at = append(names, string(name)), n.node
		} else if name := c.d.Str(c.d.Get(n.node, "type")); len(name) > 0 {
			names, at = append(names, string(name)), n.node
		}
	}
	return names, at
}

// byProfile discriminates by conformance to a profile.
func (c *Checker) byProfile(d *discriminator, aims []aim, nodes []item, it item) difference {
	var x difference
	var names []string
	var why verdict
	open := false
	try := func(v verdict) bool {
		if v.conforms {
			x.hit()
		} else if why.fault == nil {
			why = v
		}
		return v.conforms
	}
	for _, a := range aims {
		for _, t := range a.e.types {
			for _, url := range t.profiles {
				names = append(names, url)
				for _, n := range nodes {
					v, known := c.fits(url, n)
					if try(v) {
						return x
					}
					open = open || !known
				}
			}
		}
		if a.e.path != "" {
			continue
		}
		for _, n := range nodes { // the root of the reference's target
			if a.e.takes(c.typeOf(n.node), c.s.TypeOf(n.node)) && try(c.quietly(func() { c.check(a.e, n) })) {
				return x
			}
		}
	}
	if want := strings.Join(names, " or "); open {
		x.doubt(it.node, joinedPath(d.path, ""), want)
	} else {
		x.miss(it.node, joinedPath(d.path, ""), want, len(nodes) > 0)
	}
	x.why = why
	return x
}

// fits reports whether a value conforms to a profile, if that is known.
func (c *Checker) fits(url string, it item) (v verdict, known bool) {
	p := c.known(url, it.node)
	switch {
	case p == nil:
		return verdict{}, false
	case p.typ != c.typeOf(it.node):
		return verdict{}, true
	case p.root == nil:
		return verdict{conforms: true}, true
	default:
		return c.quietly(func() { c.nested(p, it) }), true
	}
}
