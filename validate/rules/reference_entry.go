package rules

import (
	"bytes"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/resources"
	"runsheet.example/validate/structure"
)

// entry checks one Bundle entry that has a resource.
func (c *referenceChecker) entry(at int, res *resources.Resource) {
	kind := string(c.rec.Resources[res.Bundle].BundleType)
	c.fullURL(res, kind)
	if res.Request != doc.None {
		c.requestURL(res)
		c.condition(res)
	}
	if kind == "transaction" && res.Type == "Patient" && c.d.Is(res.RequestMethod, "POST") {
		c.report(res.Node, "bundle-patient-created", "a Patient is created unless the condition finds one", nil)
	}
	if len(res.Identity) > 0 && !res.First {
		if first := c.rec.ByIdentity(res.Identity); first != at && c.rec.Resources[first].Bundle == res.Bundle {
			c.report(res.Identifier, "bundle-identity-duplicate", "an earlier entry has the same record identifier", res.Identity)
		}
	}
}

func (c *referenceChecker) fullURL(res *resources.Resource, kind string) {
	node := res.FullURLNode
	url := res.FullURL
	switch {
	case len(url) == 0:
		if kind == "collection" || kind == "document" || kind == "message" || kind == "searchset" {
			c.report(res.Entry, "bundle-fullurl-missing", "the entry has no fullUrl", nil)
		}
		return
	case isUUIDLike(url):
		if !isUUIDForm(url) {
			c.report(node, "bundle-fullurl-form", "the urn:uuid is not a UUID in lower case", url)
		}
		return
	case !isAbsolute(url):
		c.report(node, "bundle-fullurl-form", "fullUrl is not absolute", url)
		return
	}
	if !bytes.HasPrefix(url, []byte("http")) || len(res.ID) == 0 {
		return
	}
	rest, ok := bytes.CutSuffix(url, res.ID)
	rest, slash := bytes.CutSuffix(rest, []byte("/"))
	if !ok || !slash || !bytes.HasSuffix(rest, []byte(res.Type)) {
		c.complain(node, "bundle-fullurl-id", issue.T("fullUrl does not end in the resource's type and id"),
			string(url), issue.T("…/{}/{}", res.Type, string(res.ID)))
	}
}

// isAbsolute reports whether a URI has a scheme (RFC 3986 section 4.3).
func isAbsolute(uri []byte) bool {
	colon := bytes.IndexByte(uri, ':')
	if colon <= 0 || colon == len(uri)-1 {
		return false
	}
	for i, b := range uri[:colon] {
		letter := 'a' <= b && b <= 'z' || 'A' <= b && b <= 'Z'
		if !letter && (i == 0 || (b < '0' || b > '9') && b != '+' && b != '-' && b != '.') {
			return false
		}
	}
	return true
}

// requestURL checks request.url against the method and the resource.
func (c *referenceChecker) requestURL(res *resources.Resource) {
	method := res.RequestMethod
	node := res.RequestURL
	url := c.d.Str(node)
	if len(url) == 0 || res.Type == "" {
		return // reported by the structure layer
	}
	if c.d.Is(method, "POST") && string(url) == res.Type {
		return
	}
	path, query, searched := bytes.Cut(url, []byte("?"))
	if isOperation(path) {
		return
	}
	name, id, hasID := bytes.Cut(relative(path), []byte("/"))
	wrong := ""
	switch string(c.d.Str(method)) {
	case "POST":
		if hasID || searched {
			wrong = "POST goes to the type alone"
		}
	case "PUT", "PATCH":
		switch {
		case !hasID && (!searched || len(query) == 0):
			wrong = "an update goes to Type/id or to Type?condition"
		case hasID && len(res.ID) > 0 && !bytes.Equal(id, res.ID):
			wrong = "the id in the URL is not the resource's id"
		}
	default:
		return
	}
	if wrong == "" && string(name) != res.Type && string(c.d.Str(method)) != "PATCH" {
		wrong = "the type in the URL is not the resource's type"
	}
	if wrong != "" {
		c.complain(node, "bundle-request-url", issue.T(wrong), string(url), issue.Text{})
	}
}

// relative removes the base of an absolute URL, leaving Type or Type/id.
func relative(path []byte) []byte {
	if !bytes.Contains(path, []byte("://")) {
		return path
	}
	last := bytes.LastIndexByte(path, '/')
	before := bytes.LastIndexByte(path[:last], '/')
	if _, known := structure.ResourceType(path[before+1 : last]); known {
		return path[before+1:]
	}
	return path[last+1:]
}

// isOperation reports whether a path is an operation ($validate).
func isOperation(path []byte) bool { return bytes.IndexByte(path, '$') >= 0 }

// missingResource checks an entry without a resource.
func (c *referenceChecker) missingResource(entry doc.Node) {
	request := c.d.Get(entry, "request")
	switch string(c.d.Str(c.d.Get(request, "method"))) {
	case "POST":
		if isOperation(c.d.Str(c.d.Get(request, "url"))) {
			return
		}
	case "PUT":
	default:
		return
	}
	c.report(entry, "bundle-request-resource", "the request stores a resource and there is none", nil)
}
