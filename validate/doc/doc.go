// Package doc parses one JSON document (RFC 8259) into a flat list of nodes.
// It keeps everything a validator needs: the position of each value, the text
// of every number as written, the order of members, and the parent, child and
// sibling of each node. It is stricter than the grammar where FHIR requires it
// or safety suggests it: member names are unique within an object, text is
// well-formed UTF-8 without lone surrogates, the document has no byte order
// mark, and depth and size are limited.
//
// A [Doc] can be reused for many documents and then allocates nothing.
// [Doc.Key], [Doc.Str] and [Doc.Raw] return slices that belong to the Doc or
// to the bytes given to [Doc.Parse]: copy them before either changes.
//
// The package knows nothing of FHIR but the names of choice elements, which
// [Doc.Path] needs to write an expression that resolves.
package doc

import (
	"encoding/binary"

	"runsheet.example/validate/issue"
)

// Kind is the kind of a JSON value. The zero value is Absent, the kind of
// [None].
type Kind uint8

// The kinds of JSON value.
const (
	Absent Kind = iota
	Object
	Array
	String
	Number
	Bool
	Null
)

// String returns the name of the kind in plain words.
func (k Kind) String() string {
	switch k {
	case Object:
		return "object"
	case Array:
		return "array"
	case String:
		return "string"
	case Number:
		return "number"
	case Bool:
		return "true or false"
	case Null:
		return "null"
	default:
		return "nothing"
	}
}

// Node identifies one value of the document. Nodes are numbered in document
// order, so the first child of a container follows it directly.
type Node int32

// None is the absent node. Every accessor accepts it and returns a zero value,
// so look-ups can be chained.
const None Node = -1

// Limits used when the fields of [Doc] are zero.
const (
	// DefaultMaxDepth is far above the depth of any R4 resource and far below
	// a depth that a recursive engine cannot handle.
	DefaultMaxDepth = 256
	// DefaultMaxBytes keeps offsets and node numbers within 31 bits.
	DefaultMaxBytes = 1 << 30
	// DefaultMaxValues limits the memory that a document of commas alone can
	// claim to about one gigabyte.
	DefaultMaxValues = 1 << 25
	// maxFindings limits the number of findings for a document full of faults.
	maxFindings = 500
)

// The bits of a node, from the lowest: the kind, the flags, the hash of the
// member name.
const (
	kindMask        uint16 = 7
	flagTextInArena uint16 = 1 << 3 // text was unescaped into Doc.arena
	flagKeyInArena  uint16 = 1 << 4 // key was unescaped into Doc.arena
	flagMalformed   uint16 = 1 << 5 // the value breaks the grammar and was reported
	hashShift              = 6
	hashMask        uint32 = 1<<(16-hashShift) - 1
)

// maxKey is the longest member name a node can hold.
const maxKey = 1<<16 - 1

// node is one value. It fits half a cache line, because most of the time of
// parsing goes into reading and writing nodes.
type node struct {
	off, end     uint32 // the value in Data, quotes included
	key          uint32 // the member name, in Data or the arena
	parent, next Node
	index        uint32 // position among the siblings
	// For a container, the number of its children. For a string that was
	// unescaped, the offset of its text in the arena; the four bytes before
	// hold its length.
	a      uint32
	keyLen uint16
	bits   uint16
}

func (nd *node) kind() Kind { return Kind(nd.bits & kindMask) }

func (nd *node) hash() uint32 { return uint32(nd.bits >> hashShift) }

// Doc is one parsed document. The zero value is ready for use.
type Doc struct {
	// Data is the document as given to Parse.
	Data []byte
	// File is the file name in findings.
	File string
	// MaxDepth limits nesting; zero means DefaultMaxDepth.
	MaxDepth int
	// MaxValues limits the number of values; zero means DefaultMaxValues.
	MaxValues int
	// MaxBytes limits the document's size; zero means DefaultMaxBytes, which
	// is also the upper bound.
	MaxBytes int

	nodes      []node
	arena      []byte   // unescaped text
	open       []level  // per depth, the state of the container
	lineStarts []uint32 // computed when a position is first requested
	sorted     []Node   // buffer for finding duplicates in large objects
	findings   []issue.Finding
	broken     bool
}

// Broken reports whether parsing stopped at a grammar fault. The part after
// the fault has no nodes, so a missing member may still be in the document.
func (d *Doc) Broken() bool { return d.broken }

// Faults is the number of findings that Parse returned.
func (d *Doc) Faults() int { return len(d.findings) }

// Len is the number of nodes.
func (d *Doc) Len() int { return len(d.nodes) }

