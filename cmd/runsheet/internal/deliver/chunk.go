package deliver

import (
	"bytes"
	"errors"

	"runsheet.example/fhirmap"
)

// rules limit the content of one request.
type rules struct {
	style Style
	// max is the largest number of entries; 0 for no limit.
	max int
	// apart sends a session's Provenance after the rest, if the server can
	// find it by its target; its usual condition is a chained search, which
	// many servers do not support.
	apart bool
}

// limit is the largest number of resources in one request of the style.
func (r rules) limit() int {
	switch {
	case r.style == Put || r.style == Single:
		return 1
	case r.max > 0:
		return r.max
	default:
		return int(^uint(0) >> 1)
	}
}

// errTangled cannot happen with our exports, in which every resource refers
// only to earlier ones or, in a Provenance, to all others.
var errTangled = errors.New("the resources refer to each other in a circle and cannot be sent in parts")

// next selects from the pending resources, in order, the content of one
// request: up to the limit, without references to resources that the server
// lacks. Within a transaction entries may refer to each other; in a batch they
// may not (FHIR R4, 3.1.0.11.1). So a batch has the devices and the session
// first, and resources that refer to them go later.
func (r rules) next(pending []fhirmap.Resource, known func(identity string) bool) ([]fhirmap.Resource, error) {
	if r.apart {
		pending = provenanceLast(pending)
	}
	limit := r.limit()
	if r.style == Transaction && len(pending) <= limit {
		return pending, nil
	}
	var chunk []fhirmap.Resource
	inside := map[string]bool{}
	for _, resource := range pending {
		if len(chunk) == limit {
			break
		}
		ready := true
		for _, identity := range references(resource.JSON) {
			ready = ready && (known(identity) || r.style == Transaction && inside[identity])
		}
		if ready {
			chunk = append(chunk, resource)
			inside[resource.Identity] = true
		}
	}
	if len(chunk) == 0 {
		return nil, errTangled
	}
	return chunk, nil
}

// provenanceLast defers Provenance while other resources are pending.
func provenanceLast(pending []fhirmap.Resource) []fhirmap.Resource {
	var rest []fhirmap.Resource
	for _, r := range pending {
		if r.Type != "Provenance" {
			rest = append(rest, r)
		}
	}
	if len(rest) == 0 {
		return pending
	}
	return rest
}

// requests returns the number of requests for the pending resources.
func (r rules) requests(pending []fhirmap.Resource, known func(identity string) bool) (int, error) {
	sent := map[string]bool{}
	count := 0
	for len(pending) > 0 {
		chunk, err := r.next(pending, func(identity string) bool { return sent[identity] || known(identity) })
		if err != nil {
			return 0, err
		}
		for _, resource := range chunk {
			sent[resource.Identity] = true
		}
		var rest []fhirmap.Resource
		for _, resource := range pending {
			if !sent[resource.Identity] {
				rest = append(rest, resource)
			}
		}
		pending = rest
		count++
	}
	return count, nil
}

// entry is one entry of a request Bundle.
type entry struct {
	fullURL   string
	resource  []byte
	method    string
	url       string
	condition string
	// version is the version that an update replaces.
	version string
}

// bundle writes a transaction or batch. The same entries give the same bytes,
// so that a retry after an interruption sends identical content.
func bundle(style Style, entries []entry) []byte {
	var out bytes.Buffer
	out.WriteString(`{"resourceType":"Bundle","type":"` + string(style) + `","entry":[`)
	for i, e := range entries {
		if i > 0 {
			out.WriteByte(',')
		}
		out.WriteString(`{"fullUrl":"` + e.fullURL + `","resource":`)
		out.Write(e.resource)
		out.WriteString(`,"request":{"method":"` + e.method + `","url":"` + e.url + `"`)
		if e.condition != "" {
			out.WriteString(`,"ifNoneExist":`)
			out.Write(quoted(e.condition))
		}
		if e.version != "" {
			out.WriteString(`,"ifMatch":`)
			out.Write(quoted(`W/"` + e.version + `"`))
		}
		out.WriteString("}}")
	}
	out.WriteString("]}")
	return out.Bytes()
}
