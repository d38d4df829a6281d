package invariant

import (
	"bytes"
	"slices"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/structure"
)

// A member that is outside the document, or in none of its entries, makes the
// expression of ctm-1 empty: nothing is said of it.
var careTeamParticipantRules = []rule{{key: "ctm-1", holds: func(c *checker, n node) bool {
	if !c.has(n, "onBehalfOf") {
		return true
	}
	member := c.resolved(c.s.Child(n, "member"))
	return member == doc.None || c.s.TypeOf(member) == structure.Practitioner
}}}

// target is a name that entries of a Bundle are referred to by; that without
// a name says that those of the Bundle have been gathered.
type target struct {
	bundle doc.Node
	name   string
}

// resolved returns the resource in the document that a Reference leads to, or
// doc.None: what is contained, or in the Bundle around it by fullUrl or as
// "Type/id" (FHIR R4 4.0.1, References and Bundle, Resolving references in
// Bundles).
func (c *Checker) resolved(reference doc.Node) doc.Node {
	text := c.text(reference, "reference")
	switch {
	case len(text) == 0:
		return doc.None
	case text[0] == '#':
		return c.resolvedLocally(c.rootResourceOf(reference), text[1:])
	}
	text, _, _ = bytes.Cut(text, []byte("/_history/"))
	bundle := c.resourceOf(c.d.Parent(c.rootResourceOf(reference)))
	if bundle == doc.None || c.s.TypeOf(bundle) != structure.Bundle {
		return doc.None
	}
	c.gatherTargets(bundle)
	if at, ok := c.targets[target{bundle, string(text)}]; ok {
		return at
	}
	return doc.None
}

func (c *Checker) resolvedLocally(container doc.Node, id []byte) doc.Node {
	if len(id) == 0 {
		return container
	}
	if !c.contains(container, id) {
		return doc.None
	}
	at, _ := slices.BinarySearchFunc(c.contained, id, func(n doc.Node, id []byte) int { return bytes.Compare(c.d.Str(n), id) })
	return c.d.Parent(c.contained[at])
}

// gatherTargets names the resources in the entries of a Bundle, once.
func (c *Checker) gatherTargets(bundle doc.Node) {
	if _, done := c.targets[target{bundle, ""}]; done {
		return
	}
	if c.targets == nil {
		c.targets = map[target]doc.Node{}
	}
	c.targets[target{bundle, ""}] = bundle
	for e := c.first(bundle, "entry"); e != doc.None; e = c.next(e) {
		resource, url := c.s.Child(e, "resource"), c.text(e, "fullUrl")
		if resource == doc.None {
			continue
		}
		c.nameTarget(target{bundle, string(url)}, resource)
		if id := c.text(resource, "id"); id != nil && (len(url) == 0 || bytes.HasPrefix(url, []byte("http"))) {
			c.nameTarget(target{bundle, c.s.TypeOf(resource).String() + "/" + string(id)}, resource)
		}
	}
}

// nameTarget keeps the first resource of a name.
func (c *Checker) nameTarget(t target, resource doc.Node) {
	if _, taken := c.targets[t]; !taken {
		c.targets[t] = resource
	}
}
