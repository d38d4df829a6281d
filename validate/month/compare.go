package month

import (
	"encoding/binary"

	"runsheet.example/validate/issue"
)

// Source is the origin of a document: its file, its line in an NDJSON file or
// 0, and the entry of a manifest for the file, if any.
type Source struct {
	File     string
	Line     int
	Manifest *Manifest
	Session  string
}

// Add compares a document with those added before and reports findings through
// add. Finish reports on what cannot be compared yet.
func (m *Month) Add(g *Digest, from Source, add func(issue.Finding)) {
	m.start()
	if len(g.entries) == 0 && len(g.sessions) == 0 {
		return
	}
	c := comparison{m: m, g: g, add: add, line: from.Line}
	c.file = m.in(file{from.File, from.Manifest, from.Session})
	for i := range g.entries {
		m.seq++
		c.entry(&g.entries[i])
	}
	for i := range g.sessions {
		m.seq++
		m.keepSession(&g.sessions[i], c.file)
	}
}

// comparison is the state of one call of Add.
type comparison struct {
	m    *Month
	g    *Digest
	add  func(issue.Finding)
	file int32
	line int
}

func (c *comparison) entry(e *entry) {
	m := c.m
	if before, known := m.firsts[e.key]; known {
		if rule, details := verdict(before, e, c.file, c.line > 0); rule != "" {
			at := c.g.place(e)
			at.file = c.file
			c.add(m.beside(at, rule, details, before))
		}
		if e.replaces(before) {
			m.firsts[e.key] = kept{e.digest, e.self, c.file, c.place(e)}
		}
		return
	}
	if len(m.firsts) < m.limits.kept {
		m.firsts[e.key] = kept{e.digest, e.self, c.file, c.place(e)}
		return
	}
	if m.failed == nil {
		m.fail(m.later.add(e.key, c.record(e)))
	}
}

// beside is a finding about a place and the kept entry it conflicts with.
func (m *Month) beside(at place, rule, details string, before kept) issue.Finding {
	f := m.finding(at, rule, details)
	f.Value = at.identity + m.also(before)
	return f
}

// place is the remembered position of a kept resource: its line in an NDJSON
// file, otherwise its entry.
func (c *comparison) place(e *entry) int32 {
	switch {
	case c.line > 0:
		return int32(c.line)
	case c.g.rec != nil:
		return ^int32(c.g.rec.Doc.Index(c.g.rec.Resources[e.resource].Entry))
	default:
		return ^c.g.spots[e.spot].entry
	}
}

// verdict is the rule that an entry violates against the first entry of its
// key, with details; the rule is empty if it violates none.
func verdict(before kept, e *entry, file int32, isLine bool) (rule, details string) {
	switch {
	case e.kind == ofValue && before.self == e.self:
		return "", ""
	case e.kind == ofValue && before.digest == e.digest:
		return "month-record-value-twice", "the patient has the same value of this code at this time under another identifier"
	case e.kind == ofValue:
		return "month-record-value-twice", "the patient has another value of this code at this time"
	case before.digest != e.digest && successive(version(before.self), version(e.self)):
		return "month-record-repeat", "another version of the resource stands elsewhere"
	case before.digest != e.digest:
		return "month-record-conflict", "the same record identifier stands elsewhere with other content"
	case e.kind == ofIdentity && (before.file != file || isLine):
		return "month-record-repeat", "the resource stands in another document too"
	}
	return "", ""
}

// replaces reports whether an entry is a later version of the kept one. It
// then replaces it, so that two corrections of one resource are compared with
// each other.
func (e *entry) replaces(before kept) bool {
	return e.kind != ofValue && before.digest != e.digest && version(e.self)&isLater != 0 && version(before.self)&isLater == 0
}

// The format of a record in the scratch file: an entry and its position.
const (
	atKey = 8 * iota
	atDigest
	atSelf
	atSeq
	atPlace // and file
	atLine  // and column
	atKind  // and length of the identity
	recordSize
)

func (c *comparison) record(e *entry) []byte {
	order := binary.LittleEndian
	b := c.m.spare[:0]
	for _, n := range [...]uint64{e.key, e.digest, e.self, c.m.seq} {
		b = order.AppendUint64(b, n)
	}
	at := c.g.place(e)
	for _, n := range [...]int32{c.place(e), c.file, at.line, at.column, int32(e.kind), int32(len(at.identity))} {
		b = order.AppendUint32(b, uint32(n))
	}
	c.m.spare = append(append(b, at.identity...), at.expression...)
	return c.m.spare
}

// stored is a record read back from the scratch file.
type stored struct {
	entry
	seq   uint64
	place int32
	rest  []byte // from line on
	file  int32
}

func read(b []byte) stored {
	order := binary.LittleEndian
	return stored{
		entry: entry{
			key: order.Uint64(b[atKey:]), digest: order.Uint64(b[atDigest:]), self: order.Uint64(b[atSelf:]),
			kind: kind(order.Uint32(b[atKind:])),
		},
		seq:   order.Uint64(b[atSeq:]),
		place: int32(order.Uint32(b[atPlace:])), file: int32(order.Uint32(b[atPlace+4:])),
		rest: b[atLine:],
	}
}

// at returns the place of a record.
func (s *stored) at() place {
	order := binary.LittleEndian
	texts := s.rest[recordSize-atLine:]
	identity := order.Uint32(s.rest[atKind-atLine+4:])
	return place{
		file: s.file, line: int32(order.Uint32(s.rest)), column: int32(order.Uint32(s.rest[4:])),
		identity: string(texts[:identity]), expression: string(texts[identity:]),
	}
}

// compareLater compares the resources and values of the scratch file. Records
// with one key are in one group, in document order, so that the first one read
// is the first in the documents. A group larger than memory is read several
// times, each time for other keys.
func (m *Month) compareLater(found *late) {
	if !m.later.used {
		return
	}
	defer m.later.close()
	for group := range scratchGroups {
		passes := uint64(m.later.groups[group].records/m.limits.kept) + 1
		for pass := range passes {
			clear(m.firsts) // entries of other keys are no longer needed
			err := m.later.each(group, func(b []byte) {
				if s := read(b); s.key/scratchGroups%passes == pass {
					m.compareStored(&s, found)
				}
			})
			m.fail(err)
		}
	}
}

func (m *Month) compareStored(s *stored, found *late) {
	before, known := m.firsts[s.key]
	if !known {
		m.firsts[s.key] = kept{s.digest, s.self, s.file, s.place}
		return
	}
	if rule, details := verdict(before, &s.entry, s.file, s.place > 0); rule != "" {
		at := s.at()
		found.add(s.seq, m.beside(at, rule, details, before))
	}
	if s.replaces(before) {
		m.firsts[s.key] = kept{s.digest, s.self, s.file, s.place}
	}
}
