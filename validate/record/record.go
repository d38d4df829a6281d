// Package record reads a parsed document as FHIR R4 resources: which there
// are, in which Bundle entry or resource each stands, what identifies it and
// where its commonly needed elements are. It resolves references the way R4
// says ("Resolving references in Bundles") and tells which row of the code
// table an Observation belongs to.
//
// It judges nothing: what is missing or malformed is simply absent here and
// reported by the layers that check it.
package record

import (
	"bytes"
	"hash/maphash"

	"runsheet.example/profiles"
	"runsheet.example/validate/doc"
)

// Nowhere is the index of no resource.
const Nowhere = -1

// Resource is one resource of a document, with the nodes of those elements
// that more than one layer needs; an element that is absent is doc.None.
type Resource struct {
	// Node is the resource, Entry the Bundle entry it stands in, if any.
	Node, Entry doc.Node
	// Type is the resourceType as written, "" when there is none.
	Type string
	// Bundle is the index of the Bundle it is an entry of, Owner that of the
	// resource it is contained in; Nowhere for none.
	Bundle, Owner int
	// FullURL is the entry's, ID the resource's; empty when absent.
	FullURL, ID []byte
	// Identity is the value of the identifier in profiles.RecordIdentifier.
	Identity []byte
	// BundleType is the type of a Bundle.
	BundleType []byte

	Meta, Identifier, Contained        doc.Node
	Status, Code, Category, Subject    doc.Node
	Effective, Value, Absent           doc.Node
	Method, PartOf, DerivedFrom        doc.Node
	Component, Performer, Focus        doc.Node
	Target, Agent, Request, Extensions doc.Node

	// Hub is the index of the first Procedure of the document that PartOf
	// leads to, Nowhere for none.
	Hub int
	// Quantity is the value of an Observation, when it is an exact number
	// with a UCUM unit.
	Quantity    Quantity
	HasQuantity bool
	// Span is Effective as a stretch of time.
	Span Span
	// Row is the row of the code table, nil when the code is not in it.
	Row *profiles.Measurement
	// Exact tells that code and phase leave one field only: a body weight
	// that says neither "before" nor "after" is a weight, and not Exact.
	Exact bool
}

// Record is one document read as resources, in document order: a container
// before what it contains. The zero value is ready; it is reused from
// document to document and valid until the Doc is parsed anew.
type Record struct {
	Doc       *doc.Doc
	Resources []Resource
	seed      maphash.Seed
	seeded    bool
	links     map[uint64]int32 // hash of a name to the first link with it
	chain     []link
	// The latest relative reference looked for: most records name the same
	// Patient in every resource.
	lastRelative []byte
	lastBundle   int
	lastFound    int
}

// link is one name of a resource. Links whose names have the same hash form a
// list in document order; tail is the end of the list, kept at its head.
type link struct {
	kind       linkKind
	resource   int32
	next, tail int32
}

type linkKind uint8

const (
	byFullURL linkKind = iota
	byIdentity
	byTypeID    // "Type/id", of an entry
	byContained // the id of a contained resource, within its owner
)

// Read reads a document. It replaces what the Record held before.
func (r *Record) Read(d *doc.Doc) {
	r.Doc = d
	r.Resources = r.Resources[:0]
	r.chain = r.chain[:0]
	r.lastRelative, r.lastFound, r.lastBundle = nil, Nowhere, Nowhere
	if !r.seeded {
		r.seed, r.seeded = maphash.MakeSeed(), true
		r.links = map[uint64]int32{}
	}
	clear(r.links)
	r.resource(d.Root(), doc.None, Nowhere, Nowhere)
	for i := range r.Resources {
		r.hub(i, &r.Resources[i])
	}
}

// Around finds the resources around nodes that are asked for in the order of
// the document.
type Around struct {
	rec *Record
	at  int
}

// Around begins at the beginning of the document, which must be a resource.
func (r *Record) Around() Around { return Around{rec: r} }

// Of returns the index of the innermost resource around the node.
func (a *Around) Of(n doc.Node) int {
	r := a.rec
	for a.at+1 < len(r.Resources) && r.Resources[a.at+1].Node <= n {
		a.at++
	}
	at := a.at // it may have ended before the node
	for at > 0 && r.Doc.End(r.Resources[at].Node) <= r.Doc.Offset(n) {
		around := r.Resources[at].Owner
		if around == Nowhere {
			around = r.Resources[at].Bundle
		}
		at = max(around, 0)
	}
	return at
}

// hub follows partOf.
func (r *Record) hub(at int, res *Resource) {
	for p := r.Doc.FirstChild(res.PartOf); p != doc.None; p = r.Doc.Next(p) {
		if target, outcome := r.Resolve(p, at); outcome == Found && r.Resources[target].Type == "Procedure" {
			res.Hub = target
			return
		}
	}
}

// Root returns the outermost resource, nil when the document is none.
func (r *Record) Root() *Resource {
	if len(r.Resources) == 0 {
		return nil
	}
	return &r.Resources[0]
}

