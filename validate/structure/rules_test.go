package structure_test

import (
	"strings"
	"testing"

	"runsheet.example/validate/issue"
)

// Each document breaks one rule; the want is rule and expression of every
// finding, warnings included.
func TestRules(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"a resource of little", `{"resourceType":"Basic","code":{"text":"x"}}`, ""},
		{"no resourceType", `{"id":"x"}`, "r4-resource-type "},
		{"unknown resourceType", `{"resourceType":"SubscriptionStatus","id":"x"}`, "r4-resource-type SubscriptionStatus.resourceType"},
		{"datatype as resource", `{"resourceType":"Quantity"}`, "r4-resource-type Quantity.resourceType"},
		{"primitive as resource", `{"resourceType":"string"}`, "r4-resource-type string.resourceType"},
		{"resourceType a number", `{"resourceType":1}`, "r4-resource-type resourceType"},
		{"array at the outside", `[]`, "r4-type "},
		{"resourceType below a resource", `{"resourceType":"Patient","name":[{"resourceType":"HumanName","text":"x"}]}`,
			"r4-unknown-element Patient.name[0].resourceType"},
		{"resourceType that is an element", `{"resourceType":"ExampleScenario","status":"draft","instance":[{"resourceId":"a","resourceType":"Patient"}]}`, ""},
		{"unknown element", `{"resourceType":"Patient","foo":1}`, "r4-unknown-element Patient.foo"},
		{"underscore alone", `{"resourceType":"Patient","_":{}}`, "r4-unknown-element Patient._"},
		{"two underscores", `{"resourceType":"Patient","__active":{"id":"x"}}`, "r4-unknown-element Patient.__active"},
		{"comments of an older release", `{"resourceType":"Patient","fhir_comments":["x"]}`, "r4-unknown-element Patient.fhir_comments"},
		{"twin of an object", `{"resourceType":"Patient","_name":[{"id":"x"}]}`, "r4-unknown-element Patient._name"},
		{"twin of an id", `{"resourceType":"Patient","id":"a","_id":{"extension":[{"url":"http://x.org","valueCode":"y"}]}}`, "r4-unknown-element Patient._id"},
		{"required missing", `{"resourceType":"Observation","status":"final"}`, "r4-required Observation"},
		{"required choice missing", `{"resourceType":"MedicationAdministration","status":"completed","subject":{"display":"x"},"effectiveDateTime":"2026"}`,
			"r4-required MedicationAdministration"},
		{"required below", `{"resourceType":"Bundle","type":"batch","entry":[{"request":{"method":"GET"}}]}`, "r4-required Bundle.entry[0].request"},
		{"two types of a choice", `{"resourceType":"Patient","deceasedBoolean":true,"deceasedDateTime":"2026"}`, "r4-choice Patient.deceased.ofType(dateTime)"},
		{"choice and the twin of another", `{"resourceType":"Patient","deceasedBoolean":true,"_deceasedDateTime":{"extension":[{"url":"http://x.org","valueCode":"y"}]}}`, "r4-choice Patient.deceased.ofType(dateTime)"},
		{"choice and its own twin", `{"resourceType":"Patient","deceasedBoolean":true,"_deceasedBoolean":{"id":"x"}}`, ""},
		{"type the choice has not", `{"resourceType":"Patient","deceasedString":"x"}`, "r4-unknown-element Patient.deceasedString"},
		{"number for text", `{"resourceType":"Patient","name":[{"family":1}]}`, "r4-type Patient.name[0].family"},
		{"text for true", `{"resourceType":"Patient","active":"true"}`, "r4-type Patient.active"},
		{"object for text", `{"resourceType":"Patient","gender":{}}`, "r4-type Patient.gender"},
		{"nulls", `{"resourceType":"Patient","active":null,"name":null,"telecom":[null]}`,
			"r4-null Patient.active; r4-array Patient.name; r4-null Patient.name; r4-null Patient.telecom[0]"},
		{"empty things", `{"resourceType":"Patient","name":[],"maritalStatus":{},"language":""}`,
			"r4-empty Patient.name; r4-empty Patient.maritalStatus; r4-empty Patient.language"},
		{"empty twin", `{"resourceType":"Patient","active":true,"_active":{}}`, "r4-empty Patient.active"},
		{"twin no object", `{"resourceType":"Patient","active":true,"_active":1}`, "r4-twin Patient.active"},
		{"twin null", `{"resourceType":"Patient","active":true,"_active":null}`, "r4-null Patient.active"},
		{"twin array of a single element", `{"resourceType":"Patient","active":true,"_active":[{"id":"x"}]}`, "r4-twin Patient.active"},
		{"twin no array", `{"resourceType":"Patient","name":[{"given":["a"],"_given":{"id":"x"}}]}`, "r4-array Patient.name[0].given"},
		{"twins in step", `{"resourceType":"Patient","name":[{"given":[null,"a"],"_given":[{"extension":[{"url":"http://x.org","valueCode":"y"}]},null]}]}`, ""},
		{"twins without values", `{"resourceType":"Patient","name":[{"_given":[{"extension":[{"url":"http://x.org","valueCode":"y"}]}]}]}`, ""},
		{"twins before values", `{"resourceType":"Patient","name":[{"_given":[{"extension":[{"url":"http://x.org","valueCode":"y"}]},null],"given":[null,"a"]}]}`, ""},
		{"twin of nothing with an id alone", `{"resourceType":"Patient","_active":{"id":"c"}}`, "inv-ele-1 Patient.active"},
		{"twin of null with an id alone", `{"resourceType":"Patient","name":[{"given":["a",null],"_given":[{"id":"c"},{"id":"d"}]}]}`, "inv-ele-1 Patient.name[0].given[1]"},
		{"null in both", `{"resourceType":"Patient","name":[{"given":["a",null],"_given":[{"id":"x"},null]}]}`, "r4-twin Patient.name[0].given[1]"},
		{"twins shorter", `{"resourceType":"Patient","name":[{"given":["a","b"],"_given":[{"id":"x"}]}]}`, "r4-twin-length Patient.name[0].given"},
		{"code not in its set", `{"resourceType":"Patient","gender":"Male"}`, "r4-binding Patient.gender"},
		{"concept not in its set", `{"resourceType":"Condition","subject":{"display":"x"},"clinicalStatus":{"text":"active"}}`, "r4-binding Condition.clinicalStatus"},
		{"concept in its set", `{"resourceType":"Condition","subject":{"display":"x"},"clinicalStatus":{"coding":[{"system":"http://x.org","code":"y"},{"system":"http://terminology.hl7.org/CodeSystem/condition-clinical","code":"active"}]}}`, ""},
		{"concept of the right code and another system", `{"resourceType":"Condition","subject":{"display":"x"},"clinicalStatus":{"coding":[{"system":"http://x.org","code":"active"}]}}`, "r4-binding Condition.clinicalStatus"},
		{"concept said to be unknown", `{"resourceType":"Condition","subject":{"display":"x"},"clinicalStatus":{"extension":[{"url":"http://hl7.org/fhir/StructureDefinition/data-absent-reason","valueCode":"unknown"}]}}`, ""},
		{"media type", `{"resourceType":"Binary","contentType":"text/plain; charset=utf-8"}`, ""},
		{"no media type", `{"resourceType":"Binary","contentType":"plain text"}`, "r4-binding Binary.contentType"},
		{"language", `{"resourceType":"Patient","language":"nl-BE"}`, ""},
		{"no language", `{"resourceType":"Patient","language":"Dutch language"}`, "r4-binding Patient.language"},
		{"relative extension", `{"resourceType":"Patient","extension":[{"url":"race","valueCode":"x"}]}`, "r4-extension-url Patient.extension[0].url"},
		{"relative extension within another", `{"resourceType":"Patient","extension":[{"url":"http://x.org/race","extension":[{"url":"text","valueCode":"x"}]}]}`, ""},
		{"relative extension of a primitive", `{"resourceType":"Patient","active":true,"_active":{"extension":[{"url":"x","valueCode":"y"}]}}`, "r4-extension-url Patient.active.extension[0].url"},
		{"no currency", `{"resourceType":"Invoice","status":"draft","totalNet":{"value":1,"currency":"euro"}}`, "r4-binding Invoice.totalNet.currency"},
		{"contained and nested", `{"resourceType":"Parameters","parameter":[{"name":"x","resource":{"resourceType":"Patient","contained":[{"resourceType":"Patient","id":"a","foo":1}]}}]}`,
			"r4-unknown-element Parameters.parameter[0].resource.contained[0].foo"},
		{"id of a backbone element", `{"resourceType":"Observation","status":"final","code":{"text":"x"},"component":[{"id":"any text","code":{"text":"y"}}]}`, ""},
		{"contained without id", `{"resourceType":"Patient","contained":[{"resourceType":"Organization","name":"x"}]}`, "r4-contained-id Patient.contained[0]"},
		{"contained ids twice", `{"resourceType":"Patient","contained":[{"resourceType":"Organization","id":"a"},{"resourceType":"Organization","id":"a"}]}`, "r4-id-duplicate Patient.contained[1].id"},
		{"element ids twice", `{"resourceType":"Patient","name":[{"id":"a","text":"x"},{"id":"a","text":"y"}]}`, "r4-id-duplicate Patient.name[1].id"},
		{"element ids of two resources", `{"resourceType":"Patient","name":[{"id":"a","text":"x"}],"contained":[{"resourceType":"Patient","id":"a","name":[{"id":"a","text":"y"}]}]}`, ""},
		{"relative canonical", `{"resourceType":"Measure","status":"draft","library":["Library/x"]}`, "r4-canonical Measure.library[0]"},
		{"canonical of what is contained", `{"resourceType":"Measure","status":"draft","library":["#x"],"contained":[{"resourceType":"Library","id":"x","status":"draft","type":{"text":"x"}}]}`, ""},
		{"relative system", `{"resourceType":"Patient","identifier":[{"system":"mrn","value":"1"}]}`, "r4-identifier-system Patient.identifier[0].system"},
		{"URI as identifier", `{"resourceType":"Patient","identifier":[{"system":"urn:ietf:rfc:3986","value":"urn:oid:2.16.840.1.113883.19.5"}]}`, ""},
		{"no URI as identifier", `{"resourceType":"Patient","identifier":[{"system":"urn:ietf:rfc:3986","value":"2.16.840.1.113883.19.5"}]}`, "r4-identifier-value Patient.identifier[0].value"},
		{"attachment", `{"resourceType":"Media","status":"completed","content":{"data":"aGVs bG8=","size":5,"hash":"qvTGHdzF6KLavt4PO0gs2a6pQ00="}}`, ""},
		{"attachment of another size", `{"resourceType":"Media","status":"completed","content":{"data":"aGVsbG8=","size":4}}`, "r4-attachment Media.content.size"},
		{"document of another digest", `{"resourceType":"DocumentReference","status":"current","identifier":[{"system":"urn:ietf:rfc:3986","value":"ni:///sha-256;LPJNul-wow4m6DsqxbninhsWHlwfp0JecwQzYpOLmCU"}],"content":[{"attachment":{"data":"aGVsbG8h"}}]}`, "r4-attachment-digest DocumentReference.identifier[0].value"},
		{"attachment of another hash", `{"resourceType":"Media","status":"completed","content":{"data":"aGVsbG8=","hash":"AAAAAAAAAAAAAAAAAAAAAAAAAAA="}}`, "r4-attachment Media.content.hash"},
		{"samples", `{"resourceType":"Observation","status":"final","code":{"text":"x"},"valueSampledData":{"origin":{"value":0},"period":10,"dimensions":2,"data":"1 -2.5 E U"}}`, ""},
		{"samples that do not fit the dimensions", `{"resourceType":"Observation","status":"final","code":{"text":"x"},"valueSampledData":{"origin":{"value":0},"period":10,"dimensions":2,"data":"1 2 3"}}`, "r4-sampled-data Observation.value.data"},
		{"samples that are no numbers", `{"resourceType":"Observation","status":"final","code":{"text":"x"},"valueSampledData":{"origin":{"value":0},"period":10,"dimensions":1,"data":"1 x 3"}}`, "r4-sampled-data Observation.value.data"},
		{"not a resource where one belongs", `{"resourceType":"Bundle","type":"collection","entry":[{"resource":[{"resourceType":"Patient"}]}]}`, "r4-array Bundle.entry[0].resource"},
		{"escaped member name", `{"resourceType":"Patient","\u0061ctive":true}`, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := describe(check(c.text)); got != c.want {
				t.Errorf("%s\n got %s\nwant %s", c.text, got, c.want)
			}
		})
	}
}

func describe(findings []issue.Finding) string {
	var list []string
	for _, f := range findings {
		list = append(list, f.Rule+" "+f.Expression)
	}
	return strings.Join(list, "; ")
}

// Every finding carries what a reader needs to mend it.
func TestFindingsAreComplete(t *testing.T) {
	found := check("{\"resourceType\":\"Patient\",\n\"gender\":\"F\"}")
	if len(found) != 1 {
		t.Fatalf("%+v", found)
	}
	f := found[0]
	if f.File != "case.json" || f.Line != 2 || f.Column != 10 || f.Value != "F" || f.Mend.String() == "" || f.Details.String() == "" ||
		f.Expected.String() != "http://hl7.org/fhir/ValueSet/administrative-gender: female, male, other, unknown" {
		t.Errorf("%+v", f)
	}
}

// A document that is wrong everywhere is told about only so often.
func TestFindingsEnd(t *testing.T) {
	found := check(`{"resourceType":"Patient","name":[` + strings.Repeat(`{"x":1},`, 5000) + `{}]}`)
	if n := len(found); n != 1001 || found[n-1].Rule != "r4-more" {
		t.Errorf("%d findings, last %+v", n, found[len(found)-1])
	}
}
