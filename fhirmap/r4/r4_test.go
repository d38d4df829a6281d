package r4

import (
	"encoding/json"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

// Each document uses every element the mapper writes for the type; reading it
// into the type and writing it again must give the same document.
var faithful = map[string]string{
	"Patient":                  `{"resourceType":"Patient","id":"a","identifier":[{"system":"urn:oid:2.25.1","value":"X"}]}`,
	"Device":                   `{"resourceType":"Device","text":{"status":"generated","div":"<div xmlns=\"http://www.w3.org/1999/xhtml\">A & B</div>"},"identifier":[{"system":"urn:ietf:rfc:3986","value":"urn:uuid:1"}],"status":"active","serialNumber":"S","deviceName":[{"name":"N","type":"user-friendly-name"}],"type":{"text":"T"},"version":[{"value":"1"}],"patient":{"reference":"Patient/1","type":"Patient"}}`,
	"Procedure":                `{"resourceType":"Procedure","meta":{"source":"urn:uuid:2","security":[{"system":"s","code":"c"}],"tag":[{"system":"s","code":"c"}]},"identifier":[{"system":"s","value":"v"}],"basedOn":[{"type":"ServiceRequest","identifier":{"system":"s","value":"v"}}],"status":"not-done","statusReason":{"text":"r"},"code":{"coding":[{"system":"s","code":"c","display":"d"}],"text":"t"},"subject":{"reference":"Patient/1"},"performedPeriod":{"start":"2025-10-25T22:40:00+01:00","end":"2025-10-26T04:55:00Z"},"recorder":{"reference":"Patient/1"},"asserter":{"reference":"Patient/1"},"performer":[{"function":{"text":"f"},"actor":{"reference":"Patient/1"}}],"bodySite":[{"text":"b"}],"complication":[{"text":"c"}],"note":[{"text":"n"}],"usedReference":[{"reference":"urn:uuid:3"}],"usedCode":[{"text":"u"}]}`,
	"Observation":              `{"resourceType":"Observation","identifier":[{"system":"s","value":"v"}],"partOf":[{"reference":"urn:uuid:3","type":"Procedure"}],"status":"cancelled","category":[{"coding":[{"system":"s","code":"c","display":"d"}]}],"code":{"text":"t"},"subject":{"reference":"Patient/1"},"effectivePeriod":{"start":"2025-10-25"},"issued":"2025-10-26T05:20:00Z","performer":[{"reference":"Patient/1"}],"valueQuantity":{"value":72.0,"comparator":"<","unit":"kg","system":"u","code":"kg"},"note":[{"text":"n"}],"method":{"coding":[{"system":"s","code":"c"}],"text":"m"},"device":{"reference":"urn:uuid:4"},"derivedFrom":[{"reference":"urn:uuid:5"}],"component":[{"extension":[{"url":"e","valueCodeableConcept":{"text":"x"}}],"code":{"text":"k"},"valueQuantity":{"value":-180.50}},{"code":{"text":"k2"},"dataAbsentReason":{"text":"a"}}]}`,
	"DiagnosticReport":         `{"resourceType":"DiagnosticReport","meta":{"source":"urn:uuid:2"},"text":{"status":"generated","div":"<div xmlns=\"http://www.w3.org/1999/xhtml\">A</div>"},"identifier":[{"system":"s","value":"v"}],"status":"preliminary","category":[{"coding":[{"system":"s","code":"c","display":"d"}]}],"code":{"coding":[{"system":"s","code":"c"}],"text":"t"},"subject":{"reference":"Patient/1"},"effectivePeriod":{"start":"2025-10-25","end":"2025-11-25"},"result":[{"reference":"urn:uuid:5","type":"Observation"}],"presentedForm":[{"contentType":"application/pdf","language":"en","data":"YQ==","size":1,"hash":"hvfkN/qlp/zhXR3cuerq6jd2Z7g=","title":"t"}]}`,
	"DocumentReference":        `{"resourceType":"DocumentReference","meta":{"source":"urn:uuid:2"},"text":{"status":"generated","div":"<div xmlns=\"http://www.w3.org/1999/xhtml\">A</div>"},"identifier":[{"system":"s","value":"v"}],"status":"current","type":{"text":"t"},"subject":{"reference":"Patient/1"},"content":[{"attachment":{"contentType":"text/csv","data":"YQ==","size":1,"hash":"hvfkN/qlp/zhXR3cuerq6jd2Z7g=","title":"t"}}],"context":{"period":{"start":"2025-10-25","end":"2025-11-25"}}}`,
	"Provenance":               `{"resourceType":"Provenance","target":[{"reference":"urn:uuid:1"}],"occurredPeriod":{"start":"2025-10-25T22:40:00+01:00"},"recorded":"2025-10-26T05:20:00Z","activity":{"coding":[{"system":"s","code":"CREATE"}]},"agent":[{"type":{"coding":[{"system":"s","code":"author"}]},"who":{"reference":"Patient/1"},"onBehalfOf":{"reference":"Patient/1"}}],"entity":[{"role":"source","what":{"identifier":{"system":"s","value":"v"},"display":"d"}}]}`,
	"MedicationAdministration": `{"resourceType":"MedicationAdministration","identifier":[{"system":"s","value":"v"}],"partOf":[{"reference":"urn:uuid:3"}],"status":"completed","medicationCodeableConcept":{"text":"m"},"subject":{"reference":"Patient/1"},"effectivePeriod":{"start":"2025-10-25T22:40:00+01:00","end":"2025-10-26T04:55:00Z"},"performer":[{"actor":{"reference":"Patient/1"}}],"note":[{"text":"n"}],"dosage":{"text":"d","route":{"text":"r"},"dose":{"value":2000,"code":"[iU]"},"rateQuantity":{"value":500.0,"code":"[iU]/h"}}}`,
}

func TestTypesAreFaithful(t *testing.T) {
	targets := map[string]func() any{
		"Patient":                  func() any { return new(Patient) },
		"Device":                   func() any { return new(Device) },
		"Procedure":                func() any { return new(Procedure) },
		"Observation":              func() any { return new(Observation) },
		"DiagnosticReport":         func() any { return new(DiagnosticReport) },
		"DocumentReference":        func() any { return new(DocumentReference) },
		"Provenance":               func() any { return new(Provenance) },
		"MedicationAdministration": func() any { return new(MedicationAdministration) },
	}
	for name, document := range faithful {
		resource := targets[name]()
		if err := json.Unmarshal([]byte(document), resource); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		written, err := Marshal(resource)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		// The library escapes the comparator; the string is the same.
		got := strings.ReplaceAll(string(written), `\u003c`, "<")
		if diff := cmp.Diff(document, got); diff != "" {
			t.Errorf("%s is not faithful (-want +got):\n%s", name, diff)
		}
	}
}

func TestMarshalRefusesUnknownTypes(t *testing.T) {
	if _, err := Marshal(struct{}{}); err == nil || !strings.Contains(err.Error(), "no writer") {
		t.Errorf("Marshal(struct{}) gave %v, want a refusal", err)
	}
}

func TestDateTimeCarriesTheOffset(t *testing.T) {
	london, err := time.LoadLocation("Europe/London")
	if err != nil {
		t.Fatal(err)
	}
	start := time.Date(2025, 10, 25, 22, 40, 0, 0, london)
	end := time.Date(2025, 10, 26, 4, 55, 0, 0, london)
	if got := DateTime(start); got != "2025-10-25T22:40:00+01:00" {
		t.Errorf("DateTime(start) = %s", got)
	}
	if got := DateTime(end); got != "2025-10-26T04:55:00Z" {
		t.Errorf("DateTime(end) = %s", got)
	}
	if got := end.Sub(start); got != 7*time.Hour+15*time.Minute {
		t.Errorf("the night lasts %v, want 7h15m", got)
	}
	if got := InstantUTC(start); got != "2025-10-25T21:40:00Z" {
		t.Errorf("InstantUTC(start) = %s", got)
	}
}
