package profile

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math/big"
	"strings"

	"runsheet.example/validate/doc"
)

// wanted is a fixed or pattern value of a profile, in written order.
type wanted struct {
	kind    doc.Kind
	text    string // of a string; a number or boolean as written
	members []wantedMember
	items   []wanted
}

type wantedMember struct {
	name  string
	value wanted
}

// readWanted parses a JSON value.
func readWanted(raw json.RawMessage) (wanted, error) {
	var d doc.Doc
	if found := d.Parse(raw, ""); len(found) > 0 || d.Broken() || d.Root() == doc.None {
		return wanted{}, fmt.Errorf("the value is not well-formed JSON")
	}
	return wantedOf(&d, d.Root()), nil
}

func wantedOf(d *doc.Doc, n doc.Node) wanted {
	w := wanted{kind: d.Kind(n)}
	switch w.kind {
	case doc.Object:
		for m := d.FirstChild(n); m != doc.None; m = d.Next(m) {
			w.members = append(w.members, wantedMember{string(d.Key(m)), wantedOf(d, m)})
		}
	case doc.Array:
		for i := d.FirstChild(n); i != doc.None; i = d.Next(i) {
			w.items = append(w.items, wantedOf(d, i))
		}
	case doc.String:
		w.text = string(d.Str(n))
	default:
		w.text = string(d.Raw(n))
	}
	return w
}

// at returns the wanted values of a child element, one per item.
func (w *wanted) at(path []string) []*wanted {
	if w.kind == doc.Array {
		var out []*wanted
		for i := range w.items {
			out = append(out, w.items[i].at(path)...)
		}
		return out
	}
	if len(path) == 0 {
		return []*wanted{w}
	}
	for i := range w.members {
		if w.members[i].name == path[0] {
			return w.members[i].value.at(path[1:])
		}
	}
	return nil
}

// String formats the value for a person: system#code if it is a code.
func (w *wanted) String() string {
	switch w.kind {
	case doc.Object:
		var system, code string
		var parts []string
		for i := range w.members {
			m := &w.members[i]
			switch m.name {
			case "system":
				system = m.value.text
			case "code":
				code = m.value.String()
			}
			parts = append(parts, m.name+" "+m.value.String())
		}
		if system != "" && code != "" && len(w.members) == 2 {
			return system + "#" + code
		}
		return strings.Join(parts, ", ")
	case doc.Array:
		var parts []string
		for i := range w.items {
			parts = append(parts, w.items[i].String())
		}
		return strings.Join(parts, " and ")
	default:
		return w.text
	}
}

// difference is the result of comparing a value with the wanted one: how many
// parts are equal, and the first one that differs.
type difference struct {
	same, total int
	// doubts counts parts that cannot be decided.
	doubts int
	// path is the path from the value to the first part that differs, or to
	// the parent of a missing part.
	path string
	at   doc.Node
	want string
	seen bool    // the part is present with another value
	why  verdict // why the part does not conform, if conformance is required
}

func (x *difference) hit() { x.same++; x.total++ }

func (x *difference) miss(at doc.Node, path, want string, seen bool) {
	if x.same == x.total {
		x.at, x.path, x.want, x.seen = at, path, want, seen
	}
	x.total++
}

// doubt counts a part that cannot be decided.
func (x *difference) doubt(at doc.Node, path, want string) {
	x.miss(at, path, want, true)
	x.doubts++
}

func (x *difference) none() bool { return x.same == x.total }

// open reports that no part is known to differ, but some part may.
func (x *difference) open() bool { return x.doubts > 0 && x.same+x.doubts == x.total }

// add adds the counts of another comparison.
func (x *difference) add(y difference) {
	if x.none() && !y.none() {
		x.at, x.path, x.want, x.seen, x.why = y.at, y.path, y.want, y.seen, y.why
	}
	x.same, x.total, x.doubts = x.same+y.same, x.total+y.total, x.doubts+y.doubts
}

// compare compares a value with a pattern, or (exact) with a fixed value
// (FHIR R4 4.0.1, ElementDefinition.pattern and .fixed).
func (c *Checker) compare(n doc.Node, w *wanted, exact bool) difference {
	var x difference
	c.compareInto(&x, n, w, exact, "")
	return x
}

func (c *Checker) compareInto(x *difference, n doc.Node, w *wanted, exact bool, path string) {
	d := c.d
	if !c.spend() {
		return
	}
	if w.kind == doc.Array {
		c.compareItems(x, n, w, exact, path)
		return
	}
	if d.Kind(n) != w.kind {
		x.miss(n, path, w.String(), true)
		return
	}
	if w.kind == doc.Object {
		c.compareMembers(x, n, w, exact, path)
		return
	}
	if sameText(d, n, w) {
		x.hit()
	} else {
		x.miss(n, path, w.String(), true)
	}
}

func sameText(d *doc.Doc, n doc.Node, w *wanted) bool {
	if w.kind == doc.String {
		return string(d.Str(n)) == w.text
	}
	raw := d.Raw(n)
	return string(raw) == w.text || w.kind == doc.Number && sameNumber(raw, w.text)
}

// sameNumber compares short numbers by value: 1.0 is 1.
func sameNumber(raw []byte, text string) bool {
	const enough = 40
	if len(raw) > enough || len(text) > enough || bytes.ContainsAny(raw, "eE") || strings.ContainsAny(text, "eE") {
		return false
	}
	a, ok := new(big.Rat).SetString(string(raw))
	b, okToo := new(big.Rat).SetString(text)
	return ok && okToo && a.Cmp(b) == 0
}

func (c *Checker) compareMembers(x *difference, n doc.Node, w *wanted, exact bool, path string) {
	d := c.d
	for i := range w.members {
		m := &w.members[i]
		at, below := d.Get(n, m.name), joined(path, m.name)
		if at == doc.None {
			x.miss(n, below, m.value.String(), false)
			continue
		}
		c.compareInto(x, at, &m.value, exact, below)
	}
	if !exact {
		return
	}
	for at := d.FirstChild(n); at != doc.None; at = d.Next(at) {
		if !w.names(d.Key(at)) {
			x.miss(at, joined(path, string(d.Key(at))), "", true)
		}
	}
}

func (w *wanted) names(key []byte) bool {
	for i := range w.members {
		if w.members[i].name == string(key) {
			return true
		}
	}
	return false
}

// compareItems finds each item of a pattern in an array; if none matches, the
// nearest gives the difference.
func (c *Checker) compareItems(x *difference, n doc.Node, w *wanted, exact bool, path string) {
	d := c.d
	if d.Kind(n) != doc.Array || exact && d.Count(n) != len(w.items) {
		x.miss(n, path, w.String(), true)
		return
	}
	for i := range w.items {
		if exact {
			c.compareInto(x, d.Item(n, i), &w.items[i], true, fmt.Sprintf("%s[%d]", path, i))
			continue
		}
		var nearest difference
		index := 0
		for at := d.FirstChild(n); at != doc.None; at = d.Next(at) {
			var y difference
			c.compareInto(&y, at, &w.items[i], false, fmt.Sprintf("%s[%d]", path, index))
			if index == 0 || y.nearer(nearest) {
				nearest = y
			}
			index++
		}
		if index == 0 {
			nearest.miss(n, path, w.items[i].String(), false)
		}
		x.add(nearest)
	}
}

// nearer reports whether fewer parts differ, or more agree.
func (x difference) nearer(y difference) bool {
	a, b := x.total-x.same, y.total-y.same
	return a < b || a == b && x.same > y.same
}

func joined(path, name string) string {
	if path == "" {
		return name
	}
	return path + "." + name
}