// Root returns the outermost value, or None for an empty document.
func (d *Doc) Root() Node {
	if len(d.nodes) == 0 {
		return None
	}
	return 0
}

// Kind returns the kind of the value.
func (d *Doc) Kind(n Node) Kind {
	if n < 0 {
		return Absent
	}
	return d.nodes[n].kind()
}

// Malformed reports whether the value itself breaks the JSON grammar (a
// number such as +1, a literal such as NaN), which Parse has reported.
func (d *Doc) Malformed(n Node) bool {
	return n >= 0 && d.nodes[n].bits&flagMalformed != 0
}

// Parent returns the object or array that contains the value, or None.
func (d *Doc) Parent(n Node) Node {
	if n < 0 {
		return None
	}
	return d.nodes[n].parent
}

// FirstChild returns the first member of an object or item of an array.
func (d *Doc) FirstChild(n Node) Node {
	if n < 0 || d.nodes[n].kind() > Array || d.nodes[n].a == 0 {
		return None
	}
	return n + 1
}

// Next returns the following sibling, or None.
func (d *Doc) Next(n Node) Node {
	if n < 0 {
		return None
	}
	return d.nodes[n].next
}

// NextItem returns the item of an array after n, or None if n is in none.
func (d *Doc) NextItem(n Node) Node {
	if d.Kind(d.Parent(n)) != Array {
		return None
	}
	return d.Next(n)
}

// Count is the number of members of an object or items of an array.
func (d *Doc) Count(n Node) int {
	if n < 0 || d.nodes[n].kind() > Array {
		return 0
	}
	return int(d.nodes[n].a)
}

// Index is the position among the siblings, from 0.
func (d *Doc) Index(n Node) int {
	if n < 0 {
		return 0
	}
	return int(d.nodes[n].index)
}

// Key returns the member name, unescaped, or nil for an item of an array and
// for the root.
func (d *Doc) Key(n Node) []byte {
	if n < 0 {
		return nil
	}
	nd := &d.nodes[n]
	if nd.bits&flagKeyInArena != 0 {
		return d.arena[nd.key : nd.key+uint32(nd.keyLen)]
	}
	return d.Data[nd.key : nd.key+uint32(nd.keyLen)]
}

// KeyHash returns [Hash] of the member name.
func (d *Doc) KeyHash(n Node) uint32 {
	if n < 0 {
		return 0
	}
	return d.nodes[n].hash()
}

// Get returns the member of an object by name, the first if several share the
// name. It returns None when there is no such member or n is not an object.
func (d *Doc) Get(n Node, key string) Node {
	if n < 0 || d.nodes[n].kind() != Object {
		return None
	}
	for c := d.FirstChild(n); c >= 0; c = d.nodes[c].next {
		nd := &d.nodes[c]
		if int(nd.keyLen) == len(key) && string(d.Key(c)) == key {
			return c
		}
	}
	return None
}

// Item returns the item of an array by position, or None.
func (d *Doc) Item(n Node, index int) Node {
	if d.Kind(n) != Array || index < 0 {
		return None
	}
	c := d.FirstChild(n)
	for ; c >= 0 && index > 0; index-- {
		c = d.nodes[c].next
	}
	return c
}

// Str returns the text of a string, unescaped, and nil for any other value.
func (d *Doc) Str(n Node) []byte {
	if n < 0 {
		return nil
	}
	nd := &d.nodes[n]
	switch {
	case nd.kind() != String:
		return nil
	case nd.bits&flagTextInArena != 0:
		return d.arena[nd.a : nd.a+binary.LittleEndian.Uint32(d.arena[nd.a-4:])]
	default:
		return d.Data[nd.off+1 : nd.end-1]
	}
}

// Is reports whether the value is a string of exactly this text.
func (d *Doc) Is(n Node, text string) bool {
	return d.Kind(n) == String && string(d.Str(n)) == text
}

// Raw returns the value as written: a number digit by digit, a string with its
// quotes and escapes, a container with its content.
func (d *Doc) Raw(n Node) []byte {
	if n < 0 {
		return nil
	}
	return d.Data[d.nodes[n].off:d.nodes[n].end]
}

// Offset is the byte offset of the value in Data.
func (d *Doc) Offset(n Node) int {
	if n < 0 {
		return 0
	}
	return int(d.nodes[n].off)
}

// End is the offset of the byte after the value.
func (d *Doc) End(n Node) int {
	if n < 0 {
		return 0
	}
	return int(d.nodes[n].end)
}

// Escaped reports whether a string is written with escapes. A string without
// escapes holds no control characters.
func (d *Doc) Escaped(n Node) bool {
	return n >= 0 && d.nodes[n].bits&flagTextInArena != 0
}
