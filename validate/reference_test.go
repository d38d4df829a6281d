package validate_test

import (
	"slices"
	"testing"

	"runsheet.example/validate"
	"runsheet.example/validate/issue"
)

const patientReference = "Patient?identifier=urn:oid:2.25.331383638406541845489215601853980652438|HHD-00042"

// Entries of testdata/session.json.
const (
	scales           = 1
	procedure        = 4
	weightBefore     = 5
	pulseBefore      = 6
	weightAfter      = 7
	ufRemoved        = 8
	saline           = 10
	dialysateVolume  = 12
	bloodProcessed   = 13
	treatedTime      = 14
	pressureBefore   = 17
	bloodFlow        = 19
	dialysateFlow    = 20
	arterialPressure = 21
	ufRate           = 22
	conductivity     = 23
	note             = 25
	ureaBefore       = 26
	ureaAfter        = 27
	ufRatePerKg      = 28
	ufExpected       = 29
	ufDiscrepancy    = 30
	bodyWater        = 31
	urr              = 32
	spKtV            = 33
	eKtV             = 34
	heparin          = 35
	provenanceEntry  = 36
)

func TestReferenceRules(t *testing.T) {
	runAll(t, []broken{
		{rule: "ref-unresolved", entry: weightBefore, old: "urn:uuid:59e46ee0-169a-5570-b449-bc931c081844", new: "urn:uuid:59e46ee0-169a-5570-b449-000000000000",
			expression: "Bundle.entry[5].resource.device.reference", mark: "b449-000000000000"},
		{rule: "ref-target-type", entry: weightBefore, old: "\"device\": {\n     \"reference\": \"urn:uuid:59e46ee0-169a-5570-b449-bc931c081844\",\n     \"type\": \"Device\"",
			new:        "\"device\": {\n     \"reference\": \"urn:uuid:e818a038-c776-521b-b608-2d6b0a7dc5e6\",\n     \"type\": \"Procedure\"",
			expression: "Bundle.entry[5].resource.device.reference", mark: "\"reference\": \"urn:uuid:e818a038-c776-521b-b608-2d6b0a7dc5e6\",\n     \"type\": \"Procedure\"\n    }\n   },\n   \"request\""},
		{rule: "ref-type-mismatch", entry: weightBefore, old: "\"type\": \"Procedure\"", new: "\"type\": \"Observation\"",
			expression: "Bundle.entry[5].resource.partOf[0].type", mark: "\"type\": \"Observation\""},
		{rule: "ref-batch-internal", entry: -1, old: "\"type\": \"transaction\"", new: "\"type\": \"batch\"",
			expression: "Bundle.entry[5].resource.partOf[0].reference", mark: "\"reference\": \"urn:uuid:e818a038",
			also: []string{"ref-conditional-outside-transaction"}},
		{rule: "ref-conditional-outside-transaction", entry: -1, old: "\"type\": \"transaction\"", new: "\"type\": \"batch\"",
			expression: "Bundle.entry[0].resource.patient.reference", mark: "\"reference\": \"Patient?",
			also: []string{"ref-batch-internal"}},
		{rule: "ref-identifier-only", entry: weightBefore, old: "\"reference\": \"" + patientReference + "\",\n     \"type\": \"Patient\",\n     \"identifier\"", new: "\"identifier\"",
			expression: "Bundle.entry[5].resource.subject", mark: "\"subject\""},
		{rule: "ref-subject-missing", entry: note, old: "\"subject\"", new: "\"encounter\"",
			expression: "Bundle.entry[25].resource", mark: "\"resource\"", also: []string{"ref-target-type"}},
		{rule: "ref-uuid-form", entry: weightBefore, old: "urn:uuid:59e46ee0-169a-5570-b449-bc931c081844\",\n     \"type\": \"Device\"", new: "urn:uuid:59E46EE0-169a-5570-b449-bc931c081844\",\n     \"type\": \"Device\"",
			expression: "Bundle.entry[5].resource.device.reference", mark: "59E46EE0", also: []string{"ref-unresolved"}},
	})
}

