package fhirmap

import "github.com/samply/golang-fhir-models/fhir-models/fhir"

// Codes of required bindings, by the model library's own constants.
const (
	narrativeGenerated = fhir.NarrativeStatusGenerated

	observationFinal       = fhir.ObservationStatusFinal
	observationPreliminary = fhir.ObservationStatusPreliminary
	observationCancelled   = fhir.ObservationStatusCancelled

	reportFinal       = fhir.DiagnosticReportStatusFinal
	reportPreliminary = fhir.DiagnosticReportStatusPreliminary

	procedureCompleted = fhir.EventStatusCompleted
	procedureStopped   = fhir.EventStatusStopped
	procedureNotDone   = fhir.EventStatusNotDone

	documentCurrent = fhir.DocumentReferenceStatusCurrent

	userFriendlyName = fhir.DeviceNameTypeUserFriendlyName
	sourceRole       = fhir.ProvenanceEntityRoleSource
	revisionRole     = fhir.ProvenanceEntityRoleRevision
)

// comparators maps the prefixes of laboratory numbers to R4's codes.
var comparators = map[string]fhir.QuantityComparator{
	"<": fhir.QuantityComparatorLessThan, "<=": fhir.QuantityComparatorLessOrEquals,
	">=": fhir.QuantityComparatorGreaterOrEquals, ">": fhir.QuantityComparatorGreaterThan,
}

// Elements whose types the model library names after their path.
type (
	deviceName      = fhir.DeviceDeviceName
	deviceVersion   = fhir.DeviceVersion
	documentContent = fhir.DocumentReferenceContent
	documentContext = fhir.DocumentReferenceContext
	performer       = fhir.ProcedurePerformer
	agent           = fhir.ProvenanceAgent
	entity          = fhir.ProvenanceEntity
)
