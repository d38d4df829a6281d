package structure

import (
	"bytes"

	"runsheet.example/validate/doc"
)

// checkCode reports a code outside its required value set.
func (c *Checker) checkCode(n doc.Node, code []byte, v *valueSetRow) {
	switch {
	case v.codes != v.codesEnd:
		if !v.has(code) {
			c.reportAs(n, "r4-binding", "the code is not in the value set it must be from", c.doc.Excerpt(n), v.url+v.some())
		}
	case v.url == "http://hl7.org/fhir/ValueSet/mimetypes":
		if !isMimeType(code) {
			c.reportAs(n, "r4-binding", "the code is no media type: type, slash, subtype", c.doc.Excerpt(n), v.url)
		}
	case v.url == "http://hl7.org/fhir/ValueSet/all-languages":
		if !isLanguage(code) {
			c.reportAs(n, "r4-binding", "the code is no language tag such as en or nl-BE", c.doc.Excerpt(n), v.url)
		}
	case v.url == "http://hl7.org/fhir/ValueSet/currencies":
		if len(code) != 3 || bytes.ContainsFunc(code, func(r rune) bool { return r < 'A' || r > 'Z' }) {
			c.reportAs(n, "r4-binding", "the code is no currency: three capital letters", c.doc.Excerpt(n), v.url)
		}
	}
}

// isLanguage reports a well-formed language tag (RFC 5646, BCP 47): subtags of
// one to eight letters and digits with hyphens between them, the first of
// letters. Whether the language exists is not checked.
func isLanguage(code []byte) bool {
	for i, part := range bytes.Split(code, []byte("-")) {
		if len(part) == 0 || len(part) > 8 {
			return false
		}
		for _, b := range part {
			if !isAlphanumeric(b) || i == 0 && b <= '9' {
				return false
			}
		}
	}
	return true
}

// some lists the codes of a small value set.
func (v *valueSetRow) some() string {
	const few = 16
	if v.codesEnd-v.codes > few {
		return ""
	}
	list := ": "
	for i := v.codes; i < v.codesEnd; i++ {
		if i > v.codes {
			list += ", "
		}
		list += codeText[codeTable[i].text : int(codeTable[i].text)+int(codeTable[i].length)]
	}
	return list
}

// isMimeType reports type/subtype with names of RFC 6838, with or without
// parameters, or one of FHIR's short names for its own formats (FHIR R4 4.0.1,
// CapabilityStatement.format).
func isMimeType(code []byte) bool {
	switch string(code) {
	case "xml", "json", "ttl":
		return true
	}
	name, _, _ := bytes.Cut(code, []byte(";"))
	kind, sub, ok := bytes.Cut(bytes.TrimRight(name, " "), []byte("/"))
	return ok && isMimeName(kind) && isMimeName(sub)
}

func isMimeName(name []byte) bool {
	for _, b := range name {
		if !isAlphanumeric(b) && bytes.IndexByte([]byte("!#$&-^_.+*"), b) < 0 {
			return false
		}
	}
	return len(name) > 0
}

// checkConcept reports a CodeableConcept without any coding from its required
// value set.
func (c *Checker) checkConcept(n doc.Node, r *elementRow) {
	v := &valueSets[r.valueSet]
	if v.codings == v.codingsEnd || r.typ != CodeableConcept {
		return
	}
	d := c.doc
	codings := d.Get(n, "coding")
	for o := d.FirstChild(codings); o >= 0; o = d.Next(o) {
		if v.hasCoding(d.Str(d.Get(o, "system")), d.Str(d.Get(o, "code"))) {
			return
		}
	}
	if codings == doc.None && d.Get(n, "text") == doc.None {
		return // only extensions, which may give the reason
	}
	c.reportAs(n, "r4-binding", "no coding is from the value set it must be from", c.doc.Excerpt(d.Get(d.FirstChild(codings), "code")), v.url)
}

func (v *valueSetRow) hasCoding(system, code []byte) bool {
	for _, k := range codings[v.codings:v.codingsEnd] {
		if k.code == string(code) && codingSystems[k.system] == string(system) {
			return true
		}
	}
	return false
}
