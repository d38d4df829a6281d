package r4

import (
	"bytes"
	"encoding/json"
	"fmt"

	"github.com/samply/golang-fhir-models/fhir-models/fhir"
)

// Marshal writes a resource as compact JSON with resourceType first, decimals
// as written and no escaping beyond what JSON requires. It returns an error
// for an unknown type, so that no resource bypasses the writer.
func Marshal(resource any) (json.RawMessage, error) {
	switch r := resource.(type) {
	case *Observation:
		return typed("Observation", fhir.OtherObservation(*r))
	case *Procedure:
		return typed("Procedure", fhir.OtherProcedure(*r))
	case *DiagnosticReport:
		return typed("DiagnosticReport", fhir.OtherDiagnosticReport(*r))
	case *DocumentReference:
		return typed("DocumentReference", fhir.OtherDocumentReference(*r))
	case *Device:
		return typed("Device", fhir.OtherDevice(*r))
	case *Provenance:
		return typed("Provenance", fhir.OtherProvenance(*r))
	case *MeasureReport:
		return typed("MeasureReport", fhir.OtherMeasureReport(*r))
	case *Patient:
		return typed("Patient", fhir.OtherPatient(*r))
	case *MedicationAdministration:
		return typed("MedicationAdministration", r)
	case *Composition:
		return typed("Composition", r)
	case *Bundle:
		return r.write()
	default:
		return nil, fmt.Errorf("r4: no writer for %T", resource)
	}
}

// typed writes the body and inserts resourceType before its first member. The
// body must be a struct.
func typed(resourceType string, body any) (json.RawMessage, error) {
	text, err := plain(body)
	if err != nil {
		return nil, fmt.Errorf("r4: writing %s: %w", resourceType, err)
	}
	out := make([]byte, 0, len(text)+len(resourceType)+20)
	out = append(out, `{"resourceType":"`...)
	out = append(out, resourceType...)
	out = append(out, '"')
	if !bytes.Equal(text, []byte("{}")) {
		out = append(out, ',')
	}
	return append(out, text[1:]...), nil
}

// plain writes compact JSON and escapes only what JSON requires.
func plain(body any) ([]byte, error) {
	var buffer bytes.Buffer
	encoder := json.NewEncoder(&buffer)
	encoder.SetEscapeHTML(false)
	if err := encoder.Encode(body); err != nil {
		return nil, err
	}
	return bytes.TrimSuffix(buffer.Bytes(), []byte("\n")), nil
}
