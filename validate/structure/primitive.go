package structure

import (
	"bytes"
	"unicode/utf8"

	"runsheet.example/validate/doc"
)

// primitive checks kind, format and binding of a primitive value.
func (c *Checker) primitive(n doc.Node, r *elementRow) {
	c.types[n] = r.typ
	want := kindOf(r.typ)
	if k := c.doc.Kind(n); k != want {
		c.reportAs(n, "r4-type", "a {} is expected here", k.String(), r.typ.String(), want.String())
		return
	}
	switch want {
	case doc.Number:
		c.number(n, r.typ)
	case doc.String:
		c.text(n, r)
	}
}

// kindOf returns the JSON kind of a primitive.
func kindOf(t Type) doc.Kind {
	switch t {
	case Boolean:
		return doc.Bool
	case Decimal, Integer, PositiveInt, UnsignedInt:
		return doc.Number
	default:
		return doc.String
	}
}

// number checks the integers. A decimal is any JSON number.
func (c *Checker) number(n doc.Node, t Type) {
	low := int64(-1 << 31)
	switch t {
	case Decimal:
		return
	case PositiveInt:
		low = 1
	case UnsignedInt:
		low = 0
	}
	if v, ok := parseInteger(c.doc.Raw(n)); !ok {
		c.reportAs(n, "r4-integer", "a whole number without point or exponent is expected here", c.doc.Excerpt(n), t.String())
	} else if v < low || v > 1<<31-1 {
		c.reportAs(n, "r4-integer", "the number lies outside the range of its type", c.doc.Excerpt(n), t.String())
	}
}

// parseInteger parses a JSON number written as an integer. A number outside 32
// bits returns some value outside 32 bits.
func parseInteger(raw []byte) (value int64, ok bool) {
	digits := raw
	if len(digits) > 0 && digits[0] == '-' {
		digits = digits[1:]
	}
	for _, b := range digits {
		if b < '0' || b > '9' {
			return 0, false
		}
		if value < 1<<40 {
			value = value*10 + int64(b-'0')
		}
	}
	if len(digits) < len(raw) {
		value = -value
	}
	return value, len(digits) > 0
}

// text checks a primitive that is a JSON string.
func (c *Checker) text(n doc.Node, r *elementRow) {
	text := c.doc.Str(n)
	if len(text) == 0 {
		c.report(n, "r4-empty", "the string is empty")
		return
	}
	c.local = c.local || text[0] == '#'
	switch r.typ {
	case String, Markdown:
		c.freeText(n, text)
	case Code:
		c.code(n, text, r)
	case Uri, Url, Canonical:
		c.uri(n, text, r)
	case Xhtml:
		c.narrative(n, text)
	default:
		if details := formatFault(r.typ, text); details != "" {
			c.reportAs(n, formatRule(r.typ), details, c.doc.Excerpt(n), r.typ.String())
		}
	}
}

// formatRule returns the rule of a primitive with a fixed format.
func formatRule(t Type) string {
	switch t {
	case Base64Binary:
		return "r4-base64"
	case Id:
		return "r4-id"
	case Oid:
		return "r4-oid"
	case Uuid:
		return "r4-uuid"
	case Time:
		return "r4-time"
	case Date:
		return "r4-date"
	case Instant:
		return "r4-instant"
	default:
		return "r4-datetime"
	}
}

// formatFault describes the fault of a primitive with a fixed format, "" if
// there is none.
func formatFault(t Type, text []byte) string {
	switch t {
	case Base64Binary:
		if !isBase64(text) {
			return "the text is not base64: groups of four of A-Z, a-z, 0-9, + and /, padded with ="
		}
	case Id:
		if !IsID(text) {
			return "an id has 1 to 64 of A-Z, a-z, 0-9, - and ."
		}
	case Oid:
		if !isOID(text) {
			return "an OID is written urn:oid: and numbers with points between them"
		}
	case Uuid:
		if !IsUUID(text) {
			return "a UUID is written urn:uuid: and 32 lower-case hexadecimal digits in five groups"
		}
	case Time:
		return timeFault(text)
	case Date:
		return dateFault(text)
	case DateTime:
		return dateTimeFault(text)
	case Instant:
		return instantFault(text)
	}
	return ""
}

// freeText checks string and markdown. Text written without escapes holds no
// control characters: JSON forbids them.
func (c *Checker) freeText(n doc.Node, text []byte) {
	const most = 1 << 20
	if len(text) > most && utf8.RuneCount(text) > most {
		c.report(n, "r4-string-length", "the text is longer than 1,048,576 characters")
	}
	if text[0] <= ' ' && len(bytes.TrimLeft(text, " \t\r\n")) == 0 {
		c.report(n, "r4-string-blank", "the text is nothing but white space")
	}
	if c.doc.Escaped(n) && bytes.ContainsFunc(text, isOddControl) {
		c.report(n, "r4-string-control", "the text holds a control character other than tab and line ends")
	}
}

func isOddControl(r rune) bool {
	return r < ' ' && r != '\t' && r != '\n' && r != '\r'
}

