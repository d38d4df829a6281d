package r4

import "encoding/json"

// Bundle is the R4 Bundle with the elements we write. Entries hold resources
// already written by [Marshal], so that a resource has the same bytes in a
// Bundle, in NDJSON and in its digest.
type Bundle struct {
	ID         string      `json:"id,omitempty"`
	Identifier *Identifier `json:"identifier,omitempty"`
	Type       string      `json:"type"`
	Entry      []Entry     `json:"entry,omitempty"`
}

// Entry is Bundle.entry.
type Entry struct {
	FullURL  string          `json:"fullUrl,omitempty"`
	Resource json.RawMessage `json:"resource"`
	Request  *Request        `json:"request,omitempty"`
}

// Request is Bundle.entry.request. IfNoneExist is what follows the "?" of the
// search, nothing else (R4 Bundle).
type Request struct {
	Method      string `json:"method"`
	URL         string `json:"url"`
	IfNoneExist string `json:"ifNoneExist,omitempty"`
}