func TestBundleRules(t *testing.T) {
	runAll(t, []broken{
		{rule: "bundle-fullurl-form", entry: note, old: "\"fullUrl\": \"urn:uuid:9c", new: "\"fullUrl\": \"urn:uuid:9C",
			expression: "Bundle.entry[25].fullUrl", mark: "\"fullUrl\"", also: []string{"ref-unresolved", "prov-missing", "r4-urn"}},
		{rule: "bundle-fullurl-form", entry: note, old: "\"fullUrl\": \"urn:uuid:", new: "\"fullUrl\": \"Observation/",
			expression: "Bundle.entry[25].fullUrl", mark: "\"fullUrl\"", also: []string{"ref-unresolved", "prov-missing"}},
		{rule: "bundle-request-url", entry: note, old: "\"url\": \"Observation\"", new: "\"url\": \"Procedure\"",
			expression: "Bundle.entry[25].request.url", mark: "\"url\": \"Procedure\""},
		{rule: "bundle-request-url", entry: note, old: "\"url\": \"Observation\"", new: "\"url\": \"Observation/1\"",
			expression: "Bundle.entry[25].request.url", mark: "\"url\": \"Observation/1\""},
		{rule: "bundle-request-url", entry: note, old: "\"method\": \"POST\"", new: "\"method\": \"PUT\"",
			expression: "Bundle.entry[25].request.url", mark: "\"url\": \"Observation\""},
		{rule: "bundle-condition-form", entry: note, old: "\"ifNoneExist\": \"identifier", new: "\"ifNoneExist\": \"Observation?identifier",
			expression: "Bundle.entry[25].request.ifNoneExist", mark: "\"ifNoneExist\""},
		{rule: "bundle-condition-form", entry: note, old: "\"ifNoneExist\": \"identifier=urn:ietf:rfc:3986|", new: "\"ifNoneExist\": \"identifier=",
			expression: "Bundle.entry[25].request.ifNoneExist", mark: "\"ifNoneExist\""},
		{rule: "bundle-condition-identifier", entry: note, old: "\"ifNoneExist\": \"identifier=urn:ietf:rfc:3986|urn:uuid:9c", new: "\"ifNoneExist\": \"identifier=urn:ietf:rfc:3986|urn:uuid:9d",
			expression: "Bundle.entry[25].request.ifNoneExist", mark: "\"ifNoneExist\""},
		{rule: "bundle-condition-duplicate", entry: note, old: "identifier=urn:ietf:rfc:3986|urn:uuid:9c732826", new: "identifier=urn%3Aietf%3Arfc%3A3986%7Curn%3Auuid%3A7c682f50-9e24-51d1-85ae-80ee3b53fbe7\", \"ifMatch\": \"",
			expression: "Bundle.entry[26].request.ifNoneExist", mark: "\"ifNoneExist\"", markEntry: ureaBefore, also: []string{"bundle-condition-identifier"}},
		{rule: "bundle-one-patient", entry: note, old: "\"reference\": \"" + patientReference, new: "\"reference\": \"Patient?identifier=urn:oid:2.25.331383638406541845489215601853980652438|HHD-00043",
			expression: "Bundle.entry[25].resource.subject", mark: "\"subject\""},
		{rule: "bundle-identity-duplicate", entry: note, old: "\"value\": \"urn:uuid:9c732826-dd8c-5e23-baaf-196013f21bf9\"", new: "\"value\": \"urn:uuid:7c682f50-9e24-51d1-85ae-80ee3b53fbe7\"",
			expression: "Bundle.entry[26].resource.identifier", mark: "\"identifier\": [", markEntry: ureaBefore, also: []string{"bundle-condition-identifier", "month-record-conflict"}},
	})
}

