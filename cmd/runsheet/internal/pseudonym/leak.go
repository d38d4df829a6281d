package pseudonym

import (
	"bytes"
	"fmt"
	"regexp"
	"slices"
	"strings"

	"runsheet.example/validate/doc"
)

// Shapes in a text. A time in a search is escaped.
var (
	digestShape = regexp.MustCompile(`(?i)[0-9a-f]{64}`)
	anyDate     = regexp.MustCompile(`\d{4}-\d\d-\d\d(?:T\d\d(?::|%3A)\d\d(?:(?::|%3A)\d\d(?:\.\d+)?)?(?:Z|(?:[+-]|%2B)\d\d(?::|%3A)\d\d))?`)
	// made is the form of every text of a copy that is no word of the tables,
	// with ~ for a UUID, # for a digest and ^ for a date.
	made = regexp.MustCompile(`^(?:` +
		`\^|#|(?:urn:uuid:)?~|(?:` + regexp.QuoteMeta(base) + `)?[A-Za-z]+/~|(?:session|weeks|report|records)-~\.(?:json|ndjson|jsonl)` +
		`|(?:[A-Za-z]+\?)?[A-Za-z:.]+=(?:urn:uuid:~\|~|urn:ietf:rfc:3986\|urn:uuid:~|\^)(?:&[A-Za-z:.]+=(?:urn:uuid:~\|~|urn:ietf:rfc:3986\|urn:uuid:~|\^))*` +
		`)$`)
)

// leaks searches the copy of a document for what must not be in it.
func (c *copier) leaks(source []byte) error {
	if err := explained(source, c.out.Bytes(), ""); err != nil {
		return err
	}
	var d doc.Doc
	d.Parse(c.out.Bytes(), "")
	return c.dates(&d)
}

// explained holds that every text of a copy is a word of the tables or a name, a
// digest or a date of a form that copies have; that no such name or digest but
// one stands in the source; and that members have names of the tables.
func explained(source, copied []byte, but string) error {
	var d doc.Doc
	if faults := d.Parse(copied, ""); len(faults) > 0 {
		return fmt.Errorf("the copy is not JSON (%s)", faults[0].Rule)
	}
	taken := map[string]bool{}
	const uuidLength = 36
	for run := range bytes.FieldsFuncSeq(source, func(r rune) bool { return !strings.ContainsRune("0123456789abcdefABCDEF-", r) }) {
		if len(run) < uuidLength {
			continue // quicker than the shapes alone
		}
		for _, shape := range []*regexp.Regexp{uuidShape, digestShape} {
			for _, name := range shape.FindAll(run, -1) {
				taken[strings.ToLower(string(name))] = true
			}
		}
	}
	delete(taken, strings.ToLower(but))
	for n := doc.Node(0); int(n) < d.Len(); n++ {
		text := string(d.Str(n))
		member := string(d.Key(n))
		if text == "" || known().has(text) || (member == "unit" || member == "code") && isUnit(text) {
			continue
		}
		hit := false
		form := uuidShape.ReplaceAllStringFunc(text, func(name string) string { hit = hit || taken[strings.ToLower(name)]; return "~" })
		form = digestShape.ReplaceAllStringFunc(form, func(name string) string { hit = hit || taken[strings.ToLower(name)]; return "#" })
		if form = anyDate.ReplaceAllString(form, "^"); hit || !made.MatchString(form) && !isOther(member, text) {
			return &LeakError{d.Path(n)}
		}
	}
	return nil
}

// isOther reports whether a text of a manifest has the form of its member.
func isOther(member, text string) bool {
	return known().words[strings.TrimSuffix(text, ".ndjson")] || member == "version" && version.FindString(text) == text || member == "role" && role(text) == text
}

// dates holds that no element of a copied resource has the date that it had. Of
// all records together that cannot be asked: a year of records meets the dates
// of another year of it after a shift.
func (c *copier) dates(copied *doc.Doc) error {
	entries := copied.Get(copied.Root(), "entry")
	if entries == doc.None {
		return sameDates(c.d, c.d.Root(), copied, copied.Root())
	}
	entry := copied.FirstChild(entries)
	for _, source := range c.kept {
		if err := sameDates(c.d, source, copied, entry); err != nil {
			return err
		}
		entry = copied.Next(entry)
	}
	return nil
}

func sameDates(a *doc.Doc, source doc.Node, b *doc.Doc, copied doc.Node) error {
	had, has := map[string][]string{}, map[string][]string{}
	datesOf(a, source, "", had)
	datesOf(b, copied, "", has)
	for path, dates := range has {
		before := had[path]
		for i, date := range dates {
			if len(before) == len(dates) && before[i] == date || len(before) != len(dates) && slices.Contains(before, date) {
				return &LeakError{b.Path(copied) + path}
			}
		}
	}
	return nil
}

// datesOf adds the days of the dates in a value by path.
func datesOf(d *doc.Doc, n doc.Node, path string, into map[string][]string) {
	for _, date := range anyDate.FindAll(d.Str(n), -1) {
		into[path] = append(into[path], string(date[:len("2006-01-02")]))
	}
	if d.Kind(n) > doc.Array {
		return
	}
	for m := d.FirstChild(n); m != doc.None; m = d.Next(m) {
		at := path
		if key := d.Key(m); len(key) > 0 {
			at += "." + string(bytes.Clone(key))
		}
		datesOf(d, m, at, into)
	}
}

// LeakError says where a copy would have what it must not have.
type LeakError struct{ Path string }

// Error names the place, not what stands there.
func (e *LeakError) Error() string {
	return "the copy would hold something of the source at " + e.Path + "; nothing was written"
}