// code checks format and binding of a code.
func (c *Checker) code(n doc.Node, text []byte, r *elementRow) {
	if !isCode(text, c.doc.Escaped(n)) {
		c.reportAs(n, "r4-code", "a code has no white space at its ends and no two in a row", c.doc.Excerpt(n), "code")
		return
	}
	if r.valueSet != 0 {
		c.checkCode(n, text, &valueSets[r.valueSet])
	}
}

func isCode(text []byte, escaped bool) bool {
	if !escaped && bytes.IndexByte(text, ' ') < 0 {
		return true
	}
	before := true
	for _, b := range text {
		space := isSpace(b)
		if space && before {
			return false
		}
		before = space
	}
	return !before
}

func isSpace(b byte) bool { return b == ' ' || '\t' <= b && b <= '\r' }

func (c *Checker) uri(n doc.Node, text []byte, r *elementRow) {
	if bytes.IndexByte(text, ' ') >= 0 || c.doc.Escaped(n) && bytes.ContainsFunc(text, func(r rune) bool { return r < ' ' }) {
		c.reportAs(n, "r4-uri", "a URI has no white space", c.doc.Excerpt(n), "uri")
		return
	}
	if len(text) > 8 && string(text[:4]) == "urn:" {
		c.urn(n, text)
	}
	if r.typ == Canonical && bytes.IndexByte(text, ':') < 0 && text[0] != '#' {
		c.reportAs(n, "r4-canonical", "the canonical URL is relative", c.doc.Excerpt(n), "an absolute URL")
	}
	if r.flags&flagExtensionURL != 0 && bytes.IndexByte(text, ':') < 0 {
		c.relativeExtension(n)
	}
}

// relativeExtension reports an extension of an element whose URL has no
// scheme. Only nested extensions may have a relative URL.
func (c *Checker) relativeExtension(n doc.Node) {
	d := c.doc
	holder := d.Parent(d.Parent(n)) // of the extension: an array in a valid document
	if holder != doc.None && c.TypeOf(d.Parent(holder)) != Extension {
		c.reportAs(n, "r4-extension-url", "the URL of the extension is relative", c.doc.Excerpt(n), "an absolute URL")
	}
}

// urn checks the two kinds of URN that FHIR uses, without the version or
// fragment of a canonical.
func (c *Checker) urn(n doc.Node, text []byte) {
	fault, isWellFormed := "", IsUUID
	switch string(text[4:8]) {
	case "uuid":
		fault = "after urn:uuid: 32 lower-case hexadecimal digits in five groups are expected"
	case "oid:":
		fault, isWellFormed = "after urn:oid: numbers with points between them are expected", isOID
	default:
		return
	}
	if isWellFormed(text) {
		return
	}
	if i := bytes.IndexAny(text, "|#"); i < 0 || !isWellFormed(text[:i]) {
		c.reportAs(n, "r4-urn", fault, c.doc.Excerpt(n), "")
	}
}

// IsID reports whether a text is an id: 1 to 64 letters, digits, hyphens and
// points.
func IsID(text []byte) bool {
	if len(text) == 0 || len(text) > 64 {
		return false
	}
	for _, b := range text {
		if !isAlphanumeric(b) && b != '-' && b != '.' {
			return false
		}
	}
	return true
}

func isAlphanumeric(b byte) bool {
	return 'a' <= b && b <= 'z' || 'A' <= b && b <= 'Z' || '0' <= b && b <= '9'
}

// isOID reports urn:oid:[0-2](\.(0|[1-9][0-9]*))+
func isOID(text []byte) bool {
	rest, ok := bytes.CutPrefix(text, []byte("urn:oid:"))
	if !ok || len(rest) < 3 || rest[0] < '0' || rest[0] > '2' || rest[1] != '.' {
		return false
	}
	start := 0 // of the number being read
	for i, b := range rest {
		switch {
		case b == '.':
			if i == start {
				return false
			}
			start = i + 1
		case b < '0' || b > '9', i == start+1 && rest[start] == '0':
			return false
		}
	}
	return start < len(rest)
}

// IsUUID reports whether a text is "urn:uuid:" and a UUID in lower case.
func IsUUID(text []byte) bool {
	const shape = "urn:uuid:00000000-0000-0000-0000-000000000000"
	if len(text) != len(shape) || string(text[:9]) != shape[:9] {
		return false
	}
	different := uint8(0)
	for i := 9; i < len(shape); i++ {
		different |= digitClass[text[i]] ^ digitClass[shape[i]]
	}
	return different == 0
}

// digitClass is 1 for the digits of a UUID, 2 for the hyphen between them.
var digitClass = [256]uint8{
	'-': 2,
	'0': 1, '1': 1, '2': 1, '3': 1, '4': 1, '5': 1, '6': 1, '7': 1, '8': 1, '9': 1,
	'a': 1, 'b': 1, 'c': 1, 'd': 1, 'e': 1, 'f': 1,
}

// isBase64 allows white space anywhere, because mail breaks lines.
func isBase64(text []byte) bool {
	n, padding := 0, 0
	for _, b := range text {
		switch {
		case isSpace(b):
		case b == '=':
			padding++
			n++
		case padding > 0, !isAlphanumeric(b) && b != '+' && b != '/':
			return false
		default:
			n++
		}
	}
	return n > 0 && n%4 == 0 && padding <= 2
}
