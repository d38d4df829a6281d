// Package schema runs the JSON Schema published with FHIR R4 (HL7, CC0) over
// a document, with github.com/santhosh-tekuri/jsonschema: a check of the
// structure that is independent of package structure.
//
// It checks every resource, outermost, in a Bundle entry, contained or in
// Parameters, against the definition of its resourceType instead of against a
// choice of all 146, so that a mistake gives one finding at its place. It
// compiles a definition at its first use.
//
// The schema covers less than the standard, and the package adds nothing to it.
// It accepts a missing required primitive (status), a string or null in place
// of an object, an empty array or object, two types of one choice, any number
// as an integer, 30 February, wrong base64 and any narrative. It has no
// invariants, no references and only short value sets; its \S is that of Go,
// which does not treat a no-break space as white space.
//
// The package omits four kinds of wrong findings: null in an array of
// primitives with a primitive extension at its index (given: ["a", null]), the
// primitive extension of a canonical, valueMeta as a value of any type, and an
// unlisted language of an Expression (the schema is that of 4.0.0).
package schema

import (
	"errors"
	"fmt"
	"sync"

	"github.com/santhosh-tekuri/jsonschema/v5"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
)

var published = sync.OnceValue(newDefinitions) // kept for all documents

// Check checks one document and hands every finding to add, in the order of
// the document. It may be called from several goroutines at once, each with a
// document of its own. A document that is not whole JSON gives no finding
// here: [doc.Doc.Parse] reported it.
func Check(d *doc.Doc, add func(issue.Finding)) {
	if d.Broken() || d.Len() == 0 {
		return
	}
	value, whole := valueOf(d, d.Root())
	if !whole {
		return
	}
	definitions := published()
	schema, err := definitions.compile("ResourceList")
	if err == nil {
		err = schema.Validate(value)
	}
	var invalid *jsonschema.ValidationError
	switch {
	case err == nil:
	case errors.As(err, &invalid):
		report(d, invalid, definitions, add)
	default:
		// The definitions are embedded and compiled by the tests.
		panic(fmt.Sprintf("schema: %v", err))
	}
}

// valueOf converts a node to a value of the engine. Numbers become 0: the schema
// has no rule about their size, and no document can then make the engine compute
// 1e999999999. It reports false if a value breaks the grammar.
func valueOf(d *doc.Doc, n doc.Node) (value any, whole bool) {
	if d.Malformed(n) {
		return nil, false
	}
	switch d.Kind(n) {
	case doc.Object:
		return objectOf(d, n)
	case doc.Array:
		return arrayOf(d, n)
	case doc.String:
		return string(d.Str(n)), true
	case doc.Number:
		return float64(0), true
	case doc.Bool:
		return d.Raw(n)[0] == 't', true
	default:
		return nil, true
	}
}

// objectOf keeps the first of members that share a name, as [doc.Doc.Get]
// does when the finding is put into its place.
func objectOf(d *doc.Doc, n doc.Node) (any, bool) {
	object := make(map[string]any, d.Count(n))
	for c := d.FirstChild(n); c != doc.None; c = d.Next(c) {
		if _, twice := object[string(d.Key(c))]; twice {
			continue
		}
		value, whole := valueOf(d, c)
		if !whole {
			return nil, false
		}
		object[string(d.Key(c))] = value
	}
	return object, true
}

func arrayOf(d *doc.Doc, n doc.Node) (any, bool) {
	array := make([]any, 0, d.Count(n))
	for c := d.FirstChild(n); c != doc.None; c = d.Next(c) {
		value, whole := valueOf(d, c)
		if !whole {
			return nil, false
		}
		array = append(array, value)
	}
	return array, true
}
