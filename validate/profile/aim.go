package profile

import (
	"strings"

	"runsheet.example/validate/doc"
)

// aim is the rules of a profile for the element at a discriminator's path.
type aim struct {
	e     *element
	w     *wanted
	exact bool
	set   string // required value set
	must  bool   // every element of the path is mandatory
}

func (a aim) restricts() bool { return a.w != nil || a.set != "" }

func (a aim) String() string {
	switch {
	case a.w != nil:
		return a.w.String()
	case a.set != "":
		return "from " + a.set
	default:
		return ""
	}
}

// aims resolves the path within the definitions of a slice.
func (c *Checker) aims(e *element, steps []step) []aim {
	var out []aim
	c.aim(&out, e, steps, true, 0)
	return out
}

func (c *Checker) aim(out *[]aim, e *element, steps []step, must bool, depth int) {
	if depth > maxWithin || !c.spend() {
		return
	}
	c.aimAtValue(out, e, steps)
	if len(steps) == 0 {
		*out = append(*out, aim{e: e, set: e.valueSet, must: must})
		return
	}
	s, rest := steps[0], steps[1:]
	switch s.kind {
	case stepMember:
		c.aimAtMember(out, e, s.name, steps, must, depth)
	case stepExtension:
		c.aimAtExtension(out, e, s.name, rest, must, depth)
	case stepOfType:
		c.aim(out, e, rest, must, depth+1)
	case stepResolve:
		for _, t := range e.types {
			for _, url := range t.targets {
				if p, err := c.lib.profile(url); err == nil {
					c.aim(out, p.rootOrBase(), rest, must, depth+1)
				}
			}
		}
	}
}

// rootOrBase is the root of a profile; an R4 type has one that requires only
// the type.
func (p *profile) rootOrBase() *element {
	if p.root != nil {
		return p.root
	}
	return &element{name: p.typ, types: []typeRef{{code: p.typ}}, max: -1}
}

// aimAtValue derives rules for child elements from a fixed value or pattern of
// their parent.
func (c *Checker) aimAtValue(out *[]aim, e *element, steps []step) {
	var path []string
	for _, s := range steps {
		if s.kind != stepMember {
			return
		}
		path = append(path, s.name)
	}
	for i, w := range []*wanted{e.fixed, e.pattern} {
		if w == nil {
			continue
		}
		for _, below := range w.at(path) {
			*out = append(*out, aim{e: e, w: below, exact: i == 0, must: true})
		}
	}
}

func (c *Checker) aimAtMember(out *[]aim, e *element, name string, steps []step, must bool, depth int) {
	from := e
	if e.content != nil && e.child(name) == nil {
		from = e.content
	}
	if child := from.child(name); child != nil {
		c.aim(out, child, steps[1:], must && child.min > 0, depth+1)
		for _, s := range child.slices {
			c.aim(out, s, steps[1:], must && s.min > 0, depth+1)
		}
		return
	}
	for _, t := range e.types {
		for _, url := range t.profiles {
			if t.code == "Extension" && name == "url" {
				bare, _, _ := strings.Cut(url, "|")
				*out = append(*out, aim{e: e, w: &wanted{kind: doc.String, text: bare}, must: true})
				continue
			}
			if p, err := c.lib.profile(url); err == nil && p.root != nil {
				c.aim(out, p.root, steps, must, depth+1)
			}
		}
	}
}

func (c *Checker) aimAtExtension(out *[]aim, e *element, url string, rest []step, must bool, depth int) {
	child := e.child("extension")
	if child == nil {
		return
	}
	for _, s := range child.slices {
		for _, a := range c.aims(s, []step{{stepMember, "url"}}) {
			if a.w != nil && a.w.text == url {
				c.aim(out, s, rest, must && s.min > 0, depth+1)
				break
			}
		}
	}
}
