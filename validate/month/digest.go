package month

import (
	"hash/maphash"
	"math/bits"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/resources"
)

// Digest is the part of one document that a Month needs; the document may be
// freed before the comparison. Its memory is reused for the next document.
// Digests may be made concurrently.
type Digest struct {
	entries  []entry
	sessions []session
	spots    []spot
	texts    []byte // of spots
	// rec is the document, if it is the only one: spots are then resolved on
	// demand.
	rec *resources.Index
}

// entry is a resource or a value, to be compared with the first entry with the
// same key.
type entry struct {
	key, digest uint64
	// self identifies the resource of a value; for an identity it is the
	// [version].
	self     uint64
	resource int32 // index in the Record
	spot     int32 // index in the Digest
	kind     kind
}

type kind uint8

const (
	ofIdentity kind = iota
	// ofShared is the identity of a resource that every session sends and the
	// server creates once: a device or patient.
	ofShared
	ofValue
)

// Reader makes digests for one Month.
type Reader struct {
	seed   maphash.Seed
	single bool
}

// Reader returns a Reader of digests for the Month.
func (m *Month) Reader() Reader {
	m.start()
	return Reader{m.seed, m.Single}
}

// Read makes the digest of a document; line is its line in an NDJSON file, 0
// for a single document.
func (r Reader) Read(into *Digest, rec *resources.Index, line int) {
	into.Reset()
	if r.single {
		into.rec = rec
	}
	a := adder{Reader: r, rec: rec, d: rec.Doc, out: into, lines: newLines(rec.Doc, line)}
	for i := range rec.Resources {
		res := &rec.Resources[i]
		if res.Owner != resources.Nowhere {
			continue
		}
		known := len(into.entries)
		if len(res.Identity) > 0 && !r.single {
			a.identity(i, res)
		}
		switch res.Type {
		case "Observation":
			a.value(i, res)
		case "Procedure":
			a.session(i, res)
		}
		if len(into.entries) > known && !r.single {
			a.spot(i, res, into.entries[known:])
		}
	}
}

// Reset empties a Digest.
func (g *Digest) Reset() {
	clear(g.sessions)
	clear(g.spots)
	*g = Digest{entries: g.entries[:0], sessions: g.sessions[:0], spots: g.spots[:0], texts: g.texts[:0]}
}

// adder is the state of one call of Read.
type adder struct {
	Reader
	rec   *resources.Index
	d     *doc.Doc
	out   *Digest
	lines lines
}

func (a *adder) hash(parts ...[]byte) uint64 {
	const odd = 0x9E3779B97F4A7C15 // 2^64 over the golden ratio
	h := uint64(len(parts))
	for _, p := range parts {
		h = bits.RotateLeft64(h*odd, 31) ^ maphash.Bytes(a.seed, p)
	}
	return h
}

// digest is a hash of the content of a resource, independent of white space,
// the id assigned by a server and the form of references.
func (a *adder) digest(n doc.Node) uint64 {
	d := a.d
	var h maphash.Hash
	h.SetSeed(a.seed)
	end := d.End(n)
	for at := n + 1; int(at) < d.Len() && d.Offset(at) < end; at++ {
		key := d.Key(at)
		switch string(key) {
		case "reference", "versionId", "lastUpdated":
			continue
		case "id":
			if d.Parent(at) == n {
				continue
			}
		}
		h.Write(key)
		h.WriteByte(byte(d.Kind(at)))
		switch d.Kind(at) {
		case doc.String:
			h.Write(d.Str(at))
		case doc.Number, doc.Bool:
			h.Write(d.Raw(at))
		}
		h.WriteByte(0)
	}
	return h.Sum64()
}

func (a *adder) identity(i int, res *resources.Resource) {
	one := entry{key: a.hash([]byte(res.Type), res.Identity), digest: a.digest(res.Node), self: uint64(a.version(res)), resource: int32(i), kind: ofIdentity}
	if res.Type == "Device" || res.Type == "Patient" {
		one.kind = ofShared
	}
	a.out.entries = append(a.out.entries, one)
}

// value adds a measured value, to be compared with an earlier one of the same
// patient, code and time. It uses only numbers with a time of day: two alarms
// at one time are two alarms.
func (a *adder) value(i int, res *resources.Resource) {
	d := a.d
	if res.Row == nil && !res.IsPressure || d.Is(res.Status, "entered-in-error") {
		return
	}
	number := d.Get(res.Value, "value")
	if res.Value == doc.None {
		number = res.Component
	}
	if !res.Span.HasStart || number == doc.None {
		return
	}
	patient, known := a.patient(i, res)
	if !known {
		return
	}
	method, _ := a.rec.IsComputed(res)
	one := entry{
		key:    a.hash(patient, d.Raw(d.Get(res.Code, "coding")), d.Raw(res.Effective), d.Str(d.Get(method, "code")), d.Raw(res.Extensions), d.Raw(res.Category)),
		digest: a.hash(d.Raw(number)), self: a.hash(res.Identity, []byte{0}),
		resource: int32(i), kind: ofValue,
	}
	if len(res.Identity) == 0 {
		one.self = a.digest(res.Node)
	}
	a.out.entries = append(a.out.entries, one)
}

// patient returns the identity of a patient: the identifier, otherwise the
// literal reference.
func (a *adder) patient(i int, res *resources.Resource) ([]byte, bool) {
	d := a.d
	if id := d.Get(d.Get(res.Subject, "identifier"), "value"); id != doc.None {
		return d.Str(id), true
	}
	if target, outcome := a.rec.Resolve(res.Subject, i); outcome == resources.Found {
		subject := &a.rec.Resources[target]
		if first := d.FirstChild(subject.Identifier); first != doc.None {
			return d.Str(d.Get(first, "value")), true
		}
		return subject.ID, len(subject.ID) > 0
	}
	text := d.Str(d.Get(res.Subject, "reference"))
	return text, len(text) > 0
}
