// Package resources reads a parsed document as FHIR R4 resources: their types,
// the Bundle entry or resource that contains each, their identifiers, and the
// elements that several layers need. It resolves references by the rules of R4
// ("Resolving references in Bundles") and finds the code table row of each
// Observation.
//
// It reports nothing: a missing or malformed element is absent here, and the
// layer that checks it reports it.
package resources

import (
	"bytes"
	"hash/maphash"

	"runsheet.example/profiles"
	"runsheet.example/validate/doc"
)

// Nowhere is the index that means no resource.
const Nowhere = -1

// Resource is one resource of a document, with the nodes of the elements that
// several layers need; an absent element is doc.None.
type Resource struct {
	// Node is the resource; Entry is the Bundle entry that contains it, if
	// any.
	Node, Entry doc.Node
	// Type is the resourceType as written, "" if absent.
	Type string
	// Bundle is the index of the Bundle with this entry, Owner the index of
	// the resource that contains it; Nowhere if there is none.
	Bundle, Owner int
	// FullURL is the fullUrl of the entry, ID the id of the resource; empty if
	// absent.
	FullURL, ID []byte
	// FullURLNode, Request and its members belong to the entry.
	FullURLNode, Request, RequestMethod, RequestURL, IfNoneExist doc.Node
	// Identity is the value of the identifier in profiles.RecordIdentifier.
	Identity []byte
	// First reports that no earlier resource has this Identity. It may also be
	// false without an earlier one: see Index.ByIdentity.
	First bool
	// BundleType is the type of a Bundle.
	BundleType []byte

	Meta, Identifier, Contained     doc.Node
	Status, Code, Category, Subject doc.Node
	Effective, Value, Absent        doc.Node
	Method, PartOf, DerivedFrom     doc.Node
	Component, Performer, Focus     doc.Node
	Target, Agent, Extensions       doc.Node

	typeName, id, entries, bundleType doc.Node

	algorithm doc.Node // see IsComputed

	// Hub is the index of the first Procedure of the document that PartOf
	// resolves to, or Nowhere.
	Hub int
	// Quantity is the value of an Observation if it is an exact number with a
	// UCUM unit.
	Quantity    Quantity
	HasQuantity bool
	// Span is Effective as a period.
	Span Span
	// Phase is that of Category.
	Phase profiles.Phase
	// IsPressure reports that one of the codes is the blood pressure panel.
	IsPressure bool
	// Row is the code table row, nil if the table lacks the code.
	Row *profiles.Measurement
	// Exact reports that code and phase identify one field. A body weight
	// without a "before" or "after" phase is a weight, and not Exact.
	Exact bool
}

// Index is the resources of one document in document order: a container
// before its content. The zero value is ready for use. It is reused from
// document to document and valid until the next Parse of the Doc.
type Index struct {
	Doc       *doc.Doc
	Resources []Resource
	// Codes are a receiver's codes that may replace local ones. Set it before
	// the first Read.
	Codes *profiles.CodeMap
	// References are the References in document order, after ReadReferences.
	References []Reference
	seed       maphash.Seed
	// Cache of facts by codes as written.
	codes  map[string]facts
	seeded bool
	links  map[uint64]int32 // name hash to the first link with it
	chain  []link
	// The latest relative reference resolved: most records refer to the same
	// Patient in every resource.
	lastRelative []byte
	lastBundle   int
	lastFound    int
	// The latest time and categories, cached for the same reason.
	lastTime     []byte
	lastSpan     Span
	lastCategory []byte
	lastPhase    profiles.Phase
}

// link is one name of a resource. Links with equal name hashes form a list in
// document order; the head stores the tail.
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

// Read reads a document and replaces the content of the Index.
func (r *Index) Read(d *doc.Doc) {
	r.Doc = d
	r.Resources = r.Resources[:0]
	r.chain = r.chain[:0]
	r.lastRelative, r.lastFound, r.lastBundle = nil, Nowhere, Nowhere
	r.lastTime, r.lastCategory = nil, nil
	if !r.seeded {
		r.seed, r.seeded = maphash.MakeSeed(), true
		r.links, r.codes = map[uint64]int32{}, map[string]facts{}
	}
	clear(r.links)
	r.resource(d.Root(), Nowhere, Nowhere)
	for i := range r.Resources {
		r.hub(i, &r.Resources[i])
	}
}

// Around finds the resources that contain given nodes. Nodes must come in
// document order.
type Around struct {
	rec *Index
	at  int
}

// Around starts at the beginning of the document, which must be a resource.
func (r *Index) Around() Around { return Around{rec: r} }