// resource reads one resource and those in it.
func (r *Record) resource(n, entry doc.Node, bundle, owner int) {
	d := r.Doc
	if d.Kind(n) != doc.Object {
		return
	}
	at := len(r.Resources)
	r.Resources = append(r.Resources, blank)
	res := &r.Resources[at]
	res.Node, res.Entry, res.Bundle, res.Owner = n, entry, bundle, owner
	res.FullURL = d.Str(d.Get(entry, "fullUrl"))
	entries := r.members(res)
	if res.Type == "Observation" {
		if res.Value != doc.None && string(d.Key(res.Value)) == "valueQuantity" {
			res.Quantity, res.HasQuantity = r.Quantity(res.Value)
		}
		r.classify(res)
	}
	if res.Effective != doc.None {
		res.Span = r.span(res.Effective)
	}
	r.name(at, res)
	contained := res.Contained // res moves when the slice grows
	for c := d.FirstChild(contained); c != doc.None; c = d.Next(c) {
		r.resource(c, doc.None, bundle, at)
	}
	for e := d.FirstChild(entries); e != doc.None; e = d.Next(e) {
		r.resource(d.Get(e, "resource"), e, at, Nowhere)
	}
}

var blank = Resource{
	Node: doc.None, Entry: doc.None, Bundle: Nowhere, Owner: Nowhere, Hub: Nowhere,
	Meta: doc.None, Identifier: doc.None, Contained: doc.None,
	Status: doc.None, Code: doc.None, Category: doc.None, Subject: doc.None,
	Effective: doc.None, Value: doc.None, Absent: doc.None,
	Method: doc.None, PartOf: doc.None, DerivedFrom: doc.None,
	Component: doc.None, Performer: doc.None, Focus: doc.None,
	Target: doc.None, Agent: doc.None, Request: doc.None, Extensions: doc.None,
}

// members notes the elements of a resource and returns the entries of a
// Bundle.
func (r *Record) members(res *Resource) (entries doc.Node) {
	d := r.Doc
	entries, bundleType := doc.None, doc.None
	for m := d.FirstChild(res.Node); m != doc.None; m = d.Next(m) {
		switch string(d.Key(m)) {
		case "resourceType":
			res.Type = typeName(d.Str(m))
		case "id":
			res.ID = d.Str(m)
		case "entry":
			entries = m
		case "type":
			bundleType = m
		default:
			if slot := res.slot(d.Key(m)); slot != nil {
				*slot = m
			}
		}
	}
	if res.Type != "Bundle" {
		entries = doc.None
	} else {
		res.BundleType = d.Str(bundleType)
	}
	res.Request = d.Get(res.Entry, "request")
	res.Identity = r.identity(res.Identifier)
	return entries
}

// slot returns where an element is noted, nil for one that is not.
func (res *Resource) slot(key []byte) *doc.Node {
	switch string(key) {
	case "meta":
		return &res.Meta
	case "identifier":
		return &res.Identifier
	case "contained":
		return &res.Contained
	case "status":
		return &res.Status
	case "code", "medicationCodeableConcept":
		return &res.Code
	case "category":
		return &res.Category
	case "subject", "patient":
		return &res.Subject
	case "effectiveDateTime", "effectivePeriod", "effectiveInstant", "performedPeriod", "performedDateTime":
		return &res.Effective
	case "valueQuantity", "valueCodeableConcept", "valueString", "valueInteger", "valueBoolean",
		"valueDateTime", "valuePeriod", "valueRange", "valueRatio", "valueSampledData", "valueTime":
		return &res.Value
	case "dataAbsentReason":
		return &res.Absent
	case "method":
		return &res.Method
	case "partOf":
		return &res.PartOf
	case "derivedFrom":
		return &res.DerivedFrom
	case "component":
		return &res.Component
	case "performer":
		return &res.Performer
	case "focus":
		return &res.Focus
	case "target":
		return &res.Target
	case "agent":
		return &res.Agent
	case "extension":
		return &res.Extensions
	}
	return nil
}

// identity returns the value of the first identifier that is a record
// identifier: a "urn:uuid:" in profiles.RecordIdentifier. Resources whose
// identifier is one object and no list (Bundle, Composition, ConceptMap) are
// not records of a treatment; an OID in the same system names something else.
func (r *Record) identity(n doc.Node) []byte {
	d := r.Doc
	if d.Kind(n) != doc.Array {
		return nil
	}
	for c := d.FirstChild(n); c != doc.None; c = d.Next(c) {
		value := d.Str(d.Get(c, "value"))
		if d.Is(d.Get(c, "system"), profiles.RecordIdentifier) && bytes.HasPrefix(value, []byte("urn:uuid:")) {
			return value
		}
	}
	return nil
}

// typeName gives the types that layers ask for without copying them.
func typeName(name []byte) string {
	switch string(name) {
	case "Observation":
		return "Observation"
	case "Procedure":
		return "Procedure"
	case "Patient":
		return "Patient"
	case "Device":
		return "Device"
	case "MedicationAdministration":
		return "MedicationAdministration"
	case "Provenance":
		return "Provenance"
	case "Bundle":
		return "Bundle"
	default:
		return string(name)
	}
}

// Defines reports whether a resource defines codes rather than uses them.
func (res *Resource) Defines() bool {
	switch res.Type {
	case "ValueSet", "CodeSystem", "ConceptMap":
		return true
	}
	return false
}
