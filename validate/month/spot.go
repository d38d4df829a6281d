package month

import (
	"bytes"
	"strconv"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/resources"
)

// place is the position of a resource, for a finding about it.
type place struct {
	file, line, column   int32
	identity, expression string
}

// spot is a position in a document in the form of a Digest. It is cheap to
// make, because most are never resolved.
type spot struct {
	line, column int32
	entry        int32 // of a Bundle, ^0 for the outermost resource
	texts        int32 // offset of the identity
	identity     int32 // its length
	expression   string
}

// ofEntry returns the expression of an entry of the outermost Bundle.
const ofEntry = "Bundle.entry["

// spot returns the position of a resource.
func (a *adder) spot(i int, res *resources.Resource, entries []entry) {
	g := a.out
	one := a.lines.spot(a.rec, i)
	one.texts = int32(len(g.texts))
	g.texts = append(g.texts, cut(res.Identity)...)
	one.identity = int32(len(g.texts)) - one.texts
	for e := range entries {
		entries[e].spot = int32(len(g.spots))
	}
	g.spots = append(g.spots, one)
}

// place resolves the position of an entry; the caller sets the file.
func (g *Digest) place(e *entry) place {
	if g.rec != nil {
		l := newLines(g.rec.Doc, 0)
		return l.place(g.rec, int(e.resource))
	}
	s := &g.spots[e.spot]
	return place{line: s.line, column: s.column, identity: string(g.identity(s)), expression: s.path()}
}

func (g *Digest) identity(s *spot) []byte { return g.texts[s.texts : s.texts+s.identity] }

// path formats the expression of a spot.
func (s *spot) path() string {
	if s.expression == ofEntry {
		return ofEntry + strconv.Itoa(int(s.entry)) + "].resource"
	}
	return s.expression
}

// lines counts lines up to ascending positions, which is cheaper than an index
// of all lines.
type lines struct {
	d    *doc.Doc
	base int // line of the document in its file, or 0
	// ends is the number of line ends in the first counted bytes, start is the
	// offset after the last one.
	ends, counted, start int
}

func newLines(d *doc.Doc, base int) lines { return lines{d: d, base: base} }

// position returns line and column of a node in its file. Nodes must come in
// document order.
func (l *lines) position(n doc.Node) (line, column int32) {
	offset := l.d.Offset(n)
	since := l.d.Data[l.counted:offset]
	if ends := bytes.Count(since, []byte{'\n'}); ends > 0 {
		l.ends += ends
		l.start = l.counted + bytes.LastIndexByte(since, '\n') + 1
	}
	l.counted = offset
	return int32(l.ends + max(l.base, 1)), int32(1 + offset - l.start)
}

// spot returns the position of a resource, without its identity.
func (l *lines) spot(rec *resources.Index, i int) spot {
	res := &rec.Resources[i]
	s := spot{entry: int32(rec.Doc.Index(res.Entry))}
	s.line, s.column = l.position(res.Node)
	switch {
	case i == 0 && res.Type == "Observation":
		s.expression = res.Type
	case i > 0 && res.Bundle == 0 && res.Entry != doc.None && rec.Resources[0].Type == "Bundle":
		s.expression = ofEntry
	default:
		path := rec.Doc.Path(res.Node)
		s.expression = path[:min(len(path), maxText)]
	}
	return s
}

// place returns the place of a resource; the caller sets the file.
func (l *lines) place(rec *resources.Index, i int) place {
	s := l.spot(rec, i)
	return place{line: s.line, column: s.column, identity: string(cut(rec.Resources[i].Identity)), expression: s.path()}
}

// maxText limits the kept length of an identifier or an expression.
const maxText = 1000

func cut(text []byte) []byte { return text[:min(len(text), maxText)] }
