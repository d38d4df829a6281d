package resources

import (
	"bytes"
	"encoding/binary"
	"hash/maphash"

	"runsheet.example/validate/doc"
)

// Outcome is the result of resolving a reference.
type Outcome uint8

const (
	// NoReference: the Reference has no literal reference.
	NoReference Outcome = iota
	// Found: the target is in the document.
	Found
	// Elsewhere: a literal reference to a resource outside the document.
	Elsewhere
	// Conditional: a search, "Patient?identifier=…".
	Conditional
	// Missing: a reference that can resolve only in this document
	// ("urn:uuid:…", "#id") and does not.
	Missing
)

// Reference is a Reference of the document with its target.
type Reference struct {
	// Node is the Reference; Literal, Stated and Identifier are its members
	// reference, type and identifier, doc.None if absent.
	Node, Literal, Stated, Identifier doc.Node
	// Text is the literal reference, nil if absent.
	Text []byte
	// From is the index of the innermost resource that contains it, Target that
	// of its target, Nowhere unless the Outcome is Found.
	From, Target int
	Outcome      Outcome
	// Type is the resource type of the target as far as it is known: its own,
	// or the one in Text.
	Type string
}

// ReadReferences reads and resolves References, which must be in document
// order.
func (r *Index) ReadReferences(nodes []doc.Node) {
	r.References = r.References[:0]
	around := r.Around()
	for _, n := range nodes {
		r.References = append(r.References, r.Reference(n, around.Of(n)))
	}
}

// Reference reads and resolves a Reference in the resource with index from.
func (r *Index) Reference(n doc.Node, from int) Reference {
	d := r.Doc
	ref := Reference{Node: n, Literal: doc.None, Stated: doc.None, Identifier: doc.None, From: from}
	for m := d.FirstChild(n); m != doc.None; m = d.Next(m) {
		switch string(d.Key(m)) {
		case "reference":
			ref.Literal = firstOf(ref.Literal, m)
		case "type":
			ref.Stated = firstOf(ref.Stated, m)
		case "identifier":
			ref.Identifier = firstOf(ref.Identifier, m)
		}
	}
	ref.Text = d.Str(ref.Literal)
	if ref.Target, ref.Outcome = r.ResolveText(ref.Text, from); ref.Outcome == Found {
		ref.Type = r.Resources[ref.Target].Type
	} else {
		ref.Target, ref.Type = Nowhere, typeName(TargetType(ref.Text))
	}
	return ref
}

// name links a resource to the names that references may use for it.
func (r *Index) name(at int, res *Resource) {
	if res.Owner != Nowhere {
		if len(res.ID) > 0 {
			r.link(r.containedKey(res.Owner, res.ID), byContained, at)
		}
		return
	}
	if len(res.FullURL) > 0 {
		r.link(maphash.Bytes(r.seed, res.FullURL), byFullURL, at)
	}
	if len(res.Identity) > 0 {
		res.First = !r.link(maphash.Bytes(r.seed, res.Identity), byIdentity, at)
	}
	if tail := typeAndID(res.FullURL); len(tail) > 0 {
		r.link(maphash.Bytes(r.seed, tail), byTypeID, at)
	} else if len(res.ID) > 0 && res.Bundle != Nowhere {
		var h maphash.Hash
		h.SetSeed(r.seed)
		h.WriteString(res.Type)
		h.WriteByte('/')
		h.Write(res.ID)
		r.link(h.Sum64(), byTypeID, at)
	}
}

// typeAndID returns the suffix "Type/id" of a resource's URL, nil for any
// other text.
func typeAndID(url []byte) []byte {
	if !bytes.HasPrefix(url, []byte("http")) {
		return nil
	}
	last := bytes.LastIndexByte(url, '/')
	before := bytes.LastIndexByte(url[:max(last, 0)], '/')
	if before < 0 {
		return nil
	}
	return url[before+1:]
}

func (r *Index) containedKey(owner int, id []byte) uint64 {
	var h maphash.Hash
	h.SetSeed(r.seed)
	var number [8]byte
	binary.LittleEndian.PutUint64(number[:], uint64(owner))
	h.Write(number[:])
	h.WriteByte('#')
	h.Write(id)
	return h.Sum64()
}

// link adds a name and reports whether a name with the same hash exists.
func (r *Index) link(key uint64, kind linkKind, resource int) (met bool) {
	at := int32(len(r.chain))
	r.chain = append(r.chain, link{kind, int32(resource), Nowhere, at})
	head, met := r.links[key]
	if !met {
		r.links[key] = at
		return false
	}
	r.chain[r.chain[head].tail].next = at
	r.chain[head].tail = at
	return true
}

// Hash is a hash of texts for tables with the lifetime of the Index.
func (r *Index) Hash(texts ...[]byte) uint64 {
	var h maphash.Hash
	h.SetSeed(r.seed)
	for _, text := range texts {
		h.Write(text)
		h.WriteByte(0)
	}
	return h.Sum64()
}

