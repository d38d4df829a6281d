// What is read off the machine, and the totals of a session.

Profile: RunsheetMachineReading
Parent: Observation
Id: runsheet-machine-reading
Title: "Machine reading or setting"
Description: "One variable of the machine or the dialysate at one time, or for the whole treatment where the log holds only one. Arterial line pressure is normally negative; the sign is kept. Circuit pressures are never vital signs."
* insert SessionObservation
* insert OfCategory(procedure)
* insert NotAboutAnother
* insert EnteredQuantity
* code MS
* code from RunsheetMachineReadings (required)
* insert Units-runsheet-machine-reading
* device MS
* device only Reference(Device)
* device ^short = "The dialysis machine"
* component 0..0

Profile: RunsheetTotal
Parent: Observation
Id: runsheet-total
Title: "Total of a session"
Description: "A volume or a time that belongs to the whole treatment: fluid removed, given and passed, dialysate used, blood processed, time on treatment."
* insert SessionObservation
* insert OfCategory(procedure)
* insert NotAboutAnother
* insert EnteredQuantity
* code MS
* code from RunsheetTotals (required)
* insert Units-runsheet-total
* effective[x] only Period
* effective[x] ^short = "The treatment period"
* method MS
* device MS
* device only Reference(Device)
* component 0..0

Profile: RunsheetClinicValue
Parent: Observation
Id: runsheet-clinic-value
Title: "Value set by the clinic"
Description: "A value that the clinic set or stated and the log carries along because computed values need it: the dry weight. It has no vital-signs code, so that nobody charts it as measured."
* insert SessionObservation
* insert OfCategory(procedure)
* insert NotAboutAnother
* insert EnteredQuantity
* code MS
* code from RunsheetClinicValues (required)
* insert Units-runsheet-clinic-value
* component 0..0
* obeys rs-not-measured

Invariant: rs-not-measured
Description: "A weight set by the clinic does not carry the code of a measured one"
Severity: #error
Expression: "code.coding.where(system = 'http://loinc.org' and (code = '29463-7' or code = '3141-9' or code = '8347-7' or code = '8344-4')).empty()"

Profile: RunsheetRecoveryTime
Parent: Observation
Id: runsheet-recovery-time
Title: "Time to recover after dialysis"
Description: "How long the person says it took to recover."
* insert SessionObservation
* insert OfCategory(survey)
* insert NotAboutAnother
* insert EnteredQuantity
* code MS
* code = $local#recovery-time
* component 0..0

Profile: RunsheetLaboratory
Parent: Observation
Id: runsheet-laboratory
Title: "Laboratory result copied from a report"
Description: "A result that a laboratory issued and the person copied into the log. The unit as written decides between the codes for mass and substance concentration; nothing is converted. Urea and urea nitrogen have different codes. A test without a known code has its name as text alone, and a result that is no number in a known unit its words."
* insert SessionObservation
* insert OfCategory(laboratory)
* insert NotAboutAnother
* code MS
* code from RunsheetLaboratoryTests (extensible)
* insert Units-runsheet-laboratory
* effective[x] only dateTime
* effective[x] ^short = "When the blood was drawn"
* performer MS
* performer ^short = "The laboratory, by name"
* value[x] MS
* value[x] only Quantity or string
* dataAbsentReason MS
* dataAbsentReason from RunsheetAbsentReasons (required)
* component 0..0
* obeys rs-value-or-reason and rs-cancelled-reason and rs-quantity-coded

Profile: RunsheetEvent
Parent: Observation
Id: runsheet-event
Title: "Alarm, symptom, access problem or note"
Description: "Something that happened, in the person's words or the machine's. A SNOMED CT concept of the free set stands beside the words only where they are all the person wrote."
* insert SessionObservation
* insert OfCategory(procedure)
* insert NotAboutAnother
* code MS
* code from RunsheetEvents (required)
* performer 1..1 MS
* performer only Reference(Patient or RelatedPerson)
* value[x] 1..1 MS
* value[x] only CodeableConcept or string
* dataAbsentReason 0..0
* component 0..1 MS
* component ^short = "The number of the alarm, as the machine shows it"
* component.code = $local#machine-alarm-number
* component.value[x] 1..1 MS
* component.value[x] only string
* device MS
* device only Reference(Device)
* obeys rs-event-words

Profile: RunsheetCheck
Parent: Observation
Id: runsheet-check
Title: "Check for a treatment"
Description: "What was looked at, tested or prepared for the treatment, mostly before it: water, dialysate, machine, circuit, access. A number stands as the value, with the person's verdict as interpretation; otherwise the result stands in the person's words. Who did it stands beside the patient as a word such as helper or nurse."
* insert SessionObservation
* insert OfCategory(procedure)
* insert NotAboutAnother
* code MS
* code from RunsheetChecks (required)
* insert Units-runsheet-check
* effective[x] only dateTime
* performer 1..2 MS
* performer ^short = "The patient, who says so, and by a word such as helper who did it"
* value[x] MS
* value[x] only Quantity or CodeableConcept
* interpretation MS
* interpretation ^short = "ok or not ok, beside a number"
* dataAbsentReason MS
* dataAbsentReason from RunsheetAbsentReasons (required)
* component 0..0
* obeys rs-value-or-reason and rs-cancelled-reason and rs-quantity-coded

Invariant: rs-event-words
Description: "A coded event keeps the words it was written in"
Severity: #error
Expression: "value.ofType(CodeableConcept).all(text.exists())"
