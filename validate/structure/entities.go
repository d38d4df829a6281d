package structure

import "bytes"

// entities reports whether each & of the text begins an XML entity.
func (x *xhtml) entities(text []byte) bool {
	for {
		at := bytes.IndexByte(text, '&')
		if at < 0 {
			return true
		}
		size, _ := entity(text[at:])
		if size == 0 {
			return false
		}
		text = text[at+size:]
	}
}

// entity reads the entity at the start of the text. It returns its length, 0
// if XML does not define it, and its character.
func entity(text []byte) (size int, r int) {
	end := bytes.IndexByte(text[:min(len(text), 12)], ';')
	if end < 2 {
		return 0, 0
	}
	switch name := text[1:end]; string(name) {
	case "lt":
		return end + 1, '<'
	case "gt":
		return end + 1, '>'
	case "amp":
		return end + 1, '&'
	case "quot":
		return end + 1, '"'
	case "apos":
		return end + 1, '\''
	default:
		if name[0] != '#' {
			return 0, 0
		}
		r, ok := characterNumber(name[1:])
		if !ok {
			return 0, 0
		}
		return end + 1, r
	}
}

// characterNumber reads the decimal or, after x, hexadecimal number of a
// character.
func characterNumber(digits []byte) (r int, ok bool) {
	base := 10
	if len(digits) > 0 && digits[0] == 'x' {
		base, digits = 16, digits[1:]
	}
	for _, b := range digits {
		d := 99
		switch {
		case '0' <= b && b <= '9':
			d = int(b - '0')
		case 'a' <= b|0x20 && b|0x20 <= 'f':
			d = int(b|0x20-'a') + 10
		}
		if d >= base || r > 0x10FFFF {
			return 0, false
		}
		r = r*base + d
	}
	return r, len(digits) > 0 && r > 0 && r <= 0x10FFFF
}
