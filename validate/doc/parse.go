package doc

import (
	"runsheet.example/validate/issue"
)

// Parse reads a document, forgetting the one before, and returns what is
// wrong with its bytes. It goes on after every fault it can see past, so that
// all are told at once; [Doc.Broken] says when it could not. Parse keeps data
// until the next call; file is the name findings carry.
func (d *Doc) Parse(data []byte, file string) []issue.Finding {
	d.reset(data, file)
	if len(data) > d.maxBytes() {
		d.fail(0, "json-size", "the document is larger than the limit")
		return d.findings
	}
	p := parser{d: d, data: data, parent: None}
	p.skipBOM()
	p.document()
	return d.findings
}

func (d *Doc) reset(data []byte, file string) {
	d.Data, d.File = data, file
	d.nodes = d.nodes[:0]
	if cap(d.nodes) == 0 && len(data) <= d.maxBytes() {
		d.nodes = make([]node, 0, len(data)/20+8)
	}
	d.arena = d.arena[:0]
	d.lineStarts = d.lineStarts[:0]
	d.findings = nil
	d.broken = false
	if depth := d.maxDepth(); len(d.seen) <= depth {
		d.seen = make([]uint64, depth+1)
	}
}

func (d *Doc) maxBytes() int {
	if d.MaxBytes > 0 && d.MaxBytes < DefaultMaxBytes {
		return d.MaxBytes
	}
	return DefaultMaxBytes
}

func (d *Doc) maxDepth() int {
	if d.MaxDepth > 0 {
		return d.MaxDepth
	}
	return DefaultMaxDepth
}

// parser is the state while one document is read. It never recurses: the
// open containers are found through the parents of the nodes.
type parser struct {
	d      *Doc
	data   []byte
	i      int  // next byte
	parent Node // innermost open container
	depth  int
	// The member name read last, for the value that follows.
	key, keyEnd, hash uint32
	keyFlags          uint8
}

// what the parser waits for next
type expect uint8

const (
	expectValue  expect = iota
	expectMember        // a member name
	expectMore          // a comma or the end of the container
	expectNothing
)

func (p *parser) document() {
	p.skipSpace()
	if p.i == len(p.data) {
		p.d.fail(p.i, "json-empty", "the document holds no value")
		return
	}
	state := expectValue
	for state != expectNothing {
		switch state {
		case expectValue:
			state = p.value()
		case expectMember:
			state = p.member()
		default:
			state = p.more()
		}
	}
	if p.d.broken {
		p.closeAll()
		return
	}
	p.skipSpace()
	if p.i < len(p.data) {
		p.d.report(p.i, None, "json-trailing", "more text follows the end of the value")
	}
}

// value reads one value, or the opening of one.
func (p *parser) value() expect {
	p.skipSpace()
	if p.i == len(p.data) {
		return p.cutShort()
	}
	switch c := p.data[p.i]; {
	case c == '"':
		p.stringValue()
	case c == '{':
		return p.open(Object)
	case c == '[':
		return p.open(Array)
	case c == '-' || '0' <= c && c <= '9':
		p.numberValue()
	case c == ']' && p.d.Kind(p.parent) == Array && p.d.Count(p.parent) > 0:
		p.d.report(p.i, p.parent, "json-syntax", "a comma stands before the end of the array")
		return p.close()
	case isWord(c):
		p.wordValue()
	default:
		return p.unexpected("a value is expected here")
	}
	return p.after()
}

// after tells what may follow a complete value.
func (p *parser) after() expect {
	if p.d.broken || p.parent == None {
		return expectNothing
	}
	return expectMore
}

