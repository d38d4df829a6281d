package doc

import (
	"runsheet.example/validate/issue"
)

// Parse reads a document, replaces the one before and returns the faults of
// its bytes. It continues after every fault it can skip, so that one call
// reports them all; [Doc.Broken] reports whether it stopped early. Parse keeps
// data until the next call; file is the file name in findings.
func (d *Doc) Parse(data []byte, file string) []issue.Finding {
	d.reset(data, file)
	if len(data) > d.maxBytes() {
		d.fail(0, "json-size", "the document is larger than the limit")
		return d.findings
	}
	if isUTF16(data) {
		d.fail(0, "json-utf8", "the document is written as UTF-16")
		return d.findings
	}
	p := parser{d: d, data: data, parent: None, most: d.MaxValues}
	if p.most == 0 {
		p.most = DefaultMaxValues
	}
	p.skipBOM()
	p.document()
	return d.findings
}

// isUTF16 reports a byte order mark of UTF-16, or a zero byte beside the first
// character, which JSON text never contains.
func isUTF16(data []byte) bool {
	if len(data) < 2 {
		return false
	}
	a, b := data[0], data[1]
	return a == 0xff && b == 0xfe || a == 0xfe && b == 0xff || a == 0 != (b == 0)
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
	if depth := d.maxDepth(); len(d.open) <= depth {
		d.open = make([]level, depth+1)
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

// level is the state of an open container.
type level struct {
	seen uint64 // hashes of the member names so far
	last Node   // the last child so far
}

// parser is the state while one document is read. It does not recurse: the
// parents of the nodes lead to the open containers.
type parser struct {
	d      *Doc
	data   []byte
	i      int  // next byte
	most   int  // values the document may hold
	parent Node // innermost open container
	depth  int
	// The name of the current member, for the value that follows.
	key    uint32
	keyLen uint16
	bits   uint16 // hash and flags of the name
}

// expect is the next token that the parser expects.
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

// after reads the token that follows a complete value.
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
	if !p.name() {
		return expectNothing
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
	return p.value()
}

// name reads a member name and keeps it for the value that follows.
func (p *parser) name() bool {
	at := p.i
	s := p.scanString()
	if p.d.broken {
		return false
	}
	if s.end-s.start > maxKey {
		p.d.fail(at, "json-size", "the member name is longer than the limit")
		return false
	}
	p.key, p.keyLen = s.start, uint16(s.end-s.start)
	if s.inArena {
		p.bits = uint16(Hash(p.d.arena[s.start:s.end]))<<hashShift | flagKeyInArena
	} else {
		p.bits = uint16(Hash(p.data[s.start:s.end])) << hashShift
	}
	return true
}

// more reads the separator between the values of a container.
func (p *parser) more() expect {
	p.skipSpace()
	if p.i == len(p.data) {
		return p.cutShort()
	}
	object := p.d.nodes[p.parent].kind() == Object
	switch c := p.data[p.i]; {
	case c == ',':
		p.i++
		if object {
			return p.member()
		}
		return p.value()
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
	if p.d.broken {
		return expectNothing
	}
	p.depth++
	p.d.open[p.depth] = level{last: None}
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
	if nd.kind() == Object && nd.a > manyMembers {
		p.d.reportDuplicates(p.parent)
	}
	p.i++
	nd.end = uint32(p.i)
	p.parent = nd.parent
	p.depth--
	return p.after()
}

// closeAll ends the containers that a broken document leaves open.
func (p *parser) closeAll() {
	for n := p.parent; n >= 0; n = p.d.nodes[n].parent {
		p.d.nodes[n].end = uint32(min(p.i, len(p.data)))
	}
}

// add appends a node as the last child of the innermost open container.
func (p *parser) add(kind Kind, start, end int) Node {
	d := p.d
	n := len(d.nodes)
	if n == p.most {
		d.fail(start, "json-size", "the document holds more values than the limit")
	}
	if n == cap(d.nodes) {
		d.nodes = append(d.nodes, node{})
	} else {
		d.nodes = d.nodes[:n+1]
	}
	nd := &d.nodes[n]
	nd.off, nd.end = uint32(start), uint32(end)
	nd.parent, nd.next = p.parent, None
	nd.index, nd.a = 0, 0
	nd.key, nd.keyLen, nd.bits = 0, 0, uint16(kind)
	if p.parent != None {
		p.link(Node(n), nd)
	}
	return Node(n)
}

// link makes a new node the last child of the innermost open container.
func (p *parser) link(n Node, nd *node) {
	d := p.d
	up, in := &d.nodes[p.parent], &d.open[p.depth]
	if up.a > 0 {
		d.nodes[in.last].next = n
	}
	in.last = n
	nd.index = up.a
	up.a++
	if up.kind() == Object {
		nd.key, nd.keyLen = p.key, p.keyLen
		nd.bits |= p.bits
		d.checkTwice(n, in)
	}
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
