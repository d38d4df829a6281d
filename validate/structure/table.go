package structure

import (
	"encoding/binary"

	"runsheet.example/validate/doc"
)

//go:generate go test -run TestTablesAreThoseOfR4 -update

// Type is a type of FHIR R4 4.0.1. The zero value is no type.
type Type uint16

// kind classifies a type.
type kind uint8

const (
	kindPrimitive kind = iota + 1
	kindDatatype
	kindBackbone
	kindResource // without text, contained and extensions of its own
	kindDomain   // a resource with them
	kindAbstract
)

type typeRow struct {
	name             string
	kind             kind
	rows, rowsEnd    uint16
	slots, slotsMask uint16
	requiredBits     uint64
}

type elementRow struct {
	name     uint16 // in elementNames
	length   uint8
	base     uint8 // length of the element's name; shorter for a choice
	flags    uint8
	bit      uint8 // place in the mask of required and choice elements
	typ      Type
	valueSet uint8
	targets  uint8
	filter   uint8 // filterPlace of the element
}

const (
	flagArray        uint8 = 1 << iota // max is *
	flagPlain                          // a System type, without id and extensions
	flagExtensionURL                   // the url of an Extension
)

// noBit marks an element that is neither required nor a choice.
const noBit = 255

// String returns the name of the type, for a nested element its path. It is
// empty for the zero type and beyond the last type.
func (t Type) String() string {
	if int(t) >= len(typeTable) {
		return ""
	}
	return typeTable[t].name
}

// IsResource reports whether the type is a resource type.
func (t Type) IsResource() bool {
	k := typeTable[t].kind
	return k == kindResource || k == kindDomain
}

// IsDomainResource reports whether the type is a resource that has text,
// contained resources and extensions.
func (t Type) IsDomainResource() bool { return typeTable[t].kind == kindDomain }

// IsPrimitive reports whether the type is a primitive.
func (t Type) IsPrimitive() bool { return t >= Base64Binary && t <= Xhtml }

// find returns the row of the member name in the type, or 0.
func (t Type) find(name []byte, hash uint32) uint16 {
	tr := &typeTable[t]
	if tr.rows == tr.rowsEnd {
		return 0
	}
	for at := uint16(hash) & tr.slotsMask; ; at = (at + 1) & tr.slotsMask {
		row := elementSlots[tr.slots+at]
		if row == 0 {
			return 0
		}
		if elementTable[row].isNamed(name) {
			return row
		}
	}
}

func (r *elementRow) isNamed(name []byte) bool {
	return int(r.length) == len(name) && isSame(name, elementNames[r.name:int(r.name)+len(name)])
}

// isSame compares two names of equal length, word by word: for names this
// short the call of a general comparison costs more than the comparison.
func isSame(name []byte, s string) bool {
	n := len(name)
	if len(s) != n {
		return false
	}
	switch {
	case n > 16:
		return string(name) == s
	case n >= 8:
		return word(name) == wordOf(s) && word(name[n-8:]) == wordOf(s[n-8:])
	case n >= 4:
		return halfWord(name) == halfWordOf(s) && halfWord(name[n-4:]) == halfWordOf(s[n-4:])
	}
	for i, b := range name {
		if s[i] != b {
			return false
		}
	}
	return true
}

func word(b []byte) uint64 { return binary.LittleEndian.Uint64(b) }

func halfWord(b []byte) uint32 { return binary.LittleEndian.Uint32(b) }

// The compiler makes one load of each of these.

func wordOf(s string) uint64 {
	_ = s[7]
	return uint64(s[0]) | uint64(s[1])<<8 | uint64(s[2])<<16 | uint64(s[3])<<24 |
		uint64(s[4])<<32 | uint64(s[5])<<40 | uint64(s[6])<<48 | uint64(s[7])<<56
}

func halfWordOf(s string) uint32 {
	_ = s[3]
	return uint32(s[0]) | uint32(s[1])<<8 | uint32(s[2])<<16 | uint32(s[3])<<24
}

// element returns the name of the row's element, without the type of a
// choice.
func (r *elementRow) element() string { return elementNames[r.name : int(r.name)+int(r.base)] }

func (r *elementRow) isArray() bool  { return r.flags&flagArray != 0 }
func (r *elementRow) isChoice() bool { return r.base < r.length }

// ResourceType returns the resource type of that name.
func ResourceType(name []byte) (Type, bool) {
	low, high := int(Xhtml)+1, len(typeTable) // the types after the primitives are sorted
	for low < high {
		mid := int(uint(low+high) >> 1)
		if typeTable[mid].name < string(name) {
			low = mid + 1
		} else {
			high = mid
		}
	}
	if low < len(typeTable) && typeTable[low].name == string(name) && Type(low).IsResource() {
		return Type(low), true
	}
	return 0, false
}

type valueSetRow struct {
	url                 string
	codes, codesEnd     uint16
	slots, slotsMask    uint16
	codings, codingsEnd uint16
}

type codeRow struct {
	text   uint16
	length uint8
}

type coding struct {
	system uint8
	code   string
}

// has reports whether the value set contains the code. A value set defined
// outside FHIR accepts every code.
func (v *valueSetRow) has(code []byte) bool {
	if v.codes == v.codesEnd {
		return true
	}
	for at := uint16(doc.Hash(code)) & v.slotsMask; ; at = (at + 1) & v.slotsMask {
		row := codeSlots[v.slots+at]
		if row == 0 {
			return false
		}
		r := &codeTable[row]
		if int(r.length) == len(code) && codeText[r.text:int(r.text)+len(code)] == string(code) {
			return true
		}
	}
}
