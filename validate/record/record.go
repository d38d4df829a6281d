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
	"runsheet.example/validate/structure"
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
	// FullURLNode, Request and its members are the entry's.
	FullURLNode, Request, RequestMethod, RequestURL, IfNoneExist doc.Node
	// Identity is the value of the identifier in profiles.RecordIdentifier.
	Identity []byte
	// First tells that no resource before has this Identity. A resource that
	// is not First need not have it from one before: see Record.ByIdentity.
	First bool
	// BundleType is the type of a Bundle.
	BundleType []byte

	Meta, Identifier, Contained     doc.Node
	Status, Code, Category, Subject doc.Node
	Effective, Value, Absent        doc.Node
	Method, PartOf, DerivedFrom     doc.Node
	Component, Performer, Focus     doc.Node
	Target, Agent, Extensions       doc.Node

	// Hub is the index of the first Procedure of the document that PartOf
	// leads to, Nowhere for none.
	Hub int
	// Quantity is the value of an Observation, when it is an exact number
	// with a UCUM unit.
	Quantity    Quantity
	HasQuantity bool
	// Span is Effective as a stretch of time.
	Span Span
	// IsPressure tells that one of the codes is the panel of a blood pressure.
	IsPressure bool
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
	// Codes are the codes with their systems, once ReadCodes was called.
	Codes []Code
	seed  maphash.Seed
	slots *slotTable
	// While a typed document is read.
	types     *structure.Checker
	byElement *[structure.Elements]slot
	// What is known of codes as they are written.
	codes  map[string]facts
	seeded bool
	links  map[uint64]int32 // hash of a name to the first link with it
	chain  []link
	// The latest relative reference looked for: most records name the same
	// Patient in every resource.
	lastRelative []byte
	lastBundle   int
	lastFound    int
	// The latest time and categories read, for the same reason.
	lastTime     []byte
	lastSpan     Span
	lastCategory []byte
	lastPhase    profiles.Phase
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

// ReadTyped reads the document that was checked last.
func (r *Record) ReadTyped(types *structure.Checker) {
	if r.byElement == nil {
		r.byElement = slotsByElement()
	}
	r.types = types
	r.Read(types.Doc())
	r.types = nil
}

// Read reads a document. It replaces what the Record held before.
func (r *Record) Read(d *doc.Doc) {
	r.Doc = d
	r.Resources, r.Codes = r.Resources[:0], r.Codes[:0]
	r.chain = r.chain[:0]
	r.lastRelative, r.lastFound, r.lastBundle = nil, Nowhere, Nowhere
	r.lastTime, r.lastCategory = nil, nil
	if !r.seeded {
		r.seed, r.seeded = maphash.MakeSeed(), true
		r.links, r.slots, r.codes = map[uint64]int32{}, slots(), map[string]facts{}
	}
	clear(r.links)
	r.resource(d.Root(), Nowhere, Nowhere)
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

// resource reads one resource and those in it. It returns nil when it is none;
// what it returns moves when another one is read.
func (r *Record) resource(n doc.Node, bundle, owner int) {
	at := r.begin(n, bundle, owner)
	if at != Nowhere {
		r.read(at)
	}
}

// entry reads an entry of a Bundle.
func (r *Record) entry(e doc.Node, bundle int) {
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

// firstOf is the first of members that share a name, as for [doc.Doc.Get].
func firstOf(known, m doc.Node) doc.Node {
	if known != doc.None {
		return known
	}
	return m
}

// begin adds a resource and returns its index, Nowhere when it is none.
func (r *Record) begin(n doc.Node, bundle, owner int) int {
	if r.Doc.Kind(n) != doc.Object {
		return Nowhere
	}
	r.Resources = append(r.Resources, blank)
	res := &r.Resources[len(r.Resources)-1]
	res.Node, res.Bundle, res.Owner = n, bundle, owner
	return len(r.Resources) - 1
}

// read reads the members of a resource, and the resources in it.
func (r *Record) read(at int) {
	d := r.Doc
	res := &r.Resources[at]
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
	contained, bundle := res.Contained, res.Bundle // res moves when the slice grows
	for c := d.FirstChild(contained); c != doc.None; c = d.Next(c) {
		r.resource(c, bundle, at)
	}
	for e := d.FirstChild(entries); e != doc.None; e = d.Next(e) {
		r.entry(e, at)
	}
}

var blank = Resource{
	Node: doc.None, Entry: doc.None, Bundle: Nowhere, Owner: Nowhere, Hub: Nowhere,
	Meta: doc.None, Identifier: doc.None, Contained: doc.None,
	Status: doc.None, Code: doc.None, Category: doc.None, Subject: doc.None,
	Effective: doc.None, Value: doc.None, Absent: doc.None,
	Method: doc.None, PartOf: doc.None, DerivedFrom: doc.None,
	Component: doc.None, Performer: doc.None, Focus: doc.None,
	Target: doc.None, Agent: doc.None, Extensions: doc.None,
	FullURLNode: doc.None, Request: doc.None, RequestMethod: doc.None, RequestURL: doc.None, IfNoneExist: doc.None,
}

// members notes the elements of a resource and returns the entries of a
// Bundle.
func (r *Record) members(res *Resource) (entries doc.Node) {
	d := r.Doc
	entries, bundleType := doc.None, doc.None
	for m := d.FirstChild(res.Node); m != doc.None; m = d.Next(m) {
		switch slot := r.slotOf(m); slot {
		case noSlot:
		case slotType:
			res.Type = typeName(d.Str(m))
		case slotID:
			res.ID = d.Str(m)
		case slotEntry:
			entries = m
		case slotBundleType:
			bundleType = m
		default:
			*res.slot(slot) = m
		}
	}
	if res.Type != "Bundle" {
		entries = doc.None
	} else {
		res.BundleType = d.Str(bundleType)
	}
	res.Identity = r.identity(res.Identifier)
	return entries
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
