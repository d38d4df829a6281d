// Rules that several profiles share.

RuleSet: Described
* ^purpose = "mustSupport means: a sender can populate the element; a receiver reads the resource without error, may ignore the element, and must not reject the resource because it is present. Values were entered by the patient and calculated by software; they are not verified by a clinician and not for changing treatment."

// The identifier a resource keeps through every correction.
RuleSet: Identified
* identifier 1..* MS
* identifier ^slicing.discriminator.type = #value
* identifier ^slicing.discriminator.path = "system"
* identifier ^slicing.rules = #open
* identifier contains record 1..1 MS
* identifier[record] ^short = "Identity of this resource, the same in every export"
* identifier[record] ^definition = "A UUID made from the patient, the log, the session and the role of the value, never from the value, so that a corrected value keeps its identity and a second export doubles nothing."
* identifier[record].system 1..1
* identifier[record].system = "urn:ietf:rfc:3986" (exactly)
* identifier[record].value 1..1
* obeys rs-identity

// Where it comes from, and that the patient asserts it.
RuleSet: PatientAsserted
* meta 1..1 MS
* meta.source 1..1 MS
* meta.source ^short = "The log it was read from, constant across exports"
* meta.security 1..* MS
* meta.security ^slicing.discriminator.type = #pattern
* meta.security ^slicing.discriminator.path = "$this"
* meta.security ^slicing.rules = #open
* meta.security contains patientAsserted 1..1 MS
* meta.security[patientAsserted] = $observationValue#PATAST

RuleSet: OfPatient
* subject 1..1 MS
* subject only Reference(Patient)

RuleSet: OfSession
* partOf 1..1 MS
* partOf only Reference(Procedure)
* partOf ^short = "The session"

// What every Observation of a session has in common.
RuleSet: SessionObservation
* insert OwnObservation
* insert OfSession

// What every Observation has in common.
RuleSet: OwnObservation
* insert Described
* insert PatientAsserted
* insert Identified
* insert OfPatient
* status MS
* status from RunsheetObservationStatus (required)
* status ^short = "final | preliminary | corrected | amended | cancelled | entered-in-error"
* effective[x] 1..1 MS
* effective[x] only dateTime or Period
* issued MS
* issued ^short = "When the person closed the entry, never when it was exported"
* note MS
* obeys rs-changed-note

// A value typed by the patient, or the reason why there is none.
RuleSet: EnteredQuantity
* performer 1..1 MS
* performer only Reference(Patient or RelatedPerson)
* value[x] MS
* value[x] only Quantity
* dataAbsentReason MS
* dataAbsentReason from RunsheetAbsentReasons (required)
* dataAbsentReason ^short = "Why there is no value"
* obeys rs-value-or-reason and rs-cancelled-reason and rs-quantity-coded

// One category by pattern. The R4 vital-signs profiles slice it already.
RuleSet: OfCategory(code)
* category 1..* MS
* category ^slicing.discriminator.type = #pattern
* category ^slicing.discriminator.path = "$this"
* category ^slicing.rules = #open
* category contains kind 1..1 MS
* category[kind] = $category#{code}
* category ^comment = "A second category may say before, during or after dialysis: SNOMED CT 115499008, 307154001 or 115500004."

RuleSet: NotAboutAnother
* focus 0..0
* code.text 1..1 MS
