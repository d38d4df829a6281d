package fhirmap

import (
	"bytes"
	"encoding/json"
	"sort"

	"runsheet.example/fhirmap/r4"
	"runsheet.example/profiles"
)

// Transaction is one session as a transaction Bundle: each resource is
// created unless the receiver has one with its identifier, so that sending it
// again changes nothing. It is written once and then kept; different sessions
// may be written at the same time.
func (m *Month) Transaction(at int) (json.RawMessage, error) {
	s := &m.Sessions[at]
	if s.bundle != nil {
		return s.bundle, nil
	}
	bundle := r4.Bundle{Identifier: &identifier(bundleID(*s))[0], Type: "transaction"}
	if m.opts.ClaimProfiles != "" {
		bundle.Meta = &r4.Meta{Profile: []string{profiles.ProfileTransaction.URL(m.opts.ClaimProfiles)}}
	}
	for _, r := range s.Resources {
		bundle.Entry = append(bundle.Entry, r4.Entry{FullURL: EntryURL(r.ID), Resource: r.JSON, Request: request(r)})
	}
	text, err := r4.Marshal(&bundle)
	s.bundle = text
	return text, err
}

// request is a conditional create, or a put under our own id where that was
// chosen.
func request(r Resource) *r4.Request {
	if r.Condition == "" {
		return &r4.Request{Method: "PUT", URL: r.Type + "/" + r.ID}
	}
	return &r4.Request{Method: "POST", URL: r.Type, IfNoneExist: r.Condition}
}

// bundleID is the identity of a session's Bundle, made from the session's.
func bundleID(s SessionRecord) string {
	return namer{logID: s.ID}.name("", "bundle", 0)
}

// Collection is the whole month as one Bundle, for an archive or an auditor.
// A resource that several sessions share stands in it once.
func (m *Month) Collection() (json.RawMessage, error) {
	bundle := r4.Bundle{Type: "collection"}
	for _, r := range m.distinct() {
		bundle.Entry = append(bundle.Entry, r4.Entry{FullURL: EntryURL(r.ID), Resource: r.JSON})
	}
	return r4.Marshal(&bundle)
}

// File is one file of an export.
type File struct {
	Name string
	Data []byte
}

// NDJSON is the month for bulk import: one file for each resource type, one
// resource a line, references by Type/id. The month must have been mapped with
// [ByTypeID].
func (m *Month) NDJSON() []File {
	byType := map[string]*bytes.Buffer{}
	for _, r := range m.distinct() {
		if byType[r.Type] == nil {
			byType[r.Type] = new(bytes.Buffer)
		}
		byType[r.Type].Write(r.JSON)
		byType[r.Type].WriteByte('\n')
	}
	files := make([]File, 0, len(byType))
	for name, buffer := range byType {
		files = append(files, File{Name: name + ".ndjson", Data: buffer.Bytes()})
	}
	sort.Slice(files, func(i, j int) bool { return files[i].Name < files[j].Name })
	return files
}

// distinct lists the resources of all sessions, each identity once.
func (m *Month) distinct() []Resource {
	var out []Resource
	seen := map[string]bool{}
	for _, s := range m.Sessions {
		for _, r := range s.Resources {
			if key := r.Type + "/" + r.ID; !seen[key] {
				seen[key] = true
				out = append(out, r)
			}
		}
	}
	return out
}
