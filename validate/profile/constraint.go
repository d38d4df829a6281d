package profile

import (
	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/profile/fhirpath"
)

// invariant evaluates an invariant of the profile on a node. As in FHIRPath,
// an empty result passes.
func (c *Checker) invariant(r *constraint, n doc.Node) {
	env := c.environment(n)
	holds, known, err := r.compiled.Truth(&env, n)
	if err != nil {
		c.reportOnce("profile-not-evaluated", n, c.profile.url+" "+r.key, "the invariant {} of the profile {}: {}", r.key, c.profile.name, err.Error())
		return
	}
	if holds || !known {
		return
	}
	if culprit := r.compiled.Blame(&env, n); culprit != doc.None {
		n = culprit
	}
	f := c.finding(n, "profile-invariant", issue.Text{})
	f.Value = string(c.d.Str(n))
	mild(&f, r.isWarning)
	f.Details = issue.T("against the rule {} of {}: {}", r.key, c.profile.name, r.human)
	c.send(f)
}

// environment is that of an evaluation on a node.
func (c *Checker) environment(n doc.Node) fhirpath.Environment {
	return fhirpath.Environment{
		Types: c.s, Resource: c.innermost(n), Root: c.outer(),
		Resolve: c.resolve, MemberOf: c.memberOf, ConformsTo: c.asks, Budget: &c.budget,
	}
}

// innermost is the innermost resource that contains a node.
func (c *Checker) innermost(n doc.Node) doc.Node {
	for at := n; at != doc.None; at = c.d.Parent(at) {
		if c.s.TypeOf(at).IsResource() {
			return at
		}
	}
	return c.rec.Resources[c.at].Node
}

// outer is the container of the resource under check, or that resource itself.
func (c *Checker) outer() doc.Node {
	res := &c.rec.Resources[c.at]
	if res.Owner >= 0 {
		return c.rec.Resources[res.Owner].Node
	}
	return res.Node
}

func (c *Checker) resolve(reference []byte) doc.Node {
	if to, ok := c.resolved(reference); ok {
		return c.rec.Resources[to].Node
	}
	return doc.None
}

// asks answers conformsTo() in an expression.
func (c *Checker) asks(n doc.Node, url string) (conforms, known bool) {
	p, err := c.lib.profile(url)
	if err != nil {
		return false, false
	}
	at := c.indexOf(n)
	switch res := &c.rec.Resources[at]; {
	case res.Node != n:
		return false, false // not a resource
	case p.isBase:
		return p.typ == res.Type, true
	default:
		return c.conformsTo(p, at).conforms, true
	}
}