// find returns the first resource with a name within a Bundle (Nowhere: in
// any).
func (r *Index) find(name []byte, kind linkKind, bundle int) int {
	at, ok := r.links[maphash.Bytes(r.seed, name)]
	for ; ok && at >= 0; at = r.chain[at].next {
		l := &r.chain[at]
		res := &r.Resources[l.resource]
		if l.kind == kind && (bundle == Nowhere || res.Bundle == bundle) && res.hasName(name, kind) {
			return int(l.resource)
		}
	}
	return Nowhere
}

// hasName compares a name with the resource's own, because equal hashes do not
// prove equal names.
func (res *Resource) hasName(name []byte, kind linkKind) bool {
	switch kind {
	case byFullURL:
		return bytes.Equal(res.FullURL, name)
	case byIdentity:
		return bytes.Equal(res.Identity, name)
	case byTypeID:
		if tail := typeAndID(res.FullURL); len(tail) > 0 {
			return bytes.Equal(tail, name)
		}
		return len(name) == len(res.Type)+1+len(res.ID) && string(name[:len(res.Type)]) == res.Type &&
			name[len(res.Type)] == '/' && bytes.HasSuffix(name, res.ID)
	default:
		return bytes.Equal(res.ID, name)
	}
}

// ByIdentity returns the first resource with a record identifier, or Nowhere.
func (r *Index) ByIdentity(identity []byte) int { return r.find(identity, byIdentity, Nowhere) }

// Resolve resolves a Reference in the resource with index from.
func (r *Index) Resolve(reference doc.Node, from int) (target int, outcome Outcome) {
	return r.ResolveText(r.Doc.Str(r.Doc.Get(reference, "reference")), from)
}

// ResolveText resolves a literal reference.
func (r *Index) ResolveText(text []byte, from int) (target int, outcome Outcome) {
	switch {
	case len(text) == 0:
		return Nowhere, NoReference
	case text[0] == '#':
		return r.contained(text[1:], from)
	case bytes.HasPrefix(text, []byte("urn:")):
		return r.urn(text, from)
	case bytes.IndexByte(text, '?') >= 0:
		return Nowhere, Conditional
	default:
		return r.literal(text, from)
	}
}

func (r *Index) contained(id []byte, from int) (int, Outcome) {
	owner := from
	if r.Resources[from].Owner != Nowhere {
		owner = r.Resources[from].Owner
	}
	if len(id) == 0 {
		return owner, Found
	}
	at, ok := r.links[r.containedKey(owner, id)]
	for ; ok && at >= 0; at = r.chain[at].next {
		res := &r.Resources[r.chain[at].resource]
		if r.chain[at].kind == byContained && res.Owner == owner && res.hasName(id, byContained) {
			return int(r.chain[at].resource), Found
		}
	}
	return Nowhere, Missing
}

// urn searches the entries of the same Bundle, then those of the Bundles that
// contain it.
func (r *Index) urn(text []byte, from int) (int, Outcome) {
	for bundle := r.Resources[from].Bundle; bundle != Nowhere; bundle = r.Resources[bundle].Bundle {
		if found := r.find(text, byFullURL, bundle); found != Nowhere {
			return found, Found
		}
	}
	return Nowhere, Missing
}

// literal searches for "Type/id", absolute or relative, with or without a
// version.
func (r *Index) literal(text []byte, from int) (int, Outcome) {
	bundle := r.Resources[from].Bundle
	if bundle == Nowhere {
		return Nowhere, Elsewhere
	}
	if at := bytes.Index(text, []byte("/_history/")); at >= 0 {
		text = text[:at]
	}
	if bundle == r.lastBundle && bytes.Equal(text, r.lastRelative) {
		if r.lastFound == Nowhere {
			return Nowhere, Elsewhere
		}
		return r.lastFound, Found
	}
	found := r.find(text, byFullURL, bundle)
	if found == Nowhere && !bytes.Contains(text, []byte("://")) {
		found = r.find(text, byTypeID, bundle)
	}
	r.lastRelative, r.lastBundle, r.lastFound = text, bundle, found
	if found == Nowhere {
		return Nowhere, Elsewhere
	}
	return found, Found
}

// TargetType returns the resource type in a literal reference, "" if it has
// none ("urn:uuid:…", "#id").
func TargetType(text []byte) []byte {
	if bytes.HasPrefix(text, []byte("urn:")) || bytes.HasPrefix(text, []byte("#")) {
		return nil
	}
	if name, _, ok := bytes.Cut(text, []byte("?")); ok {
		text = name
		return text[bytes.LastIndexByte(text, '/')+1:]
	}
	if at := bytes.Index(text, []byte("/_history/")); at >= 0 {
		text = text[:at]
	}
	at := bytes.LastIndexByte(text, '/')
	if at < 0 {
		return nil
	}
	text = text[:at]
	return text[bytes.LastIndexByte(text, '/')+1:]
}
