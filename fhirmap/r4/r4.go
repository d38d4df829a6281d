// Package r4 is the small part of FHIR R4 4.0.1 that Runsheet writes: the
// resource types, their dates and decimals, and the one writer.
//
// Most types are those of github.com/samply/golang-fhir-models, which are
// faithful for them (a round-trip test per type proves it). Where that library
// is not, this package has a type of its own: it always writes both
// medication[x] and an empty effectivePeriod for MedicationAdministration, so
// that no such resource is ever valid. [Marshal] goes around the library's own
// marshalling, which writes resourceType last and escapes narrative.
//
// The package knows nothing of sessions or dialysis.
package r4

import (
	"encoding/json"
	"time"

	"github.com/samply/golang-fhir-models/fhir-models/fhir"
)

// The types of the model library that are used unchanged.
type (
	Annotation           = fhir.Annotation
	Attachment           = fhir.Attachment
	CodeableConcept      = fhir.CodeableConcept
	Coding               = fhir.Coding
	Device               = fhir.Device
	DiagnosticReport     = fhir.DiagnosticReport
	DocumentReference    = fhir.DocumentReference
	Extension            = fhir.Extension
	Identifier           = fhir.Identifier
	MeasureReport        = fhir.MeasureReport
	Meta                 = fhir.Meta
	Narrative            = fhir.Narrative
	Observation          = fhir.Observation
	ObservationComponent = fhir.ObservationComponent
	Patient              = fhir.Patient
	Period               = fhir.Period
	Procedure            = fhir.Procedure
	Provenance           = fhir.Provenance
	Quantity             = fhir.Quantity
	Reference            = fhir.Reference
)

// MedicationAdministration is the R4 resource with just the elements we
// write, each optional one really optional.
type MedicationAdministration struct {
	ID                        string           `json:"id,omitempty"`
	Meta                      *Meta            `json:"meta,omitempty"`
	Text                      *Narrative       `json:"text,omitempty"`
	Identifier                []Identifier     `json:"identifier,omitempty"`
	PartOf                    []Reference      `json:"partOf,omitempty"`
	Status                    string           `json:"status"`
	MedicationCodeableConcept CodeableConcept  `json:"medicationCodeableConcept"`
	Subject                   Reference        `json:"subject"`
	EffectiveDateTime         string           `json:"effectiveDateTime,omitempty"`
	EffectivePeriod           *Period          `json:"effectivePeriod,omitempty"`
	Performer                 []MedicationUser `json:"performer,omitempty"`
	Note                      []Annotation     `json:"note,omitempty"`
	Dosage                    *Dosage          `json:"dosage,omitempty"`
}

// MedicationUser is MedicationAdministration.performer.
type MedicationUser struct {
	Actor Reference `json:"actor"`
}

// Dosage is MedicationAdministration.dosage; R4 invariant mad-1 requires a
// dose or a rate.
type Dosage struct {
	Text         string           `json:"text,omitempty"`
	Route        *CodeableConcept `json:"route,omitempty"`
	Dose         *Quantity        `json:"dose,omitempty"`
	RateQuantity *Quantity        `json:"rateQuantity,omitempty"`
}

// Decimal carries a number's text into JSON unchanged: FHIR R4 forbids binary
// floating point for decimals and makes trailing zeros significant. The text
// must be a JSON number.
func Decimal(text string) *json.Number {
	n := json.Number(text)
	return &n
}

// DateTime formats an instant as a FHIR dateTime with seconds and offset, both
// of which R4 requires with a time of day.
func DateTime(t time.Time) string { return t.Format("2006-01-02T15:04:05Z07:00") }

// Date formats the calendar day of an instant in its own zone.
func Date(t time.Time) string { return t.Format("2006-01-02") }

// InstantUTC formats an instant in UTC, the only safe form inside a search
// parameter, where a plus sign means a space.
func InstantUTC(t time.Time) string { return t.UTC().Format("2006-01-02T15:04:05Z") }
