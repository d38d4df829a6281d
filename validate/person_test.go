package validate_test

import (
	"fmt"
	"strings"
	"testing"

	"runsheet.example/validate"
)

// Forms in which one patient and another can be named.
const (
	searched      = `{"reference":"Patient?identifier=urn:oid:1.2.3|A"}`
	searchedOther = `{"reference":"Patient?identifier=urn:oid:1.2.3|B"}`
	logical       = `{"identifier":{"system":"urn:oid:1.2.3","value":"A"}}`
	logicalOther  = `{"identifier":{"system":"urn:oid:1.2.3","value":"B"}}`
	created       = `{"reference":"urn:uuid:11111111-1111-4111-8111-111111111111"}`
	literal       = `{"reference":"Patient/77"}`
	literalURL    = `{"reference":"https://ehr.example/fhir/Patient/77"}`
	literalOther  = `{"reference":"Patient/78"}`
	both          = `{"reference":"Patient/77","identifier":{"system":"urn:oid:1.2.3","value":"A"}}`
)

// sessionBundle is a session whose parts name the patient as given: the
// subject of the Procedure, the subject and the performer of an Observation,
// the patient of its device and the agent of the Provenance.
func sessionBundle(procedure, subject, performer, device, agent string) string {
	entry := func(uuid, kind, body string) string {
		return fmt.Sprintf(`{"fullUrl":"urn:uuid:%[1]s","resource":{"resourceType":%[2]q,%[3]s},"request":{"method":"POST","url":%[2]q}}`, uuid, kind, body)
	}
	entries := []string{
		entry("11111111-1111-4111-8111-111111111111", "Patient", `"identifier":[{"system":"urn:oid:1.2.3","value":"A"}]`),
		entry("22222222-2222-4222-8222-222222222222", "Procedure", `"status":"completed","subject":`+procedure),
		entry("33333333-3333-4333-8333-333333333333", "Device", `"patient":`+device),
		entry("44444444-4444-4444-8444-444444444444", "Observation", `"status":"final","code":{"text":"note"},"valueString":"x",
			"subject":`+subject+`,"performer":[`+performer+`],"partOf":[{"reference":"urn:uuid:22222222-2222-4222-8222-222222222222"}],
			"device":{"reference":"urn:uuid:33333333-3333-4333-8333-333333333333"}`),
		entry("55555555-5555-4555-8555-555555555555", "Provenance", `"recorded":"2026-01-05T12:00:00Z","agent":[{"who":`+agent+`}],
			"target":[{"reference":"urn:uuid:22222222-2222-4222-8222-222222222222"},{"reference":"urn:uuid:44444444-4444-4444-8444-444444444444"}]`),
	}
	return `{"resourceType":"Bundle","type":"transaction","entry":[` + strings.Join(entries, ",\n") + `]}`
}

func TestOnePatientInEveryForm(t *testing.T) {
	for name, c := range map[string]struct {
		bundle string
		want   string // paths of findings
	}{
		"all searched":                          {sessionBundle(searched, searched, searched, searched, searched), ""},
		"searched, logical and created":         {sessionBundle(searched, logical, created, logical, created), ""},
		"all literal, one with its server":      {sessionBundle(literal, literalURL, literal, literal, literalURL), ""},
		"literal with identifier, and logical":  {sessionBundle(both, logical, literal, both, logical), ""},
		"searched, and literal with identifier": {sessionBundle(searched, both, searched, searched, searched), "entry[3].resource.subject"},
		"searched, another value":               {sessionBundle(searched, searchedOther, searched, searched, searched), "entry[3].resource.subject"},
		"searched and a literal":                {sessionBundle(searched, literal, searched, searched, searched), "entry[3].resource.subject"},
		"created and a literal":                 {sessionBundle(created, literal, created, created, created), "entry[3].resource.subject"},
		"created and another logical":           {sessionBundle(created, logicalOther, created, created, created), "entry[3].resource.subject"},
		"two literals":                          {sessionBundle(literal, literalOther, literal, literal, literal), "entry[3].resource.subject"},
		"another performer":                     {sessionBundle(searched, searched, logicalOther[:len(logicalOther)-1]+`,"type":"Patient"}`, searched, searched), "entry[3].resource.performer[0]"},
		"another device's patient":              {sessionBundle(searched, searched, searched, literal, searched), "entry[2].resource.patient"},
		"another agent":                         {sessionBundle(searched, searched, searched, searched, searchedOther), "entry[4].resource.agent[0].who"},
		"identifier against reference": {sessionBundle(searched, strings.TrimSuffix(searched, "}")+`,`+logicalOther[1:], searched, searched, searched),
			"entry[3].resource.subject"},
	} {
		t.Run(name, func(t *testing.T) {
			var got []string
			for _, f := range validate.New(validate.Options{}).Bytes([]byte(c.bundle), "x.json") {
				if f.Rule == "bundle-one-patient" {
					got = append(got, strings.TrimPrefix(f.Expression, "Bundle."))
				}
			}
			if strings.Join(got, " ") != c.want {
				t.Errorf("got  %v\nwant %s", got, c.want)
			}
		})
	}
}
