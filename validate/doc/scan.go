package doc

import (
	"encoding/binary"
	"math/bits"
	"unicode/utf8"
)

// scanned is the bounds of a string's text, in Data or in the arena.
type scanned struct {
	start, end uint32
	inArena    bool
}

const (
	ones  = 0x0101010101010101
	highs = 0x8080808080808080
)

// special sets the high bit of each of eight bytes that ends a run of plain
// text: quote, backslash, control characters and bytes beyond ASCII. Bytes
// above the first marked one may be marked wrongly.
func special(w uint64) uint64 {
	quote := w ^ ones*'"'
	slash := w ^ ones*'\\'
	return (w - ones*0x20 | (quote - ones) | (slash - ones) | w) & highs
}

// plainEnd returns the offset of the first byte from i on that is not plain
// text, or the length of the data. It reads sixteen bytes at a time and
// selects the offset without a branch, because a processor cannot predict the
// length of a string.
func plainEnd(data []byte, i int) int {
	for i+16 <= len(data) {
		window := data[i : i+16 : i+16]
		low := special(binary.LittleEndian.Uint64(window))
		high := special(binary.LittleEndian.Uint64(window[8:]))
		if low|high != 0 {
			at := bits.TrailingZeros64(low)
			if low == 0 {
				at = 64 + bits.TrailingZeros64(high)
			}
			return i + at>>3
		}
		i += 16
	}
	for i < len(data) && data[i] >= 0x20 && data[i] < 0x80 && data[i] != '"' && data[i] != '\\' {
		i++
	}
	return i
}

// scanString reads the string that opens under the cursor. A plain string
// stays in Data; from the first escape on, its text is built in the arena.
func (p *parser) scanString() scanned {
	start := p.i + 1
	i := plainEnd(p.data, start)
	for i < len(p.data) {
		switch c := p.data[i]; {
		case c == '"':
			p.i = i + 1
			return scanned{start: uint32(start), end: uint32(i)}
		case c < 0x80:
			return p.scanEscaped(start, i)
		}
		i = plainEnd(p.data, p.skipRunes(i))
	}
	return p.scanEscaped(start, i)
}

// scanEscaped continues a string whose text up to i is plain.
func (p *parser) scanEscaped(start, i int) scanned {
	d := p.d
	d.arena = append(d.arena, 0, 0, 0, 0) // reserves the length of the text
	from := len(d.arena)
	d.arena = append(d.arena, p.data[start:i]...)
	for i < len(p.data) {
		switch c := p.data[i]; {
		case c == '"':
			p.i = i + 1
			binary.LittleEndian.PutUint32(d.arena[from-4:], uint32(len(d.arena)-from))
			return scanned{start: uint32(from), end: uint32(len(d.arena)), inArena: true}
		case c == '\\':
			i = p.escape(i)
		case c < 0x20:
			d.report(i, None, "json-control", "a control character stands in a string unescaped")
			d.arena = append(d.arena, c)
			i++
		default:
			j := i
			if c >= 0x80 {
				j = p.skipRunes(i)
			}
			j = plainEnd(p.data, j)
			d.arena = append(d.arena, p.data[i:j]...)
			i = j
		}
	}
	p.i = i
	p.d.fail(start-1, "json-syntax", "the string that begins here has no end")
	return scanned{start: uint32(from), end: uint32(len(d.arena)), inArena: true}
}

// skipRunes skips characters beyond ASCII and reports bytes that are not
// UTF-8.
func (p *parser) skipRunes(i int) int {
	for i < len(p.data) && p.data[i] >= 0x80 {
		r, size := utf8.DecodeRune(p.data[i:])
		if r == utf8.RuneError && size <= 1 {
			p.d.report(i, None, "json-utf8", "a byte here is not UTF-8")
		}
		i += size
	}
	return i
}

// escape appends the character of the escape at i and returns the offset after
// it.
func (p *parser) escape(i int) int {
	d := p.d
	if i+1 >= len(p.data) {
		return len(p.data)
	}
	c := p.data[i+1]
	switch c {
	case '"', '\\', '/':
	case 'b':
		c = '\b'
	case 'f':
		c = '\f'
	case 'n':
		c = '\n'
	case 'r':
		c = '\r'
	case 't':
		c = '\t'
	case 'u':
		return p.unicodeEscape(i)
	default:
		d.report(i, None, "json-escape", "no such escape exists in JSON")
		d.arena = append(d.arena, '\\')
		return i + 1
	}
	d.arena = append(d.arena, c)
	return i + 2
}

