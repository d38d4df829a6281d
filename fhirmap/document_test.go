package fhirmap

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"
	"time"
)

// A document begins with a Composition, has an identifier and a time (FHIR R4
// bdl-9, bdl-10, bdl-11), holds every resource of the month once, and refers
// to each of a session from the session's section.
func TestDocument(t *testing.T) {
	log := readLog(t, "testdata/small")
	opts := testOptions
	opts.LogicalPatient = true
	month := mapLog(t, log, opts)
	text, err := month.Document()
	if err != nil {
		t.Fatal(err)
	}
	var bundle struct {
		Type, Timestamp string
		Identifier      struct{ System, Value string }
		Entry           []struct {
			FullURL  string
			Resource json.RawMessage
		}
	}
	if err := json.Unmarshal(text, &bundle); err != nil {
		t.Fatal(err)
	}
	if _, err := time.Parse(time.RFC3339, bundle.Timestamp); err != nil || bundle.Type != "document" || bundle.Identifier.System == "" || !strings.HasPrefix(bundle.Identifier.Value, "urn:uuid:") {
		t.Errorf("type %s, timestamp %s, identifier %v", bundle.Type, bundle.Timestamp, bundle.Identifier)
	}
	if len(bundle.Entry) != 1+len(month.distinct()) {
		t.Errorf("%d entries, want the Composition and %d resources", len(bundle.Entry), len(month.distinct()))
	}
	var composition struct {
		ResourceType, Status, Date string
		Author                     []json.RawMessage
		Section                    []struct {
			Title string
			Text  struct{ Div string }
			Entry []struct{ Reference string }
		}
	}
	if err := json.Unmarshal(bundle.Entry[0].Resource, &composition); err != nil {
		t.Fatal(err)
	}
	if composition.ResourceType != "Composition" || composition.Status != "final" || composition.Date != bundle.Timestamp || len(composition.Author) != 1 {
		t.Errorf("%s", bundle.Entry[0].Resource)
	}
	if len(composition.Section) != 1+len(month.Records()) {
		t.Fatalf("%d sections", len(composition.Section))
	}
	if !strings.Contains(composition.Section[0].Text.Div, "not verified by a clinician") {
		t.Errorf("the first section says %q", composition.Section[0].Text.Div)
	}
	referred := map[string]bool{}
	for _, section := range composition.Section {
		for _, e := range section.Entry {
			referred[e.Reference] = true
		}
	}
	for _, e := range bundle.Entry[1:] {
		if shared := bytes.HasPrefix(e.Resource, []byte(`{"resourceType":"Device"`)); referred[e.FullURL] == shared {
			t.Errorf("%s: in a section %t", e.FullURL, referred[e.FullURL])
		}
	}
	if div := composition.Section[1].Text.Div; !strings.Contains(div, "63.40 kg") || strings.Count(div, "<div") != 1 || strings.Count(div, "</div>") != 1 {
		t.Errorf("the first session reads %s", div)
	}
	if !strings.HasSuffix(composition.Section[2].Title, "not done") {
		t.Errorf("the skipped session is headed %q", composition.Section[2].Title)
	}
	again, err := mapLog(t, log, opts).Document()
	if err != nil || !bytes.Equal(text, again) {
		t.Errorf("the same log gives other bytes (%v)", err)
	}
}

// A changed value makes another document: its identifier is of its content.
func TestDocumentIdentifierIsOfTheContent(t *testing.T) {
	log := readLog(t, "testdata/small")
	opts := testOptions
	opts.LogicalPatient = true
	first, err := mapLog(t, log, opts).Document()
	if err != nil {
		t.Fatal(err)
	}
	opts.NoNotes = true
	second, err := mapLog(t, log, opts).Document()
	if err != nil {
		t.Fatal(err)
	}
	head := func(text []byte) string {
		before, _, _ := bytes.Cut(text, []byte(`"entry"`))
		return string(before)
	}
	if head(first) == head(second) {
		t.Errorf("two documents are called the same: %s", head(first))
	}
}

func TestDocumentNeedsASession(t *testing.T) {
	if _, err := (&Month{}).Document(); err == nil {
		t.Error("a document of nothing was written")
	}
}

// What sessions share stands once in a document of several.
func TestSharedResourcesStandOnce(t *testing.T) {
	opts := testOptions
	opts.CreatePatient = true
	text, err := mapLog(t, readLog(t, "testdata/small"), opts).Document()
	if err != nil {
		t.Fatal(err)
	}
	var bundle struct {
		Entry []struct {
			FullURL  string
			Resource struct{ ResourceType string }
		}
	}
	if err := json.Unmarshal(text, &bundle); err != nil {
		t.Fatal(err)
	}
	patients, once := 0, map[string]bool{}
	for _, e := range bundle.Entry {
		if once[e.FullURL] {
			t.Errorf("%s stands twice", e.FullURL)
		}
		once[e.FullURL] = true
		if e.Resource.ResourceType == "Patient" {
			patients++
		}
	}
	if patients != 1 {
		t.Errorf("%d patients", patients)
	}
}
