package structure

import (
	"bytes"
	"cmp"
	"crypto/sha1"
	"crypto/sha256"
	"encoding/base64"
	"maps"
	"slices"
	"strconv"
	"strings"

	"runsheet.example/validate/doc"
)

// whole checks rules between the members of an object that no invariant of R4
// states.
func (c *Checker) whole(n doc.Node, t Type) {
	switch t {
	case Attachment:
		c.attachment(n)
	case DocumentReference:
		c.namedDigests(n)
	case SampledData:
		c.sampledData(n)
	case Identifier:
		system := c.doc.Get(n, "system")
		if text := c.doc.Str(system); len(text) > 0 && bytes.IndexByte(text, ':') < 0 {
			c.reportAs(system, "r4-identifier-system", "the system of the identifier is a relative reference", c.doc.Excerpt(system), "an absolute URI")
		} else if value := c.doc.Get(n, "value"); string(text) == "urn:ietf:rfc:3986" && len(c.doc.Str(value)) > 0 && bytes.IndexByte(c.doc.Str(value), ':') < 1 {
			c.reportAs(value, "r4-identifier-value", "the system says that the value is a URI, and it is none", c.doc.Excerpt(value), "a URI with its scheme, such as urn:oid:")
		}
	}
}

// attachment compares size and hash with the data.
func (c *Checker) attachment(n doc.Node) {
	d := c.doc
	data, ok := c.attached(n)
	if !ok {
		return
	}
	size, hash := d.Get(n, "size"), d.Get(n, "hash")
	if written, err := strconv.Atoi(string(d.Raw(size))); err == nil && written != len(data) {
		c.reportAs(size, "r4-attachment", "size is not the number of bytes of data", strconv.Itoa(written), strconv.Itoa(len(data)))
	}
	sum := sha1.Sum(data)
	if right := base64.StdEncoding.EncodeToString(sum[:]); len(d.Str(hash)) > 0 && isBase64(d.Str(hash)) && string(d.Str(hash)) != right {
		c.reportAs(hash, "r4-attachment", "hash is not the SHA-1 of data", d.Excerpt(hash), right)
	}
}

// attached decodes the data of an attachment; ok is false without data that can
// be read.
func (c *Checker) attached(n doc.Node) (data []byte, ok bool) {
	text := c.doc.Str(c.doc.Get(n, "data"))
	if len(text) == 0 || !isBase64(text) {
		return nil, false
	}
	data, err := base64.StdEncoding.DecodeString(strings.Map(func(r rune) rune {
		if r < 128 && isSpace(byte(r)) {
			return -1
		}
		return r
	}, string(text)))
	return data, err == nil
}

// namedDigests compares the digests that name a document (RFC 6920) with the
// data in it.
func (c *Checker) namedDigests(n doc.Node) {
	d := c.doc
	sums := map[string]bool{}
	contents := d.Get(n, "content")
	for content := d.FirstChild(contents); content != doc.None; content = d.Next(content) {
		data, ok := c.attached(d.Get(content, "attachment"))
		if !ok {
			return // what stands elsewhere may have the digest
		}
		sum := sha256.Sum256(data)
		sums[base64.RawURLEncoding.EncodeToString(sum[:])] = true
	}
	identifiers := d.Get(n, "identifier")
	for one := d.FirstChild(identifiers); one != doc.None; one = d.Next(one) {
		value := d.Get(one, "value")
		digest, named := strings.CutPrefix(string(d.Str(value)), "ni:///sha-256;")
		if named && !sums[digest] {
			c.reportAs(value, "r4-attachment-digest", "the identifier is not the SHA-256 of the data", d.Excerpt(value), strings.Join(slices.Sorted(maps.Keys(sums)), ", "))
		}
	}
}

// sampledData checks the grammar of the samples, and that their number is a
// multiple of dimensions.
func (c *Checker) sampledData(n doc.Node) {
	d := c.doc
	data := d.Get(n, "data")
	text := d.Str(data)
	if len(text) == 0 {
		return
	}
	samples := 0
	for sample := range bytes.SplitSeq(text, []byte(" ")) {
		samples++
		if !isSample(sample) {
			c.reportAs(data, "r4-sampled-data", "sample {} is not a decimal number, E, U or L", string(sample[:min(len(sample), 40)]), "", samples)
			return
		}
	}
	if dimensions, err := strconv.Atoi(string(d.Raw(d.Get(n, "dimensions")))); err == nil && dimensions > 0 && samples%dimensions != 0 {
		c.reportAs(data, "r4-sampled-data", "the number of samples is not a multiple of dimensions", strconv.Itoa(samples), "a multiple of "+strconv.Itoa(dimensions))
	}
}

func isSample(s []byte) bool {
	switch string(s) {
	case "E", "U", "L":
		return true
	}
	digits, points := 0, 0
	for i, b := range s {
		switch {
		case b == '-' && i == 0:
		case b == '.':
			points++
		case '0' <= b && b <= '9':
			digits++
		default:
			return false
		}
	}
	return digits > 0 && points <= 1
}

// ids reports duplicate ids: of the resources contained in one resource, and
// of the elements of one resource.
func (c *Checker) ids() {
	d := c.doc
	for _, n := range c.resources {
		if _, contained := c.container(n); contained && d.Get(n, "id") == doc.None {
			c.report(n, "r4-contained-id", "the contained resource has no id, so that nothing can refer to it")
		}
	}
	clear(c.known)
	slices.SortFunc(c.identified, func(a, b doc.Node) int { return cmp.Compare(d.Parent(a), d.Parent(b)) }) // the outer element first
	for _, member := range c.identified {
		n := d.Parent(member)
		if len(d.Str(member)) == 0 || d.Get(n, "id") != member || c.TypeOf(n) == ElementDefinition { // snapshot and differential share ids
			continue
		}
		owner, isResource := n, c.TypeOf(n).IsResource()
		if isResource {
			contained := false
			if owner, contained = c.container(n); !contained {
				continue
			}
		}
		for !isResource && !c.TypeOf(owner).IsResource() {
			owner = d.Parent(owner)
		}
		key := idOf{owner, isResource, string(d.Str(member))}
		if c.known[key] {
			c.reportAs(member, "r4-id-duplicate", "another of the same resource has this id", d.Excerpt(member), "")
		}
		if c.known == nil {
			c.known = map[idOf]bool{}
		}
		c.known[key] = true
	}
}

// idOf is an id within a resource, of an element or of a contained resource.
type idOf struct {
	owner     doc.Node
	contained bool
	id        string
}

// container returns the resource that a resource is contained in.
func (c *Checker) container(n doc.Node) (doc.Node, bool) {
	array := c.doc.Parent(n)
	if c.doc.Kind(array) != doc.Array || string(c.doc.Key(array)) != "contained" {
		return doc.None, false
	}
	return c.doc.Parent(array), true
}