// member reads a member name and the colon.
func (p *parser) member() expect {
	p.skipSpace()
	if p.i == len(p.data) {
		return p.cutShort()
	}
	if p.data[p.i] == '}' {
		p.d.report(p.i, p.parent, "json-syntax", "a comma stands before the end of the object")
		return p.close()
	}
	if p.data[p.i] != '"' {
		return p.unexpected("a member name in double quotes is expected here")
	}
	s := p.scanString()
	if p.d.broken {
		return expectNothing
	}
	p.key, p.keyEnd, p.keyFlags = s.start, s.end, 0
	if s.inArena {
		p.keyFlags = flagKeyInArena
		p.hash = Hash(p.d.arena[s.start:s.end])
	} else {
		p.hash = Hash(p.data[s.start:s.end])
	}
	if p.i < len(p.data) && p.data[p.i] != ':' {
		p.skipSpace()
	}
	if p.i == len(p.data) {
		return p.cutShort()
	}
	if p.data[p.i] != ':' {
		return p.unexpected("a colon is expected after a member name")
	}
	p.i++
	return expectValue
}

// more reads what stands between the values of a container.
func (p *parser) more() expect {
	p.skipSpace()
	if p.i == len(p.data) {
		return p.cutShort()
	}
	object := p.d.nodes[p.parent].kind == Object
	switch c := p.data[p.i]; {
	case c == ',':
		p.i++
		if object {
			return expectMember
		}
		return expectValue
	case c == '}' && object, c == ']' && !object:
		return p.close()
	case c == '"' && object:
		p.d.report(p.i, p.parent, "json-syntax", "a comma is missing between two members")
		return expectMember
	case object:
		return p.unexpected("a comma or the end of the object is expected here")
	default:
		return p.unexpected("a comma or the end of the array is expected here")
	}
}

// open begins a container.
func (p *parser) open(kind Kind) expect {
	if p.depth == p.d.maxDepth() {
		p.d.fail(p.i, "json-depth", "the value is nested deeper than the limit")
		return expectNothing
	}
	p.parent = p.add(kind, p.i, 0)
	p.depth++
	p.d.seen[p.depth] = 0
	p.i++
	p.skipSpace()
	if p.i < len(p.data) && p.data[p.i] == closing(kind) {
		return p.close()
	}
	if kind == Object {
		return expectMember
	}
	return expectValue
}

func closing(kind Kind) byte {
	if kind == Object {
		return '}'
	}
	return ']'
}

// close ends the innermost container at the byte under the cursor.
func (p *parser) close() expect {
	nd := &p.d.nodes[p.parent]
	if nd.kind == Object && nd.a > manyMembers {
		p.d.reportDuplicates(p.parent)
	}
	p.i++
	nd.end = uint32(p.i)
	p.parent = nd.parent
	p.depth--
	return p.after()
}

// closeAll gives the containers left open by a broken document an end.
func (p *parser) closeAll() {
	for n := p.parent; n >= 0; n = p.d.nodes[n].parent {
		p.d.nodes[n].end = uint32(min(p.i, len(p.data)))
	}
}

// add appends a node as the last child of the innermost open container.
func (p *parser) add(kind Kind, start, end int) Node {
	d := p.d
	n := Node(len(d.nodes))
	d.nodes = append(d.nodes, node{
		off: uint32(start), end: uint32(end),
		parent: p.parent, next: None, kind: kind,
	})
	if p.parent == None {
		return n
	}
	up, nd := &d.nodes[p.parent], &d.nodes[n]
	if up.a > 0 {
		d.nodes[up.b].next = n
	}
	nd.index = up.a
	up.a++
	up.b = uint32(n)
	if up.kind == Object {
		nd.key, nd.keyEnd, nd.hash, nd.flags = p.key, p.keyEnd, p.hash, p.keyFlags
		p.checkTwice(n)
	}
	return n
}

func (p *parser) skipSpace() {
	i, data := p.i, p.data
	for i < len(data) && data[i] <= ' ' && (data[i] == ' ' || data[i] == '\n' || data[i] == '\r' || data[i] == '\t') {
		i++
	}
	p.i = i
}

func (p *parser) skipBOM() {
	if len(p.data) >= 3 && string(p.data[:3]) == "\xef\xbb\xbf" {
		p.d.report(0, None, "json-bom", "a byte order mark stands before the document")
		p.i = 3
	}
}

func (p *parser) cutShort() expect {
	p.d.fail(len(p.data), "json-syntax", "the document ends before its last value is complete")
	return expectNothing
}

func (p *parser) unexpected(details string) expect {
	p.d.fail(p.i, "json-syntax", details)
	return expectNothing
}
