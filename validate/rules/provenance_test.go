package rules_test

import (
	"fmt"
	"testing"

	"runsheet.example/validate"
)

// A correction names what it updates by a condition, for it does not know the
// id; the Provenance is of what the condition finds in the Bundle, and of
// nothing else.
func TestConditionalTarget(t *testing.T) {
	const bundle = `{"resourceType":"Bundle","type":"transaction","entry":[
{"fullUrl":"urn:uuid:22222222-2222-4222-8222-222222222222","resource":{"resourceType":"Observation","meta":{"security":[{"system":"http://terminology.hl7.org/CodeSystem/v3-ObservationValue","code":"PATAST"}]},
"identifier":[{"system":"urn:ietf:rfc:3986","value":"urn:uuid:11111111-1111-5111-8111-111111111111"}],"status":"corrected",
"code":{"text":"weight"},"subject":{"reference":"Patient/1"},"performer":[{"reference":"Patient/1"}]},
"request":{"method":"PUT","url":"Observation?identifier=urn:ietf:rfc:3986|urn:uuid:11111111-1111-5111-8111-111111111111"}},
{"fullUrl":"urn:uuid:33333333-3333-4333-8333-333333333333","resource":{"resourceType":"Provenance","target":[{"reference":%q}],"recorded":"2025-12-01T09:00:00Z",
"agent":[{"who":{"reference":"Patient/1"}}]},"request":{"method":"POST","url":"Provenance"}}]}`
	for reference, want := range map[string]bool{
		"Observation?identifier=urn:ietf:rfc:3986|urn:uuid:11111111-1111-5111-8111-111111111111":         false,
		"Observation?identifier=urn%3Aietf%3Arfc%3A3986%7Curn:uuid:11111111-1111-5111-8111-111111111111": false,
		"Observation?identifier=urn:ietf:rfc:3986|urn:uuid:99999999-9999-5999-8999-999999999999":         true,
		"Procedure?identifier=urn:ietf:rfc:3986|urn:uuid:11111111-1111-5111-8111-111111111111":           true,
		"Observation?identifier=https://elsewhere.example|urn:uuid:11111111-1111-5111-8111-111111111111": true,
		"Observation?code=x": true,
		"Observation?identifier=urn:ietf:rfc:3986%zz|urn:uuid:11111111-1111-5111-8111-111111111111": true,
	} {
		missing := false
		for _, f := range validate.New(validate.Options{}).Bytes([]byte(fmt.Sprintf(bundle, reference)), "a.json") {
			missing = missing || f.Rule == "prov-missing"
		}
		if missing != want {
			t.Errorf("%s: missing %t, want %t", reference, missing, want)
		}
	}
}
