// The session itself, what was given, what was used, who says so, and the
// Bundle that carries it.

Profile: RunsheetSession
Parent: Procedure
Id: runsheet-session
Title: "Home haemodialysis session"
Description: "One session, done, cut short or not done: the hub that every other resource of the session is part of. A session across midnight or a clock change is one session, with offsets at both ends. The prescription is the clinic's and is named by its own identifier, never sent."
* insert Described
* insert PatientAsserted
* insert Identified
* insert OfPatient
* basedOn MS
* basedOn ^short = "The clinic's prescription, by its own identifier"
* status MS
* status from RunsheetSessionStatus (required)
* status ^short = "completed | stopped | not-done | in-progress | entered-in-error | unknown"
* statusReason MS
* category MS
* code 1..1 MS
* code.coding 1..* MS
* code.coding ^slicing.discriminator.type = #pattern
* code.coding ^slicing.discriminator.path = "$this"
* code.coding ^slicing.rules = #open
* code.coding contains haemodialysis 1..1 MS
* code.coding[haemodialysis] = $SCT#302497006
* code.text 1..1 MS
* performed[x] 1..1 MS
* performed[x] only dateTime or Period
* recorder 1..1 MS
* recorder only Reference(Patient or RelatedPerson)
* asserter MS
* performer MS
* bodySite MS
* bodySite ^short = "The access"
* complication MS
* note MS
* usedReference MS
* usedReference only Reference(Device)
* usedCode MS
* usedCode ^short = "Dialyser and needles"
* obeys rs-session-time and rs-session-reason and rs-session-not-done

Profile: RunsheetMedicine
Parent: MedicationAdministration
Id: runsheet-medicine
Title: "Medicine given in a session"
Description: "One administration by the patient or helper. A change of rate is another one. A code is sent only where the log supplies one or the name stands for one substance of the free SNOMED CT set."
* insert Described
* insert PatientAsserted
* insert Identified
* insert OfPatient
* partOf 1..1 MS
* partOf only Reference(Procedure)
* status MS
* status from RunsheetMedicineStatus (required)
* status ^short = "completed | stopped | not-done | entered-in-error"
* medication[x] MS
* medication[x] only CodeableConcept
* medicationCodeableConcept.text 1..1 MS
* effective[x] MS
* performer 1..* MS
* dosage MS
* dosage.dose MS
* dosage.rate[x] MS
* dosage.rate[x] only SimpleQuantity
* dosage.route MS
* note MS
* obeys rs-dose-units and rs-changed-note-medicine

Invariant: rs-changed-note-medicine
Description: "A withdrawn administration says why in a note"
Severity: #error
Expression: "status != 'entered-in-error' or note.exists()"

Profile: RunsheetDevice
Parent: Device
Id: runsheet-device
Title: "Machine, scales, cuff, supply or software"
Description: "A device of the log, what one session used up such as a dialyser with its lot, or the software that read the log. The serial number is sent only when the clinic asks for it."
* insert Described
* insert Identified
* type 1..1 MS
* type.text 1..1 MS
* deviceName MS
* version MS
* serialNumber MS
* lotNumber MS
* expirationDate MS
* patient MS
* patient only Reference(Patient)

Profile: RunsheetProvenance
Parent: Provenance
Id: runsheet-provenance
Title: "Who wrote the session down and what assembled the record"
Description: "The patient is the author, software the assembler on the patient's behalf. The source is the session's entry in the log, by the SHA-256 of its text as a name of RFC 6920."
* insert Described
* target MS
* recorded MS
* recorded ^short = "When the entry was closed, never when it was exported"
* activity 1..1 MS
* activity from RunsheetActivities (required)
* agent 2..* MS
* agent ^slicing.discriminator.type = #pattern
* agent ^slicing.discriminator.path = "type"
* agent ^slicing.rules = #open
* agent contains author 1..1 MS and assembler 1..1 MS
* agent[author].type 1..1
* agent[author].type = $participant#author
* agent[author].who only Reference(Patient or RelatedPerson)
* agent[assembler].type 1..1
* agent[assembler].type = $participant#assembler
* agent[assembler].who only Reference(Device)
* agent[assembler].onBehalfOf MS
* entity 1..* MS
* entity ^slicing.discriminator.type = #value
* entity ^slicing.discriminator.path = "role"
* entity ^slicing.rules = #open
* entity contains source 1..1 MS and revision 0..* MS
* entity[source].role = #source
* entity[source] ^short = "The session's entry in the log"
* entity[revision].role = #revision
* entity[revision] ^short = "The version that a correction replaces"

Profile: RunsheetTransaction
Parent: Bundle
Id: runsheet-transaction
Title: "One session, or the weeks or a report of a log, as a transaction"
Description: "Every resource of one session, or of the weeks or a report of a log, with the condition that keeps a second sending from doubling it. Sending the same Bundle again changes nothing. A correction is an update under the condition of the same identifier, with a Provenance that says so."
* insert Described
* identifier MS
* type = #transaction
* total 0..0
* entry 1..* MS
* entry.fullUrl 1..1 MS
* entry.resource 1..1 MS
* entry.search 0..0
* entry.request 1..1 MS
* entry.request.method from RunsheetRequestMethods (required)
* entry.request.ifNoneExist MS
* entry.response 0..0
* obeys rs-one-session and rs-conditional and rs-condition-identity and rs-one-patient and rs-resolves and rs-within-session