func TestBundleRulesOutsideTheSession(t *testing.T) {
	const observation = `"resourceType":"Observation","status":"final","code":{"text":"x"},"subject":{"reference":"Patient/1"}`
	documents(t, []small{
		{"bundle-put-reference", "Bundle.entry[0].resource.device.reference", 1, `{"resourceType":"Bundle","type":"transaction","entry":[
 {"fullUrl":"urn:uuid:98ebcb82-034f-4a54-aedd-74d0cfc15a04","resource":{` + observation + `,"device":{"reference":"urn:uuid:98ebcb82-034f-4a54-aedd-74d0cfc15a05"}},"request":{"method":"POST","url":"Observation"}},
 {"fullUrl":"urn:uuid:98ebcb82-034f-4a54-aedd-74d0cfc15a05","resource":{"resourceType":"Device","identifier":[{"system":"urn:x:y","value":"1"}]},"request":{"method":"PUT","url":"Device?identifier=urn:x:y|1"}}]}`},
		{"bundle-request-resource", "Bundle.entry[0]", 1, `{"resourceType":"Bundle","type":"transaction","entry":[
 {"request":{"method":"POST","url":"Observation"}}]}`},
		{"", "", 0, `{"resourceType":"Bundle","type":"batch","entry":[
 {"request":{"method":"POST","url":"ValueSet/$lookup"}},
 {"fullUrl":"http://example.org/r4/Observation/1","resource":{"id":"1",` + observation + `},"request":{"method":"PUT","url":"http://example.org/r4/Observation/1"}},
 {"request":{"method":"DELETE","url":"Observation/2"}}]}`},
		{"bundle-request-url", "Bundle.entry[0].request.url", 1, `{"resourceType":"Bundle","type":"batch","entry":[
 {"fullUrl":"http://example.org/r4/Observation/1","resource":{"id":"1",` + observation + `},"request":{"method":"PUT","url":"http://example.org/r4/Observation/3"}}]}`},
		{"bundle-patient-created", "Bundle.entry[0].resource", 1, `{"resourceType":"Bundle","type":"transaction","entry":[
 {"resource":{"resourceType":"Patient","active":true},"request":{"method":"POST","url":"Patient"}}]}`},
		{"bundle-fullurl-missing", "Bundle.entry[0]", 1, `{"resourceType":"Bundle","type":"collection","entry":[
 {"resource":{` + observation + `}}]}`},
		{"bundle-fullurl-id", "Bundle.entry[0].fullUrl", 1, `{"resourceType":"Bundle","type":"collection","entry":[
 {"fullUrl":"http://example.org/Observation/2","resource":{"id":"1",` + observation + `}}]}`},
		{"bundle-size", "Bundle", 0, `{"resourceType":"Bundle","type":"batch","entry":[` + many(161, `{"resource":{`+observation+`},"request":{"method":"POST","url":"Observation"}}`) + `]}`},
		{"ref-urn-outside-bundle", "Observation.device.reference", 0, `{` + observation + `,"device":{"reference":"urn:uuid:98ebcb82-034f-4a54-aedd-74d0cfc15a05"}}`},
		{"", "", 0, `{"resourceType":"Bundle","type":"collection","entry":[
 {"fullUrl":"http://example.org/r4/Patient/1","resource":{"resourceType":"Patient","id":"1","active":true}},
 {"fullUrl":"http://example.org/r4/Observation/1","resource":{"id":"1",` + observation + `}}]}`},
		{"ref-type-mismatch", "Bundle.entry[1].resource.subject.type", 2, `{"resourceType":"Bundle","type":"collection","entry":[
 {"fullUrl":"http://example.org/r4/Patient/1","resource":{"resourceType":"Patient","id":"1","active":true}},
 {"fullUrl":"http://example.org/r4/Observation/1","resource":{"resourceType":"Observation","id":"1","status":"final","code":{"text":"x"},"subject":{"reference":"Patient/1","type":"Device"}}}]}`},
	})
}