// Of returns the index of the innermost resource that contains the node.
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
func (r *Index) hub(at int, res *Resource) {
	for p := r.Doc.FirstChild(res.PartOf); p != doc.None; p = r.Doc.Next(p) {
		if target, outcome := r.Resolve(p, at); outcome == Found && r.Resources[target].Type == "Procedure" {
			res.Hub = target
			return
		}
	}
}

// Root returns the outermost resource, nil if the document is not a resource.
func (r *Index) Root() *Resource {
	if len(r.Resources) == 0 {
		return nil
	}
	return &r.Resources[0]
}

// resource reads one resource and those within it. It returns nil if the value
// is not a resource. The pointer is valid until the next call.
func (r *Index) resource(n doc.Node, bundle, owner int) {
	at := r.begin(n, bundle, owner)
	if at != Nowhere {
		r.read(at)
	}
}

// entry reads an entry of a Bundle.
func (r *Index) entry(e doc.Node, bundle int) {
	d := r.Doc
	resource, request, url := doc.None, doc.None, doc.None
	for m := d.FirstChild(e); m != doc.None; m = d.Next(m) {
		switch string(d.Key(m)) {
		case "resource":
			resource = firstOf(resource, m)
		case "request":
			request = firstOf(request, m)
		case "fullUrl":
			url = firstOf(url, m)
		}
	}
	at := r.begin(resource, bundle, Nowhere)
	if at == Nowhere {
		return
	}
	res := &r.Resources[at]
	res.Entry, res.Request, res.FullURLNode, res.FullURL = e, request, url, d.Str(url)
	for m := d.FirstChild(request); m != doc.None; m = d.Next(m) {
		switch string(d.Key(m)) {
		case "method":
			res.RequestMethod = firstOf(res.RequestMethod, m)
		case "url":
			res.RequestURL = firstOf(res.RequestURL, m)
		case "ifNoneExist":
			res.IfNoneExist = firstOf(res.IfNoneExist, m)
		}
	}
	r.read(at)
}

// firstOf returns the first of several members with one name, like
// [doc.Doc.Get].
func firstOf(known, m doc.Node) doc.Node {
	if known != doc.None {
		return known
	}
	return m
}

// begin adds a resource and returns its index, Nowhere if the value is not a
// resource.
func (r *Index) begin(n doc.Node, bundle, owner int) int {
	if r.Doc.Kind(n) != doc.Object {
		return Nowhere
	}
	r.Resources = append(r.Resources, blank)
	res := &r.Resources[len(r.Resources)-1]
	res.Node, res.Bundle, res.Owner = n, bundle, owner
	return len(r.Resources) - 1
}

// read reads the members of a resource and the resources within it.
func (r *Index) read(at int) {
	d := r.Doc
	res := &r.Resources[at]
	entries := r.members(res)
	if res.Category != doc.None {
		res.Phase = r.phaseOf(res.Category)
	}
	if res.Type == "Observation" {
		if res.Value != doc.None && string(d.Key(res.Value)) == "valueQuantity" {
			res.Quantity, res.HasQuantity = r.Quantity(res.Value)
		}
		r.classify(res)
	}
	if res.Method != doc.None {
		res.algorithm = r.algorithm(res.Method)
	}
	if res.Effective != doc.None {
		res.Span = r.span(res.Effective)
	}
	r.name(at, res)
	contained, bundle := res.Contained, res.Bundle // res moves when the slice grows
	for c := d.FirstChild(contained); c != doc.None; c = d.Next(c) {
		r.resource(c, bundle, at)
	}
	for e := d.FirstChild(entries); e != doc.None; e = d.Next(e) {
		r.entry(e, at)
	}
}

// members records the elements of a resource and returns the entries of a
// Bundle.
func (r *Index) members(res *Resource) (entries doc.Node) {
	d := r.Doc
	for m := d.FirstChild(res.Node); m != doc.None; m = d.Next(m) {
		if field := slotOf(d, m); field != nil {
			*field(res) = m
		}
	}
	res.Type, res.ID, res.Identity = typeName(d.Str(res.typeName)), d.Str(res.id), r.identity(res.Identifier)
	if res.Type != "Bundle" {
		return doc.None
	}
	res.BundleType = d.Str(res.bundleType)
	return res.entries
}

// identity returns the value of the first record identifier: a "urn:uuid:" in
// profiles.RecordIdentifier. Resources with a single identifier object
// (Bundle, Composition, ConceptMap) are not treatment records; an OID in the
// same system identifies something else.
func (r *Index) identity(n doc.Node) []byte {
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

// typeName returns the types that layers compare most, without an allocation.
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

// Defines reports whether a resource type defines codes rather than uses them.
func (res *Resource) Defines() bool {
	switch res.Type {
	case "ValueSet", "CodeSystem", "ConceptMap":
		return true
	}
	return false
}
