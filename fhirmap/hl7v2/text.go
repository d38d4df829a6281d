package hl7v2

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"runsheet.example/profiles"
)

// delimiters are MSH-1 and MSH-2.
const delimiters = `|^~\&`

// escaped has the escape sequences of chapter 2. Control characters are written
// in hexadecimal: some of them frame a message on the line.
var escaped = func() *strings.Replacer {
	pairs := []string{
		`\`, `\E\`, `|`, `\F\`, `^`, `\S\`, `&`, `\T\`, `~`, `\R\`,
		"\r\n", `\.br\`, "\n", `\.br\`, "\r", `\.br\`,
	}
	for c := range ' ' {
		if c != '\n' && c != '\r' {
			pairs = append(pairs, string(c), fmt.Sprintf(`\X%02X\`, c))
		}
	}
	return strings.NewReplacer(pairs...)
}()

func escape(text string) string { return escaped.Replace(text) }

// components joins the parts of a field, without empty ones at the end.
func components(parts ...string) string { return strings.TrimRight(strings.Join(parts, "^"), "^") }

// segment is a segment without empty fields at the end.
func segment(fields ...string) string { return strings.TrimRight(strings.Join(fields, "|"), "|") }

// systems are the code systems in table 0396.
var systems = map[string]string{
	profiles.LOINC: "LN", profiles.SNOMED: "SCT", profiles.UCUM: "UCUM",
	profiles.Local: "99RSH", profiles.Algorithm: "99RSM",
}

// triplet is the code, text and system of a coding. A system that table 0396
// does not name is written out.
func triplet(c coding, text string) string {
	if c.Display != "" {
		text = c.Display
	}
	system, ok := systems[c.System]
	if !ok {
		system = c.System
	}
	return escape(c.Code) + "^" + escape(text) + "^" + escape(system)
}

// coded is a concept as CE. The alternate is the last coding, which is the
// receiver's where its codes are written; where there is one, role and text.
func (c *concept) coded(role, text string) string {
	switch len(c.Coding) {
	case 0:
		return components(escape(role), escape(text), "L")
	case 1:
		out := triplet(c.Coding[0], text)
		if role != "" {
			return out + "^" + escape(role) + "^" + escape(text) + "^L"
		}
		if text != "" && text != c.Coding[0].Display {
			out += "^^" + escape(text)
		}
		return components(out)
	default:
		return triplet(c.Coding[0], text) + "^" + triplet(c.Coding[len(c.Coding)-1], "")
	}
}

// value is a concept as CWE: its text is CWE-9 beside a code, and CWE-2
// without one.
func (c *concept) value() string {
	if len(c.Coding) == 0 {
		return components("", escape(c.Text))
	}
	second := "^^"
	if len(c.Coding) > 1 {
		second = triplet(c.Coding[len(c.Coding)-1], "")
	}
	return components(triplet(c.Coding[0], ""), second, "", "", escape(c.Text))
}

// words are a concept for a person.
func (c *concept) words() string {
	switch {
	case c == nil:
		return ""
	case c.Text != "" || len(c.Coding) == 0:
		return c.Text
	case c.Coding[0].Display != "":
		return c.Coding[0].Display
	default:
		return c.Coding[0].Code
	}
}

// timestamp converts a FHIR date, dateTime or instant to TS, with the same
// precision and offset.
func timestamp(fhir string) string {
	day, clock, timed := strings.Cut(fhir, "T")
	out := strings.ReplaceAll(day, "-", "")
	if !timed {
		return out
	}
	if at, utc := strings.CutSuffix(clock, "Z"); utc {
		clock = at + "+00:00"
	}
	return out + strings.ReplaceAll(clock, ":", "")
}

// longestST is the length of a text of type ST in characters.
const longestST = 199

// textType is the data type that holds a text.
func textType(text string) string {
	switch {
	case strings.ContainsAny(text, "\r\n"):
		return "FT"
	case utf8.RuneCountInString(text) > longestST:
		return "TX"
	default:
		return "ST"
	}
}

// authority is the system of an identifier as HD, its parts joined by sep.
func authority(system, sep string) string {
	if oid, ok := strings.CutPrefix(system, "urn:oid:"); ok {
		return sep + escape(oid) + sep + "ISO"
	}
	if id, ok := strings.CutPrefix(system, "urn:uuid:"); ok {
		return sep + escape(id) + sep + "UUID"
	}
	return sep + escape(system) + sep + "URI"
}
