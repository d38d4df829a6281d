package structure

import (
	"bytes"

	"runsheet.example/validate/doc"
)

// The XHTML of a narrative (FHIR R4 4.0.1, Narrative): a well-formed fragment
// with a div of the XHTML namespace around it, with the basic formatting
// elements of HTML 4.0 (chapters 7 to 11, without section 4 of chapter 9, and
// 15), a with name or href, images and style attributes. Only the named
// entities of XML are legal, and some text or an image is required.

const xhtmlNamespace = "http://www.w3.org/1999/xhtml"

const (
	maxTags  = 200 // nesting limit of tags
	maxAttrs = 40  // limit of attributes in a tag
)

// tag is the name of an open tag or of an attribute, as a range of the text.
type tag struct{ start, end int }

// xhtml reads one narrative.
type xhtml struct {
	c       *Checker
	n       doc.Node
	text    []byte
	i       int
	content bool // the narrative has text or an image
	failed  bool // the text is not well-formed; parsing has ended
}

// narrative checks the div of a narrative.
func (c *Checker) narrative(n doc.Node, text []byte) {
	x := xhtml{c: c, n: n, text: text}
	c.tags = c.tags[:0]
	x.skipSpace()
	if !x.at("<div") {
		x.fail("the narrative does not begin with a div")
		return
	}
	x.markup()
	for !x.failed && len(c.tags) > 0 {
		switch {
		case x.i == len(text):
			x.fail("a tag of the narrative is not closed")
		case text[x.i] == '<':
			x.markup()
		default:
			x.characters()
		}
	}
	if x.failed {
		return
	}
	if x.skipSpace(); x.i < len(text) {
		x.fail("more text follows the div of the narrative")
	}
	if !x.content {
		c.report(n, "inv-txt-2", "the narrative has neither text nor an image")
	}
}

func (x *xhtml) at(s string) bool {
	return len(x.text)-x.i >= len(s) && string(x.text[x.i:x.i+len(s)]) == s
}

func (x *xhtml) skipSpace() {
	for x.i < len(x.text) && isSpace(x.text[x.i]) {
		x.i++
	}
}

func (x *xhtml) fail(details string) {
	if !x.failed {
		x.failed = true
		x.c.reportAs(x.n, "r4-narrative", details, x.around(), "")
	}
}

// forbid reports well-formed markup that a narrative must not contain.
func (x *xhtml) forbid(details string, value []byte) {
	const enough = 80
	x.c.reportAs(x.n, "inv-txt-1", details, string(value[:min(len(value), enough)]), "")
}

// around returns the text near the point where parsing ended.
func (x *xhtml) around() string {
	return string(x.text[max(0, x.i-20):min(len(x.text), x.i+40)])
}

// markup reads markup from its < on.
func (x *xhtml) markup() {
	switch {
	case x.at("<!--"):
		x.skipPast("-->", "a comment of the narrative has no end")
	case x.at("<![CDATA["):
		x.content = true
		x.skipPast("]]>", "a CDATA section of the narrative has no end")
	case x.at("<!"), x.at("<?"):
		x.fail("a declaration or processing instruction stands in the narrative")
	case x.at("</"):
		x.closeTag()
	default:
		x.openTag()
	}
}

func (x *xhtml) skipPast(end, fault string) {
	at := bytes.Index(x.text[x.i:], []byte(end))
	if at < 0 {
		x.fail(fault)
		return
	}
	x.i += at + len(end)
}

// name reads the name of a tag or attribute.
func (x *xhtml) name() tag {
	start := x.i
	for x.i < len(x.text) {
		b := x.text[x.i]
		if !isAlphanumeric(b) && b != ':' && b != '-' && b != '_' && b != '.' && b < 0x80 {
			break
		}
		x.i++
	}
	return tag{start, x.i}
}

func (x *xhtml) word(t tag) []byte { return x.text[t.start:t.end] }

func (x *xhtml) closeTag() {
	x.i += 2
	name := x.word(x.name())
	x.skipSpace()
	tags := x.c.tags
	if len(tags) == 0 || !bytes.Equal(x.word(tags[len(tags)-1]), name) || !x.at(">") {
		x.fail("a closing tag of the narrative does not fit the tag that is open")
		return
	}
	x.i++
	x.c.tags = tags[:len(tags)-1]
}