// unicodeEscape reads \uXXXX, or two of them that make a surrogate pair.
func (p *parser) unicodeEscape(i int) int {
	d := p.d
	r, ok := hex4(p.data, i+2)
	if !ok {
		d.report(i, None, "json-escape", "four hexadecimal digits are expected after \\u")
		d.arena = append(d.arena, '\\')
		return i + 1
	}
	i += 6
	if r < 0xD800 || r > 0xDFFF {
		d.arena = utf8.AppendRune(d.arena, r)
		return i
	}
	if r < 0xDC00 && i+1 < len(p.data) && p.data[i] == '\\' && p.data[i+1] == 'u' {
		if low, ok := hex4(p.data, i+2); ok && low >= 0xDC00 && low <= 0xDFFF {
			d.arena = utf8.AppendRune(d.arena, 0x10000+(r-0xD800)<<10+(low-0xDC00))
			return i + 6
		}
	}
	d.report(i-6, None, "json-surrogate", "half of a surrogate pair stands alone")
	d.arena = utf8.AppendRune(d.arena, utf8.RuneError)
	return i
}

func hex4(data []byte, i int) (rune, bool) {
	if i+4 > len(data) {
		return 0, false
	}
	var r rune
	for _, c := range data[i : i+4] {
		switch {
		case '0' <= c && c <= '9':
			r = r<<4 | rune(c-'0')
		case 'a' <= c && c <= 'f':
			r = r<<4 | rune(c-'a'+10)
		case 'A' <= c && c <= 'F':
			r = r<<4 | rune(c-'A'+10)
		default:
			return 0, false
		}
	}
	return r, true
}

func (p *parser) stringValue() {
	start := p.i
	s := p.scanString()
	n := p.add(String, start, p.i)
	if s.inArena {
		nd := &p.d.nodes[n]
		nd.a = s.start
		nd.bits |= flagTextInArena
	}
}

// numberValue reads a number. A malformed number extends to the next
// delimiter, so that parsing can continue.
func (p *parser) numberValue() {
	start := p.i
	i, ok := numberEnd(p.data, start)
	if ok && (i == len(p.data) || !isWord(p.data[i])) {
		p.i = i
		p.add(Number, start, i)
		return
	}
	p.i = wordEnd(p.data, start)
	n := p.add(Number, start, p.i)
	p.d.nodes[n].bits |= flagMalformed
	p.d.report(start, n, "json-number", "the number is not written as JSON asks")
}

// numberEnd matches -?(0|[1-9][0-9]*)(.[0-9]+)?([eE][+-]?[0-9]+)? and reports
// whether it matched.
func numberEnd(data []byte, i int) (end int, ok bool) {
	if i < len(data) && data[i] == '-' {
		i++
	}
	first := i
	i = digits(data, i)
	if i == first || data[first] == '0' && i > first+1 {
		return i, false
	}
	if i < len(data) && data[i] == '.' {
		first = i + 1
		if i = digits(data, first); i == first {
			return i, false
		}
	}
	if i < len(data) && data[i]|0x20 == 'e' {
		i++
		if i < len(data) && (data[i] == '+' || data[i] == '-') {
			i++
		}
		first = i
		if i = digits(data, first); i == first {
			return i, false
		}
	}
	return i, true
}

func digits(data []byte, i int) int {
	for i < len(data) && '0' <= data[i] && data[i] <= '9' {
		i++
	}
	return i
}

// wordValue reads true, false or null, and reports any other bare word.
func (p *parser) wordValue() {
	start := p.i
	p.i = wordEnd(p.data, start)
	switch string(p.data[start:p.i]) {
	case "true", "false":
		p.add(Bool, start, p.i)
		return
	case "null":
		p.add(Null, start, p.i)
		return
	}
	kind, rule, details := Null, "json-literal", "the bare word is none of true, false and null"
	if c := p.data[start]; c == '+' || c == '.' {
		kind, rule, details = Number, "json-number", "the number is not written as JSON asks"
	}
	n := p.add(kind, start, p.i)
	p.d.nodes[n].bits |= flagMalformed
	p.d.report(start, n, rule, details)
}

// isWord reports whether a byte can be part of a bare word or a malformed
// number.
func isWord(c byte) bool {
	return 'a' <= c && c <= 'z' || 'A' <= c && c <= 'Z' || '0' <= c && c <= '9' ||
		c == '+' || c == '-' || c == '.' || c == '_' || c == '$'
}

func wordEnd(data []byte, i int) int {
	for i < len(data) && isWord(data[i]) {
		i++
	}
	return i
}
