// Value sets that are choices of ours; those made from the code table are
// beside this file, generated.

ValueSet: RunsheetObservationStatus
Id: runsheet-observation-status
Title: "Status of an Observation of a session"
Description: "preliminary: the value rests on something that was not recorded; corrected: it was wrong; amended: there is new information; cancelled: it was asked for and not obtained; entered-in-error: it should never have existed."
* http://hl7.org/fhir/observation-status#final
* http://hl7.org/fhir/observation-status#preliminary
* http://hl7.org/fhir/observation-status#corrected
* http://hl7.org/fhir/observation-status#amended
* http://hl7.org/fhir/observation-status#cancelled
* http://hl7.org/fhir/observation-status#entered-in-error

ValueSet: RunsheetSessionStatus
Id: runsheet-session-status
Title: "Status of a session"
Description: "completed: done; stopped: cut short; not-done: planned and skipped. That no log was kept is none of these and is not sent."
* http://hl7.org/fhir/event-status#completed
* http://hl7.org/fhir/event-status#stopped
* http://hl7.org/fhir/event-status#not-done
* http://hl7.org/fhir/event-status#in-progress
* http://hl7.org/fhir/event-status#entered-in-error
* http://hl7.org/fhir/event-status#unknown

ValueSet: RunsheetMedicineStatus
Id: runsheet-medicine-status
Title: "Status of a medicine given in a session"
Description: "The statuses in use."
* http://terminology.hl7.org/CodeSystem/medication-admin-status#completed
* http://terminology.hl7.org/CodeSystem/medication-admin-status#stopped
* http://terminology.hl7.org/CodeSystem/medication-admin-status#not-done
* http://terminology.hl7.org/CodeSystem/medication-admin-status#entered-in-error

ValueSet: RunsheetAbsentReasons
Id: runsheet-absent-reasons
Title: "Why there is no value"
Description: "not-performed: it was not measured; asked-unknown: it was and is not known; unknown: an input was not recorded; not-a-number: the formula has no value for these numbers."
* $absent#unknown
* $absent#asked-unknown
* $absent#not-performed
* $absent#not-applicable
* $absent#error
* $absent#not-a-number

ValueSet: RunsheetPhases
Id: runsheet-phases
Title: "Before, during or after dialysis"
Description: "The second category of a value. All three are in the free Global Patient Set."
* ^copyright = "SNOMED CT Global Patient Set, CC BY 4.0."
* $SCT#115499008 "Pre-dialysis (qualifier value)"
* $SCT#307154001 "During procedure (qualifier value)"
* $SCT#115500004 "Post-dialysis (qualifier value)"

ValueSet: RunsheetActivities
Id: runsheet-activities
Title: "What a Provenance records"
Description: "The session was written down, corrected or withdrawn."
* $dataOperation#CREATE "create"
* $dataOperation#UPDATE "revise"
* $dataOperation#NULLIFY "nullify"

ValueSet: RunsheetRequestMethods
Id: runsheet-request-methods
Title: "Requests of a transaction"
Description: "Conditional create, and update for corrections. Nothing is ever deleted."
* http://hl7.org/fhir/http-verb#POST
* http://hl7.org/fhir/http-verb#PUT

ValueSet: RunsheetDialysisProcedures
Id: runsheet-dialysis-procedures
Title: "Dialysis procedures"
Description: "By intension, for receivers that look for sessions of other senders as well. Expanding it needs a terminology server with SNOMED CT and, in countries that are not members of SNOMED International, a licence."
* ^copyright = "SNOMED CT is owned by SNOMED International; use outside the Global Patient Set may need a licence."
* include codes from system $SCT where concept is-a #108241001
