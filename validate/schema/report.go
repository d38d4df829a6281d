package schema

import (
	"bytes"
	"cmp"
	"encoding/json"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"github.com/santhosh-tekuri/jsonschema/v5"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
)

// maxValue is how much of a wrong value a finding shows.
const maxValue = 80

// maxLeaves is how many errors of one document are looked at.
const maxLeaves = 500

// place is a finding with the node it is about.
type place struct {
	node    doc.Node
	keyword string
	message string
}

// report turns the engine's tree of errors into findings. Only its leaves say
// anything; the branches repeat the way to them. The engine lists them in any
// order.
func report(d *doc.Doc, invalid *jsonschema.ValidationError, ds *definitions, add func(issue.Finding)) {
	leaves := appendLeaves(nil, invalid)
	slices.SortFunc(leaves, func(a, b *jsonschema.ValidationError) int {
		return cmp.Or(cmp.Compare(a.InstanceLocation, b.InstanceLocation), cmp.Compare(a.KeywordLocation, b.KeywordLocation))
	})
	more := len(leaves) > maxLeaves
	var places []place
	for _, leaf := range leaves[:min(len(leaves), maxLeaves)] {
		places = appendPlaces(places, d, leaf, ds)
	}
	slices.SortFunc(places, func(a, b place) int {
		return cmp.Or(cmp.Compare(a.node, b.node), cmp.Compare(a.keyword, b.keyword), cmp.Compare(a.message, b.message))
	})
	for _, p := range slices.Compact(places) {
		if !isPaddingNull(d, p) {
			add(finding(d, p))
		}
	}
	if more {
		add(d.Finding(d.Root(), "schema-more", issue.T("the published JSON schema refuses more places than are listed")))
	}
}

func appendLeaves(leaves []*jsonschema.ValidationError, e *jsonschema.ValidationError) []*jsonschema.ValidationError {
	for _, cause := range e.Causes {
		leaves = appendLeaves(leaves, cause)
	}
	if len(e.Causes) == 0 {
		leaves = append(leaves, e)
	}
	return leaves
}

func appendPlaces(places []place, d *doc.Doc, e *jsonschema.ValidationError, ds *definitions) []place {
	node := find(d, e.InstanceLocation)
	keyword := e.KeywordLocation[strings.LastIndexByte(e.KeywordLocation, '/')+1:]
	if keyword == "enum" && strings.Contains(e.AbsoluteKeywordLocation, "Expression") && string(d.Key(node)) == "language" {
		return places // an extensible binding, in R4 4.0.1
	}
	if keyword != "additionalProperties" {
		return append(places, place{node, keyword, e.Message})
	}
	// The engine names all unknown members in one message, in any order.
	definition, _, _ := strings.Cut(strings.TrimPrefix(e.AbsoluteKeywordLocation, base), "#")
	known := ds.members(definition)
	open := known["valueAddress"] != nil && known["valueString"] != nil // a value[x] of any type
	for c := d.FirstChild(node); c != doc.None && len(places) < 2*maxLeaves; c = d.Next(c) {
		if name := string(d.Key(c)); known[name] == nil && !isCanonicalExtension(known, name) && (name != "valueMeta" || !open) {
			places = append(places, place{c, keyword, "no such member"})
		}
	}
	return places
}

// isCanonicalExtension reports whether a member is the primitive extension of a
// canonical. FHIR R4 (JSON Format, primitive elements) defines one for every
// primitive type; the schema lacks those of this type.
func isCanonicalExtension(known map[string]json.RawMessage, name string) bool {
	field, isExtension := strings.CutPrefix(name, "_")
	return isExtension && bytes.Contains(known[field], []byte(`"$ref":"canonical"`))
}

// find follows a JSON pointer (RFC 6901), which the engine writes with its
// member names escaped for a URL as well.
func find(d *doc.Doc, pointer string) doc.Node {
	node := d.Root()
	for token := range strings.SplitSeq(strings.TrimPrefix(pointer, "/"), "/") {
		if token == "" && pointer == "" {
			break
		}
		next := doc.None
		if d.Kind(node) == doc.Array {
			if index, err := strconv.Atoi(token); err == nil {
				next = d.Item(node, index)
			}
		} else if name, err := url.PathUnescape(token); err == nil {
			next = d.Get(node, strings.NewReplacer("~1", "/", "~0", "~").Replace(name))
		}
		if next == doc.None {
			return node
		}
		node = next
	}
	return node
}

// isPaddingNull reports whether the refused value is a null in an array of
// primitives or of their extensions, and the other array has a value at its
// index. FHIR R4 (JSON Format, primitive elements) allows it, the schema does
// not.
func isPaddingNull(d *doc.Doc, p place) bool {
	array := d.Parent(p.node)
	if p.keyword != "type" || d.Kind(p.node) != doc.Null || d.Kind(array) != doc.Array {
		return false
	}
	name := string(d.Key(array))
	sibling, isExtension := strings.CutPrefix(name, "_")
	if !isExtension {
		sibling = "_" + name
	}
	there := d.Item(d.Get(d.Parent(array), sibling), d.Index(p.node))
	return there != doc.None && d.Kind(there) != doc.Null
}

func finding(d *doc.Doc, p place) issue.Finding {
	f := d.Finding(p.node, ruleFor(p.keyword), issue.T("the published JSON schema says: {}", p.message))
	switch d.Kind(p.node) {
	case doc.Object, doc.Array:
	default:
		f.Value = excerpt(d.Raw(p.node))
	}
	return f
}

func ruleFor(keyword string) string {
	switch keyword {
	case "additionalProperties":
		return "schema-unknown"
	case "required":
		return "schema-required"
	case "type":
		return "schema-type"
	case "pattern":
		return "schema-pattern"
	case dispatchKeyword:
		return "schema-resource-type"
	default: // enum and const
		return "schema-code"
	}
}

// excerpt cuts a long value at a whole character.
func excerpt(raw []byte) string {
	if len(raw) <= maxValue {
		return string(raw)
	}
	return strings.ToValidUTF8(string(raw[:maxValue]), "") + "…"
}
