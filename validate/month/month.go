// Package month looks at all documents of one call together: whether one
// record identifier stands for one content, whether sessions overlap, stand
// twice or are missing, and whether the files are those the manifest of the
// export names.
//
// What it keeps of a document is a few dozen bytes for each resource, and it
// stops keeping at a limit, which it reports, so that memory does not grow
// with the input.
package month

import (
	"hash/maphash"
	"strconv"

	"runsheet.example/profiles"
	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/record"
)

// MaxKept is how many resources and values a Month keeps for comparison.
const MaxKept = 1_000_000

// Month gathers what is compared across documents. The zero value is ready.
type Month struct {
	// Single says that there is only one document, so that no resource of
	// another can be compared with its own.
	Single bool

	seed     maphash.Seed
	started  bool
	files    []string
	records  map[uint64]kept // by identity
	values   map[uint64]kept // by patient, code and time
	sessions []session
	full     bool
}

// kept is what is remembered of a resource: a digest and where it was.
type kept struct {
	digest   uint64
	identity uint64
	file     int32
	place    int32 // line of an NDJSON file, else ^index of the Bundle entry
}

// Reset forgets everything that was added.
func (m *Month) Reset() {
	m.files = m.files[:0]
	m.sessions = m.sessions[:0]
	clear(m.records)
	clear(m.values)
	m.full = false
}

// Full reports whether the limit was reached, so that later resources were not
// compared.
func (m *Month) Full() bool { return m.full }

// Add takes the resources of one document; line is its line in an NDJSON file,
// 0 for a document of its own. Findings about this document, compared with
// those before it, go to add.
func (m *Month) Add(rec *record.Record, file string, line int, add func(issue.Finding)) {
	if !m.started {
		m.seed, m.started = maphash.MakeSeed(), true
		m.records, m.values = map[uint64]kept{}, map[uint64]kept{}
	}
	if len(m.files) == 0 || m.files[len(m.files)-1] != file {
		m.files = append(m.files, file)
	}
	a := adder{m: m, rec: rec, d: rec.Doc, add: add, file: int32(len(m.files) - 1), base: line}
	for i := range rec.Resources {
		res := &rec.Resources[i]
		if res.Owner != record.Nowhere {
			continue
		}
		if len(res.Identity) > 0 && !m.Single {
			a.identity(res, a.digest(res.Node))
		}
		switch res.Type {
		case "Observation":
			a.value(i, res)
		case "Procedure":
			a.session(i, res)
		}
	}
}

// adder is one call of Add.
type adder struct {
	m    *Month
	rec  *record.Record
	d    *doc.Doc
	add  func(issue.Finding)
	file int32
	base int // line of the document in its file, or 0
	// lines is the number of line ends in the first counted bytes, lineStart
	// the offset after the last of them.
	lines, counted, lineStart int
}

// place is what place of a kept resource is remembered: lines are not counted
// for every resource of every document.
func (a *adder) place(res *record.Resource) int32 {
	if a.base > 0 {
		return int32(a.base)
	}
	return ^int32(a.d.Index(res.Entry))
}

func (a *adder) hash(parts ...[]byte) uint64 {
	var h maphash.Hash
	h.SetSeed(a.m.seed)
	for _, p := range parts {
		h.Write(p)
		h.WriteByte(0)
	}
	return h.Sum64()
}

// digest is a hash of what a resource says, whatever the white space, the
// server's own id and the way references are written.
func (a *adder) digest(n doc.Node) uint64 {
	d := a.d
	var h maphash.Hash
	h.SetSeed(a.m.seed)
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

func (a *adder) keep(where map[uint64]kept, key uint64, k kept) {
	if len(a.m.records)+len(a.m.values) >= MaxKept {
		a.m.full = true
		return
	}
	where[key] = k
}

// identity compares a resource with an earlier one of the same identifier.
func (a *adder) identity(res *record.Resource, digest uint64) {
	key := a.hash([]byte(res.Type), res.Identity)
	before, met := a.m.records[key]
	if !met {
		a.keep(a.m.records, key, kept{digest: digest, file: a.file, place: a.place(res)})
		return
	}
	switch {
	case before.digest != digest:
		f := a.d.Finding(res.Node, "month-record-conflict")
		f.Details, f.Value = "the same record identifier stands elsewhere with other content", string(res.Identity)+a.m.also(before)
		a.add(f)
	case (before.file != a.file || a.base > 0) && res.Type != "Device" && res.Type != "Patient":
		// A device or patient is sent with every session, to be created once.
		f := a.d.Finding(res.Node, "month-record-repeat")
		f.Details, f.Value = "the resource stands in another document too", string(res.Identity)+a.m.also(before)
		a.add(f)
	}
}

// also says where something was kept from, to stand after the value.
func (m *Month) also(k kept) string {
	if k.place > 0 {
		return "; also at " + m.files[k.file] + " line " + strconv.Itoa(int(k.place))
	}
	return "; also at " + m.files[k.file] + " entry " + strconv.Itoa(int(^k.place))
}

// value compares a measured value with an earlier one of the same patient,
// code and time. Only numbers with a time of day count: two alarms at one
// time are two alarms.
func (a *adder) value(i int, res *record.Resource) {
	d := a.d
	if res.Row == nil && !a.rec.HasCoding(res.Code, profiles.PressurePanel) || d.Is(res.Status, "entered-in-error") {
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
	key := a.hash(patient, d.Raw(d.Get(res.Code, "coding")), d.Raw(res.Effective), d.Str(d.Get(method, "code")), d.Raw(res.Extensions), d.Raw(res.Category))
	self := a.hash(res.Identity, []byte{0})
	if len(res.Identity) == 0 {
		self = a.digest(res.Node)
	}
	before, met := a.m.values[key]
	if !met {
		a.keep(a.m.values, key, kept{digest: a.hash(d.Raw(number)), identity: self, file: a.file, place: a.place(res)})
		return
	}
	if before.identity == self {
		return
	}
	f := d.Finding(res.Node, "month-record-value-twice")
	f.Details = "the patient has another value of this code at this time"
	if before.digest == a.hash(d.Raw(number)) {
		f.Details = "the patient has the same value of this code at this time under another identifier"
	}
	f.Value = string(res.Identity) + a.m.also(before)
	a.add(f)
}

// patient returns what tells one patient from another: the identifier, else
// the literal reference.
func (a *adder) patient(i int, res *record.Resource) ([]byte, bool) {
	d := a.d
	if id := d.Get(d.Get(res.Subject, "identifier"), "value"); id != doc.None {
		return d.Str(id), true
	}
	if target, outcome := a.rec.Resolve(res.Subject, i); outcome == record.Found {
		subject := &a.rec.Resources[target]
		if first := d.FirstChild(subject.Identifier); first != doc.None {
			return d.Str(d.Get(first, "value")), true
		}
		return subject.ID, len(subject.ID) > 0
	}
	text := d.Str(d.Get(res.Subject, "reference"))
	return text, len(text) > 0
}
