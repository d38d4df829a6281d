package rules

import (
	"bytes"
	"net/url"

	"runsheet.example/profiles"
	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/resources"
)

// condition checks ifNoneExist and the condition of a conditional update.
func (c *referenceChecker) condition(res *resources.Resource) {
	if c.isOwnCondition(res) {
		return
	}
	node := res.IfNoneExist
	query := c.d.Str(node)
	if node == doc.None {
		node = res.RequestURL
		_, query, _ = bytes.Cut(c.d.Str(node), []byte("?"))
		if len(query) == 0 {
			return
		}
	}
	if name, rest, ok := bytes.Cut(query, []byte("?")); ok && !bytes.ContainsAny(name, "=|&") {
		c.report(node, "bundle-condition-form", "the condition begins before the question mark", query)
		query = rest
	}
	if res.Type == "Provenance" {
		return // has no identifier in R4, so it cannot have such a condition
	}
	value, ok := identifierCondition(query)
	if !ok {
		c.report(node, "bundle-condition-form", "the condition is not one identifier with its system", query)
		return
	}
	if !c.hasIdentifier(res, value) {
		c.complain(node, "bundle-condition-identifier", issue.T("no identifier of the resource is the one in the condition"),
			string(value), issue.Literal(c.firstIdentifier(res)))
	}
}

// isOwnCondition reports whether the condition is a search for the record
// identifier of the resource itself, as in our own records.
func (c *referenceChecker) isOwnCondition(res *resources.Resource) bool {
	const before = "identifier=" + profiles.RecordIdentifier + "|"
	condition := c.d.Str(res.IfNoneExist)
	return len(res.Identity) > 0 && len(condition) == len(before)+len(res.Identity) &&
		string(condition[:len(before)]) == before && bytes.Equal(condition[len(before):], res.Identity)
}

// identifierCondition parses "identifier=system|value" and returns
// "system|value", percent-decoded.
func identifierCondition(query []byte) ([]byte, bool) {
	value, ok := bytes.CutPrefix(query, []byte("identifier="))
	if !ok || bytes.IndexByte(value, '&') >= 0 {
		return nil, false
	}
	if bytes.IndexByte(value, '%') >= 0 {
		decoded, err := url.PathUnescape(string(value)) // a "+" stays a "+"
		if err != nil {
			return nil, false
		}
		value = []byte(decoded)
	}
	bar := bytes.IndexByte(value, '|')
	return value, bar > 0 && bar < len(value)-1
}

func (c *referenceChecker) hasIdentifier(res *resources.Resource, value []byte) bool {
	found := false
	c.identifiers(res, func(system, v []byte) bool {
		found = len(system)+1+len(v) == len(value) &&
			bytes.HasPrefix(value, system) && value[len(system)] == '|' && bytes.HasSuffix(value, v)
		return !found
	})
	return found
}

func (c *referenceChecker) firstIdentifier(res *resources.Resource) (text string) {
	c.identifiers(res, func(system, v []byte) bool {
		text = string(system) + "|" + string(v)
		return false
	})
	return text
}

// identifiers yields system and value of each identifier; the element is a
// list in most types and a single object in some.
func (c *referenceChecker) identifiers(res *resources.Resource, yield func(system, value []byte) bool) {
	d := c.d
	first := res.Identifier
	if d.Kind(first) == doc.Array {
		first = d.FirstChild(first)
	}
	for n := first; n != doc.None; n = d.Next(n) {
		if d.Kind(n) == doc.Object && !yield(d.Str(d.Get(n, "system")), d.Str(d.Get(n, "value"))) {
			return
		}
		if n == res.Identifier {
			return
		}
	}
}
