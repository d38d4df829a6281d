package month

import (
	"bytes"
	"strconv"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/record"
)

// place is where a resource stands, for a finding about it.
type place struct {
	file, line, column   int32
	identity, expression string
}

// spot is a place in a document as a Digest has it: cheap to make, for most are
// never asked for.
type spot struct {
	line, column int32
	entry        int32 // of a Bundle, ^0 for the outermost resource
	texts        int32 // where the identity begins
	identity     int32 // its length
	expression   string
}

// ofEntry is the expression of what is an entry of the outermost Bundle.
const ofEntry = "Bundle.entry["

// spot notes the place of a resource for its entries.
func (a *adder) spot(i int, res *record.Resource, entries []entry) {
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

// place is the place of an entry; its file is left to the caller.
func (g *Digest) place(e *entry) place {
	if g.rec != nil {
		l := newLines(g.rec.Doc, 0)
		return l.place(g.rec, int(e.resource))
	}
	s := &g.spots[e.spot]
	return place{line: s.line, column: s.column, identity: string(g.identity(s)), expression: s.path()}
}

func (g *Digest) identity(s *spot) []byte { return g.texts[s.texts : s.texts+s.identity] }

// path writes the expression of a spot.
func (s *spot) path() string {
	if s.expression == ofEntry {
		return ofEntry + strconv.Itoa(int(s.entry)) + "].resource"
	}
	return s.expression
}

// lines counts the lines of a document up to one place after the other, which is
// cheaper than an index of all.
type lines struct {
	d    *doc.Doc
	base int // line of the document in its file, or 0
	// ends is the number of line ends in the first counted bytes, start the
	// offset after the last of them.
	ends, counted, start int
}

func newLines(d *doc.Doc, base int) lines { return lines{d: d, base: base} }

// position is the line and column of a node in its file. Nodes are asked for in
// the order of the document.
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

// spot is that of a resource, without its identity.
func (l *lines) spot(rec *record.Record, i int) spot {
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

// place is that of a resource; its file is left to the caller.
func (l *lines) place(rec *record.Record, i int) place {
	s := l.spot(rec, i)
	return place{line: s.line, column: s.column, identity: string(cut(rec.Resources[i].Identity)), expression: s.path()}
}

// maxText is how much is kept of an identifier or an expression.
const maxText = 1000

func cut(text []byte) []byte { return text[:min(len(text), maxText)] }