func (x *xhtml) openTag() {
	x.i++
	t := x.name()
	name := x.word(t)
	if len(name) == 0 {
		x.fail("a < of the narrative begins no tag; as text it is written &lt;")
		return
	}
	if !isNarrativeElement(name) {
		x.forbid("the element has no place in a narrative", name)
	}
	isRoot := len(x.c.tags) == 0
	namespaced := x.attributes(name)
	switch {
	case x.failed:
		return
	case isRoot && !namespaced:
		x.fail("the div of the narrative is not in the XHTML namespace")
		return
	}
	if string(name) == "img" {
		x.content = true
	}
	if x.at("/>") {
		x.i += 2
		return
	}
	if !x.at(">") {
		x.fail("a tag of the narrative is not well-formed")
		return
	}
	x.i++
	if len(x.c.tags) == maxTags {
		x.fail("the tags of the narrative are nested too deep")
		return
	}
	x.c.tags = append(x.c.tags, t)
}

// attributes reads the attributes of a tag and reports whether one of them
// names the XHTML namespace.
func (x *xhtml) attributes(element []byte) (namespaced bool) {
	x.c.attrs = x.c.attrs[:0]
	for {
		before := x.i
		x.skipSpace()
		if x.i == len(x.text) || x.text[x.i] == '>' || x.text[x.i] == '/' {
			return namespaced
		}
		t := x.name()
		value, ok := x.attributeValue()
		if !ok || t.start == t.end || before == t.start {
			x.fail("an attribute of the narrative is not well-formed")
			return false
		}
		if x.isTwice(t) {
			x.fail("an attribute of the narrative stands twice in its tag")
			return false
		}
		if name := x.word(t); string(name) == "xmlns" {
			if string(value) != xhtmlNamespace {
				x.forbid("the namespace is not that of XHTML", value)
			}
			namespaced = true
		} else {
			x.checkAttribute(element, name, value)
		}
	}
}

func (x *xhtml) isTwice(t tag) bool {
	for _, other := range x.c.attrs {
		if bytes.Equal(x.word(other), x.word(t)) {
			return true
		}
	}
	x.c.attrs = append(x.c.attrs, t)
	return len(x.c.attrs) > maxAttrs
}

// attributeValue reads = and the value in quotes.
func (x *xhtml) attributeValue() (value []byte, ok bool) {
	x.skipSpace()
	if !x.at("=") {
		return nil, false
	}
	x.i++
	x.skipSpace()
	if x.i == len(x.text) || x.text[x.i] != '"' && x.text[x.i] != '\'' {
		return nil, false
	}
	quote := x.text[x.i]
	start := x.i + 1
	length := bytes.IndexByte(x.text[start:], quote)
	if length < 0 {
		return nil, false
	}
	value = x.text[start : start+length]
	if bytes.IndexByte(value, '<') >= 0 || !x.entities(value) {
		return nil, false
	}
	x.i = start + length + 1
	return value, true
}

func (x *xhtml) checkAttribute(element, name, value []byte) {
	if !isNarrativeAttribute(element, name) {
		x.forbid("the attribute has no place in a narrative", name)
	}
	switch string(name) {
	case "href", "src", "cite", "longdesc":
		if isScriptURL(value) {
			x.forbid("a link that runs a script has no place in a narrative", value)
		}
	}
}

// isScriptURL recognises a script URL despite spaces, case and numeric
// entities.
func isScriptURL(value []byte) bool {
	var b [16]byte
	n := 0
	for i := 0; i < len(value) && n < len(b); i++ {
		c := value[i]
		if c == '&' {
			size, r := entity(value[i:])
			if size > 1 {
				i += size - 1
			}
			c = byte(min(r, 0x7f))
		}
		if c <= ' ' {
			continue
		}
		b[n] = c | 0x20
		n++
	}
	return bytes.HasPrefix(b[:n], []byte("javascript:")) || bytes.HasPrefix(b[:n], []byte("vbscript:"))
}

// characters reads text up to the next tag.
func (x *xhtml) characters() {
	length := bytes.IndexByte(x.text[x.i:], '<')
	if length < 0 {
		length = len(x.text) - x.i
	}
	text := x.text[x.i : x.i+length]
	if !x.content {
		x.content = len(bytes.TrimLeft(text, " \t\r\n")) > 0
	}
	if !x.entities(text) {
		x.fail("an & of the narrative begins no entity of XML; as text it is written &amp;, other characters as themselves or by number")
		return
	}
	x.i += length
}
