// Values computed by software. Each can be computed again from the record.

Profile: RunsheetComputed
Parent: Observation
Id: runsheet-computed
Title: "Computed value"
Description: "A value computed from entered ones. The method has a code with its version and the formula with its numbers as text; every input is an Observation it is derived from or a component that states it. A value that was asked for and could not be computed has a reason and no number."
* insert SessionObservation
* insert OfCategory(procedure)
* insert NotAboutAnother
* code MS
* code from RunsheetComputedValues (required)
* insert Units-runsheet-computed
* performer 0..0
* performer ^short = "None: R4 does not let software perform; the Provenance names it"
* value[x] MS
* value[x] only Quantity
* dataAbsentReason MS
* dataAbsentReason from RunsheetAbsentReasons (required)
* method 1..1 MS
* method.coding 1..* MS
* method.coding ^slicing.discriminator.type = #value
* method.coding ^slicing.discriminator.path = "system"
* method.coding ^slicing.rules = #open
* method.coding contains algorithm 1..1 MS
* method.coding[algorithm] from RunsheetAlgorithms (required)
* method.coding[algorithm].system 1..1
* method.coding[algorithm].system = "urn:oid:2.25.126534698663615512692703441983600176732" (exactly)
* method.coding[algorithm].code 1..1
* method.text 1..1 MS
* method.text ^short = "The formula with its numbers"
* derivedFrom MS
* derivedFrom only Reference(Observation)
* component MS
* component ^short = "An input that is no Observation of its own"
* component.code from RunsheetStatedInputs (required)
* component.value[x] 1..1
* component.value[x] only Quantity or CodeableConcept
* component.dataAbsentReason 0..0
* hasMember 0..0
* note 1..*
* obeys rs-value-or-reason and rs-cancelled-reason and rs-quantity-coded
* obeys rs-computed-inputs and rs-computed-caution

Profile: RunsheetDosePanel
Parent: Observation
Id: runsheet-dose-panel
Title: "Measures of dialysis dose"
Description: "Gathers the computed measures of dose of one session, so that a receiver finds them together. It has no value of its own."
* insert SessionObservation
* insert OfCategory(procedure)
* insert NotAboutAnother
* code MS
* code = $LNC#70300-9
* performer 0..0
* value[x] 0..0
* dataAbsentReason 0..0
* component 0..0
* hasMember 1..* MS
* hasMember only Reference(Observation)
* note 1..*
* obeys rs-computed-caution
