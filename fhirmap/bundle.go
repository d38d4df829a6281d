package fhirmap

import (
	"encoding/json"

	"runsheet.example/fhirmap/r4"
	"runsheet.example/profiles"
)

// Transaction returns the record as a transaction Bundle. It creates each
// resource unless the receiver has one with its identifier, so that sending it
// again changes nothing.
//
// Decision 2. A month in one transaction is refused as a whole for one bad
// value or for its size: a long night with half-hourly readings has about 150
// entries. There is one transaction Bundle for each session, one for the
// weeks of the log and one for a report, with conditional creates throughout. A refused session
// does not hold back the others.
func (s SessionRecord) Transaction() (json.RawMessage, error) {
	bundle := r4.Bundle{Identifier: &identifier(bundleID(s))[0], Type: "transaction"}
	if s.opts.ClaimProfiles != "" {
		bundle.Meta = &r4.Meta{Profile: []string{profiles.ProfileTransaction.URL(s.opts.ClaimProfiles)}}
	}
	for _, r := range s.Resources {
		bundle.Entry = append(bundle.Entry, r4.Entry{FullURL: EntryURL(r.Identity), Resource: r.JSON, Request: request(r)})
	}
	return r4.Marshal(&bundle)
}

// request is a conditional create, or a put under our own id on request.
func request(r Resource) *r4.Request {
	if r.Condition == "" {
		return &r4.Request{Method: "PUT", URL: r.Type + "/" + r.Identity}
	}
	return &r4.Request{Method: "POST", URL: r.Type, IfNoneExist: r.Condition}
}

// bundleID is the identity of a session's Bundle, derived from the session's.
func bundleID(s SessionRecord) string {
	return namer{logID: s.ID}.name("", "bundle", 0)
}

// Collection returns the whole month as one Bundle, for an archive or an
// auditor. It contains a shared resource once.
func (m *Month) Collection() (json.RawMessage, error) {
	bundle := r4.Bundle{Type: "collection"}
	for _, r := range m.distinct() {
		bundle.Entry = append(bundle.Entry, r4.Entry{FullURL: EntryURL(r.Identity), Resource: r.JSON})
	}
	return r4.Marshal(&bundle)
}

// distinct returns the resources of all records, each identity once.
func (m *Month) distinct() []Resource {
	var out []Resource
	seen := Distinct{}
	for _, s := range m.Records() {
		for _, r := range s.Resources {
			if seen.First(r) {
				out = append(out, r)
			}
		}
	}
	return out
}

// Distinct detects repeated shared resources: devices and the patient.
type Distinct map[string]bool

// First reports whether a resource has a new identity.
func (d Distinct) First(r Resource) bool {
	if !r.Shared() {
		return true
	}
	met := d[r.Identity]
	d[r.Identity] = true
	return !met
}
