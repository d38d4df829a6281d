package invariant

import (
	"bytes"

	"runsheet.example/validate/doc"
)

var structureDefinitionRules = []rule{
	{key: "sdf-0", holds: isComputerName},
	{key: "sdf-1", fault: func(c *checker, n node) doc.Node {
		if c.is(n, "derivation", "constraint") {
			return doc.None
		}
		return c.duplicateOf(c.s.Child(n, "snapshot"), "element", "path")
	}},
	{key: "sdf-4", holds: func(c *checker, n node) bool { return c.isTrue(n, "abstract") || c.has(n, "baseDefinition") }},
	{key: "sdf-5", holds: func(c *checker, n node) bool {
		return !c.is(n, "type", "Extension") || c.is(n, "derivation", "specialization") || c.has(n, "context")
	}},
	{key: "sdf-6", holds: func(c *checker, n node) bool { return c.hasAny(n, "snapshot", "differential") }},
	{key: "sdf-9", fault: func(c *checker, n node) doc.Node {
		return c.eachElement(n, func(e node) bool {
			return !c.isRootPath(e) || !c.hasAny(e, "label", "code", "requirements")
		})
	}},
	{key: "sdf-11", holds: func(c *checker, n node) bool {
		path, name := c.text(c.first(c.s.Child(n, "snapshot"), "element"), "path"), c.text(n, "type")
		return c.is(n, "kind", "logical") || path == nil || name == nil || bytes.Equal(path, name)
	}},
	{key: "sdf-14", fault: func(c *checker, n node) doc.Node {
		return c.eachElement(n, func(e node) bool { return c.has(e, "id") })
	}},
	{key: "sdf-15", holds: func(c *checker, n node) bool {
		return c.is(n, "kind", "logical") || !c.has(c.first(c.s.Child(n, "snapshot"), "element"), "type")
	}},
	{key: "sdf-15a", holds: func(c *checker, n node) bool {
		first := c.first(c.s.Child(n, "differential"), "element")
		return c.is(n, "kind", "logical") || first == doc.None || !c.isRootPath(first) || !c.has(first, "type")
	}},
	{key: "sdf-16", fault: func(c *checker, n node) doc.Node { return c.duplicateOf(c.s.Child(n, "snapshot"), "element", "id") }},
	{key: "sdf-17", fault: func(c *checker, n node) doc.Node { return c.duplicateOf(c.s.Child(n, "differential"), "element", "id") }},
	{key: "sdf-18", holds: func(c *checker, n node) bool { return !c.has(n, "contextInvariant") || c.is(n, "type", "Extension") }},
	{key: "sdf-19", fault: func(c *checker, n node) doc.Node {
		if !isOfTheStandard(c, n) {
			return doc.None
		}
		if at := c.badTypeCode(c.s.Child(n, "differential"), false); at != doc.None {
			return at
		}
		return c.badTypeCode(c.s.Child(n, "snapshot"), true)
	}},
	{key: "sdf-21", fault: func(c *checker, n node) doc.Node {
		if c.is(n, "derivation", "specialization") {
			return doc.None
		}
		return c.firstNot(c.s.Child(n, "differential"), "element", func(e node) bool { return !c.has(e, "defaultValue") })
	}},
	{key: "sdf-22", fault: func(c *checker, n node) doc.Node {
		if !isOfTheStandard(c, n) {
			return doc.None
		}
		return c.eachElement(n, func(e node) bool { return !c.has(e, "defaultValue") })
	}},
	{key: "sdf-23", fault: func(c *checker, n node) doc.Node {
		return c.eachElement(n, func(e node) bool { return !c.isRootPath(e) || !c.has(e, "sliceName") })
	}},
}

// eachElement returns the first element definition of snapshot or
// differential that does not pass.
func (c *Checker) eachElement(n doc.Node, pass func(doc.Node) bool) doc.Node {
	if at := c.firstNot(c.s.Child(n, "snapshot"), "element", pass); at != doc.None {
		return at
	}
	return c.firstNot(c.s.Child(n, "differential"), "element", pass)
}

// isRootPath reports whether the definition is of the type itself.
func (c *Checker) isRootPath(e doc.Node) bool {
	path := c.text(e, "path")
	return path != nil && bytes.IndexByte(path, '.') < 0
}

func isOfTheStandard(c *checker, n node) bool {
	return hasPrefix(c.text(n, "url"), "http://hl7.org/fhir/StructureDefinition")
}

// badTypeCode returns the first element definition with a type code that is
// neither a name of letters and digits nor a type of FHIRPath. Snapshots may
// have points in names.
func (c *Checker) badTypeCode(view doc.Node, points bool) doc.Node {
	return c.firstNot(view, "element", func(e doc.Node) bool {
		return c.all(e, "type", func(t doc.Node) bool {
			code := c.text(t, "code")
			if name, ok := bytes.CutPrefix(code, []byte("http://hl7.org/fhirpath/System.")); ok {
				code = name
			}
			for _, b := range code {
				if !isLetterOrDigit(b) && (b != '.' || !points) {
					return false
				}
			}
			return true
		})
	})
}

var definitionMappingRules = []rule{{key: "sdf-2", holds: func(c *checker, n node) bool { return c.hasAny(n, "name", "uri") }}}

var snapshotRules = []rule{
	{key: "sdf-3", fault: func(c *checker, n node) doc.Node {
		return c.firstNot(n, "element", func(e node) bool { return c.has(e, "definition") && c.has(e, "min") && c.has(e, "max") })
	}},
	{key: "sdf-8", fault: func(c *checker, n node) doc.Node {
		first := c.first(n, "element")
		path := c.text(first, "path")
		if !c.is(c.resourceOf(n), "kind", "logical") && !bytes.Equal(path, c.text(c.resourceOf(n), "type")) {
			return first
		}
		return c.firstNot(n, "element", func(e node) bool { return e == first || isBelow(c.text(e, "path"), path) })
	}},
	{key: "sdf-8b", fault: func(c *checker, n node) doc.Node {
		return c.firstNot(n, "element", func(e node) bool { return c.has(e, "base") })
	}},
	{key: "sdf-10", fault: func(c *checker, n node) doc.Node {
		return c.firstNot(n, "element", func(e node) bool {
			b := c.s.Child(e, "binding")
			return b == doc.None || c.hasAny(b, "valueSet", "description")
		})
	}},
}

var differentialRules = []rule{
	{key: "sdf-20", fault: func(c *checker, n node) doc.Node {
		return c.firstNot(n, "element", func(e node) bool { return !c.isRootPath(e) || !c.has(e, "slicing") })
	}},
	{key: "sdf-8a", fault: func(c *checker, n node) doc.Node {
		first := c.first(n, "element")
		path := c.text(first, "path")
		if !c.is(c.resourceOf(n), "kind", "logical") && !bytes.HasPrefix(path, c.text(c.resourceOf(n), "type")) {
			return first
		}
		root, _, _ := bytes.Cut(path, []byte("."))
		return c.firstNot(n, "element", func(e node) bool { return e == first || isBelow(c.text(e, "path"), root) })
	}},
}

// isBelow reports whether a path leads to something in another.
func isBelow(path, root []byte) bool {
	return len(path) > len(root) && bytes.HasPrefix(path, root) && path[len(root)] == '.'
}
