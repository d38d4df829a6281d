package r4

import (
	"bytes"
	"encoding/json"
)

// Bundle is the R4 Bundle with the elements we write. Entries hold resources
// already written by [Marshal], so that a resource has the same bytes in a
// Bundle, in NDJSON and in its digest.
type Bundle struct {
	ID         string
	Meta       *Meta
	Identifier *Identifier
	Type       string
	// Timestamp is when the content was assembled, as an instant; a document
	// requires it (bdl-10).
	Timestamp string
	Entry     []Entry
}

// Entry is Bundle.entry.
type Entry struct {
	FullURL  string
	Resource json.RawMessage
	Request  *Request
}

// Request is Bundle.entry.request. IfNoneExist is the part of the search after
// the "?" (R4 Bundle).
type Request struct {
	Method      string `json:"method"`
	URL         string `json:"url"`
	IfNoneExist string `json:"ifNoneExist,omitempty"`
}

// write assembles the Bundle from its parts. It does not encode the entries
// again: they keep their bytes, and a month of Bundles costs a copy instead of
// a second parse.
func (b *Bundle) write() (json.RawMessage, error) {
	head := struct {
		ID         string      `json:"id,omitempty"`
		Meta       *Meta       `json:"meta,omitempty"`
		Identifier *Identifier `json:"identifier,omitempty"`
		Type       string      `json:"type"`
		Timestamp  string      `json:"timestamp,omitempty"`
	}{b.ID, b.Meta, b.Identifier, b.Type, b.Timestamp}
	text, err := typed("Bundle", head)
	if err != nil || len(b.Entry) == 0 {
		return text, err
	}
	out := bytes.NewBuffer(text[:len(text)-1])
	out.WriteString(`,"entry":[`)
	for i, e := range b.Entry {
		if i > 0 {
			out.WriteByte(',')
		}
		if err := e.write(out); err != nil {
			return nil, err
		}
	}
	out.WriteString("]}")
	return out.Bytes(), nil
}

func (e Entry) write(out *bytes.Buffer) error {
	url, err := plain(e.FullURL)
	if err != nil {
		return err
	}
	out.WriteString(`{"fullUrl":`)
	out.Write(url)
	out.WriteString(`,"resource":`)
	out.Write(e.Resource)
	if e.Request != nil {
		request, err := plain(e.Request)
		if err != nil {
			return err
		}
		out.WriteString(`,"request":`)
		out.Write(request)
	}
	out.WriteByte('}')
	return nil
}
