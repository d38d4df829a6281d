package hl7v2

import (
	"bytes"
	"encoding/json"
	"fmt"

	"runsheet.example/fhirmap"
)

// resource is what a message takes from any of the resources of a record.
type resource struct {
	fhirmap.Resource `json:"-"`
	Status           string       `json:"status"`
	Category         concepts     `json:"category"`
	Effective        string       `json:"effectiveDateTime"`
	EffectivePeriod  *period      `json:"effectivePeriod"`
	Performed        string       `json:"performedDateTime"`
	PerformedPeriod  *period      `json:"performedPeriod"`
	Issued           string       `json:"issued"`
	Recorded         string       `json:"recorded"`
	StatusReason     *concept     `json:"statusReason"`
	BodySite         concepts     `json:"bodySite"`
	UsedCode         concepts     `json:"usedCode"`
	UsedReference    []reference  `json:"usedReference"`
	BasedOn          []reference  `json:"basedOn"`
	Device           *reference   `json:"device"`
	Performer        []performer  `json:"performer"`
	Method           *concept     `json:"method"`
	Interpretation   concepts     `json:"interpretation"`
	Extension        []extension  `json:"extension"`
	Component        []value      `json:"component"`
	Note             []note       `json:"note"`
	Medication       *concept     `json:"medicationCodeableConcept"`
	Dosage           *dosage      `json:"dosage"`
	PresentedForm    []attachment `json:"presentedForm"`
	DeviceName       []named      `json:"deviceName"`
	SerialNumber     string       `json:"serialNumber"`
	Version          []version    `json:"version"`
	value
	leftOut
}

// leftOut are the elements that a message does not carry, see the
// package comment; text repeats the value, complication repeats an event.
type leftOut struct {
	A skipped `json:"resourceType"`
	B skipped `json:"id"`
	C skipped `json:"meta"`
	D skipped `json:"text"`
	E skipped `json:"identifier"`
	F skipped `json:"subject"`
	G skipped `json:"partOf"`
	H skipped `json:"hasMember"`
	I skipped `json:"derivedFrom"`
	J skipped `json:"recorder"`
	K skipped `json:"asserter"`
	L skipped `json:"complication"`
	M skipped `json:"result"`
}

type skipped struct{}

func (*skipped) UnmarshalJSON([]byte) error { return nil }

type (
	coding  struct{ System, Code, Display string }
	concept struct {
		Coding []coding
		Text   string
	}
	concepts []concept
	period   struct{ Start, End string }
	named    struct{ Name, Type string }
	version  struct{ Value string }
	quantity struct {
		Value                          json.Number
		Comparator, Unit, System, Code string
		Extension                      []extension
	}
	extension struct {
		URL          string
		ValueCode    string
		ValueConcept *concept `json:"valueCodeableConcept"`
	}
	reference struct {
		Reference, Type, Display string
		Identifier               struct{ System, Value string }
	}
	performer struct {
		reference
		Actor    *reference
		Function *concept
	}
	note struct {
		Text            string
		AuthorReference *reference
	}
	dosage struct {
		Text               string
		Route              *concept
		Dose, RateQuantity *quantity
	}
	attachment struct {
		ContentType, Data, Language, Title, Hash string
		Size                                     int
	}
	// value is that of an Observation or of a component.
	value struct {
		Code             *concept
		ValueQuantity    *quantity
		ValueString      *string
		ValueInteger     json.Number
		ValueConcept     *concept `json:"valueCodeableConcept"`
		DataAbsentReason *concept
	}
)

// UnmarshalJSON reads a list or, as in Procedure.category, one concept.
func (list *concepts) UnmarshalJSON(text []byte) error {
	if text[0] == '[' {
		return json.Unmarshal(text, (*[]concept)(list))
	}
	*list = make(concepts, 1)
	return json.Unmarshal(text, &(*list)[0])
}

// parse reads a resource. An element that is not in the type is an error: no
// part of a record is left out of a message unseen.
func parse(r fhirmap.Resource) (resource, error) {
	out := resource{Resource: r}
	decoder := json.NewDecoder(bytes.NewReader(r.JSON))
	if r.Type != "Device" && r.Type != "Provenance" && r.Type != "Patient" {
		decoder.DisallowUnknownFields()
	}
	if err := decoder.Decode(&out); err != nil {
		return out, fmt.Errorf("no message can be made from %s %s: %w", r.Type, r.Role, err)
	}
	return out, nil
}

// when is the time of a resource, or the start of its period, and its end.
func (r *resource) when() (start, end string) {
	for _, p := range []*period{r.EffectivePeriod, r.PerformedPeriod} {
		if p != nil {
			return p.Start, p.End
		}
	}
	if r.Effective != "" {
		return r.Effective, ""
	}
	return r.Performed, ""
}
