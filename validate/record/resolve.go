package record

import (
	"bytes"
	"hash/maphash"

	"runsheet.example/validate/doc"
)

// Outcome says how a reference resolved.
type Outcome uint8

const (
	// NoReference: the Reference has no literal reference.
	NoReference Outcome = iota
	// Found: the target is in the document.
	Found
	// Elsewhere: a literal that names a resource outside the document.
	Elsewhere
	// Conditional: a search, "Patient?identifier=…".
	Conditional
	// Missing: a reference that could only resolve in this document
	// ("urn:uuid:…", "#id") and does not.
	Missing
)

func (r *Record) link(name []byte, kind linkKind, resource int) {
	key := maphash.Bytes(r.seed, name)
	next, ok := r.links[key]
	if !ok {
		next = Nowhere
	}
	r.chain = append(r.chain, link{name, kind, int32(resource), next})
	r.links[key] = int32(len(r.chain) - 1)
}

// Hash is a hash of texts, for tables that live as long as the Record.
func (r *Record) Hash(texts ...[]byte) uint64 {
	var h maphash.Hash
	h.SetSeed(r.seed)
	for _, text := range texts {
		h.Write(text)
		h.WriteByte(0)
	}
	return h.Sum64()
}

// find returns the first resource in the document with a name, within a
// Bundle (Nowhere: in any).
func (r *Record) find(name []byte, kind linkKind, bundle int) int {
	found := Nowhere
	at, ok := r.links[maphash.Bytes(r.seed, name)]
	for ok && at >= 0 {
		l := &r.chain[at]
		if l.kind == kind && bytes.Equal(l.name, name) && (bundle == Nowhere || r.Resources[l.resource].Bundle == bundle) {
			found = int(l.resource)
		}
		at = l.next
	}
	return found
}

// ByIdentity returns the first resource with a record identifier, or Nowhere.
func (r *Record) ByIdentity(identity []byte) int { return r.find(identity, byIdentity, Nowhere) }

// Resolve follows a Reference that stands in the resource with index from.
func (r *Record) Resolve(reference doc.Node, from int) (target int, outcome Outcome) {
	return r.ResolveText(r.Doc.Str(r.Doc.Get(reference, "reference")), from)
}

// ResolveText follows the literal reference text.
func (r *Record) ResolveText(text []byte, from int) (target int, outcome Outcome) {
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

func (r *Record) contained(id []byte, from int) (int, Outcome) {
	owner := from
	if r.Resources[from].Owner != Nowhere {
		owner = r.Resources[from].Owner
	}
	if len(id) == 0 {
		return owner, Found
	}
	for i := owner + 1; i < len(r.Resources) && r.Resources[i].Owner == owner; i++ {
		if bytes.Equal(r.Resources[i].ID, id) {
			return i, Found
		}
	}
	return Nowhere, Missing
}

// urn looks in the entries of the same Bundle, then in those of the Bundles
// around it.
func (r *Record) urn(text []byte, from int) (int, Outcome) {
	for bundle := r.Resources[from].Bundle; bundle != Nowhere; bundle = r.Resources[bundle].Bundle {
		if found := r.find(text, byFullURL, bundle); found != Nowhere {
			return found, Found
		}
	}
	return Nowhere, Missing
}

// literal looks for "Type/id", absolute or not, with or without a version.
func (r *Record) literal(text []byte, from int) (int, Outcome) {
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
		found = r.relative(text, bundle)
	}
	r.lastRelative, r.lastBundle, r.lastFound = text, bundle, found
	if found == Nowhere {
		return Nowhere, Elsewhere
	}
	return found, Found
}

// relative looks for an entry whose fullUrl ends in "/Type/id", or whose
// resource has this type and id while its fullUrl does not say otherwise.
func (r *Record) relative(text []byte, bundle int) int {
	name, id, ok := bytes.Cut(text, []byte("/"))
	if !ok {
		return Nowhere
	}
	for i := range r.Resources {
		res := &r.Resources[i]
		if res.Bundle != bundle || res.Owner != Nowhere || res.Type != string(name) {
			continue
		}
		if rest, cut := bytes.CutSuffix(res.FullURL, text); cut && bytes.HasSuffix(rest, []byte("/")) {
			return i
		}
		literal := bytes.HasPrefix(res.FullURL, []byte("http"))
		if !literal && bytes.Equal(res.ID, id) {
			return i
		}
	}
	return Nowhere
}

// TargetType returns the resource type a literal reference names, "" when it
// names none ("urn:uuid:…", "#id").
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