// TestLinesTakeNoUUID holds that a urn:uuid reference in NDJSON is an error,
// while in a lone document it is a warning.
func TestLinesTakeNoUUID(t *testing.T) {
	line := `{"resourceType":"Observation","status":"final","code":{"text":"x"},"subject":{"reference":"urn:uuid:98ebcb82-034f-4a54-aedd-74d0cfc15a05"}}`
	report := fromStdin(t, line+"\n\n"+line+"\n")
	var lines []int
	for _, f := range report.Findings {
		if f.Rule == "inv-dom-6" {
			continue
		}
		if f.Rule != "ref-urn-outside-bundle" || f.Severity != issue.Error {
			t.Errorf("unexpected finding: %+v", f)
		}
		lines = append(lines, f.Line)
	}
	if !slices.Equal(lines, []int{1, 3}) {
		t.Errorf("findings on lines %v, want 1 and 3", lines)
	}
}

// Faults that need no session around them.
func TestFormsOfReferencesAndCodes(t *testing.T) {
	bundle := func(link, reference string) string {
		return `{"resourceType":"Bundle","type":"collection","link":[{"relation":"self","url":"https://x.example/1"}` + link + `],"entry":[
			{"fullUrl":"https://x.example/Patient/1","resource":{"resourceType":"Patient","id":"1","meta":{"versionId":"2"}}},
			{"fullUrl":"https://x.example/Observation/1","resource":{"resourceType":"Observation","id":"1","status":"final","code":{"text":"x"},"valueString":"x","subject":{"reference":"` + reference + `"}}}]}`
	}
	category := func(coding string) string {
		return `{"resourceType":"Observation","status":"final","code":{"text":"x"},"subject":{"reference":"Patient/1"},"category":[{"coding":[{` + coding + `}]}]}`
	}
	for text, want := range map[string]string{
		bundle("", "Patient/1"):            "",
		bundle("", "Patient/1/_history/2"): "",
		bundle("", "Patient/1/_history/3"): "ref-version Bundle.entry[1].resource.subject.reference",
		bundle("", "Patient 123"):          "ref-form Bundle.entry[1].resource.subject.reference",
		bundle("", "Patient"):              "ref-form Bundle.entry[1].resource.subject.reference",
		bundle("", "Pateint/1"):            "ref-form Bundle.entry[1].resource.subject.reference",
		bundle(`,{"relation":"next","url":"https://x.example/2"}`, "Patient/1"): "",
		bundle(`,{"relation":"self","url":"https://x.example/2"}`, "Patient/1"): "bundle-link-duplicate Bundle.link[1].relation",

		category(`"system":"http://terminology.hl7.org/CodeSystem/observation-category","code":"activity","display":"Activity"`): "",
		category(`"system":"http://terminology.hl7.org/CodeSystem/observation-category","code":"vitals"`):                        "term-unknown-code Observation.category[0].coding[0].code",
		category(`"system":"http://terminology.hl7.org/CodeSystem/observation-category","code":"Activity"`):                      "term-unknown-code Observation.category[0].coding[0].code",
		category(`"system":"http://terminology.hl7.org/CodeSystem/observation-category","code":"activity","display":"Sports"`):   "term-display Observation.category[0].coding[0].display",
		category(`"system":"http://terminology.hl7.org/CodeSystem/v3-ActCode","code":"AMB"`):                                     "",
		category(`"system":"http://terminology.hl7.org/CodeSystem/v3-ActCode","code":"AMBX"`):                                    "term-unknown-code Observation.category[0].coding[0].code",
		category(`"system":"http://terminology.hl7.org/CodeSystem/insurance-plan-type","code":"xyz"`):                            "term-not-in-fragment Observation.category[0].coding[0].code",
		category(`"system":"http://example.org/own","code":"anything"`):                                                          "",
	} {
		got := ""
		for _, f := range validate.New(validate.Options{}).Bytes([]byte(text), "x.json") {
			if f.Severity != issue.Information {
				got += f.Rule + " " + f.Expression
			}
		}
		if got != want {
			t.Errorf("%s\n got %s\nwant %s", text, got, want)
		}
	}
}
