package structure

import "strings"

// isNarrativeElement reports whether HTML 4.0 defines the element in a chapter
// that txt-1 lists: 7 (structure), 8 (language), 9 (text) without section 4
// (ins and del), 10 (lists), 11 (tables), 15 (presentation), and links and
// images.
func isNarrativeElement(name []byte) bool {
	switch string(name) {
	case "div", "span", "h1", "h2", "h3", "h4", "h5", "h6", "address", // 7
		"bdo", // 8
		"em", "strong", "dfn", "code", "samp", "kbd", "var", "cite", "abbr", "acronym",
		"blockquote", "q", "sub", "sup", "p", "br", "pre", // 9
		"ul", "ol", "li", "dl", "dt", "dd", // 10
		"table", "caption", "thead", "tfoot", "tbody", "colgroup", "col", "tr", "th", "td", // 11
		"tt", "i", "b", "big", "small", "hr", // 15
		"a", "img", "map", "area":
		return true
	}
	return false
}

// isNarrativeAttribute reports whether the element may have the attribute.
func isNarrativeAttribute(element, name []byte) bool {
	switch string(name) {
	case "title", "style", "class", "id", "lang", "xml:lang", "dir", "accesskey", "tabindex",
		"span", "width", "align", "valign", "char", "charoff":
		return true
	}
	return listed(ownAttributes(element), name)
}

// listed reports whether the space-separated list contains the word.
func listed(list string, word []byte) bool {
	for rest := list; rest != ""; {
		next, after, _ := strings.Cut(rest, " ")
		if next == string(word) && next != "" {
			return true
		}
		rest = after
	}
	return false
}

// ownAttributes lists the attributes specific to an element, separated by
// spaces.
func ownAttributes(element []byte) string {
	switch string(element) {
	case "a":
		return "href name charset type hreflang rel rev shape coords target"
	case "img":
		return "src alt longdesc height usemap ismap border name"
	case "area":
		return "shape coords href nohref alt"
	case "map":
		return "name"
	case "table":
		return "summary border frame rules cellspacing cellpadding"
	case "td", "th":
		return "abbr axis headers scope rowspan colspan nowrap height"
	case "blockquote", "q":
		return "cite"
	case "hr":
		return "size noshade"
	case "ol", "ul", "li":
		return "type start value compact"
	case "pre":
		return "xml:space"
	case "br":
		return "clear"
	}
	return ""
}
