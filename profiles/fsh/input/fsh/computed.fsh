// Values computed by software. Each can be computed again from the record.

RuleSet: CalculatedValue
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

Profile: RunsheetComputed
Parent: Observation
Id: runsheet-computed
Title: "Computed value"
Description: "A value computed from entered ones. The method has a code with its version and the formula with its numbers as text; every input is an Observation it is derived from or a component that states it. A value that was asked for and could not be computed has a reason and no number."
* insert SessionObservation
* insert CalculatedValue

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

// Weeks of a log. They belong to no session, so they are part of none.

RuleSet: OfWeek
* insert OwnObservation
* insert NotAboutAnother
* partOf 0..0
* performer 0..0
* effective[x] only Period
* effectivePeriod.start 1..1
* effectivePeriod.end 1..1
* device 1..1 MS
* device ^short = "The software that computed it"
* note 1..*
* obeys rs-computed-caution

Profile: RunsheetWeekValue
Parent: Observation
Id: runsheet-week-value
Title: "Computed value of a week"
Description: "A value of one local week, Monday to Sunday. It is derived from the week, which names the values of the sessions; components state the inputs of its method. One that could not be computed has a reason and no number."
* insert OwnObservation
* insert CalculatedValue
* partOf 0..0
* effective[x] only Period
* device 1..1 MS
* device ^short = "The software that computed it"
* derivedFrom 1..1

Profile: RunsheetWeek
Parent: Observation
Id: runsheet-week
Title: "Week of dialysis"
Description: "One local week, Monday to Sunday, with the urea model at its start as components: from these and from the values of the sessions it is derived from, every value of the week can be computed again, and the state the next week starts from. Derived from the week before too where the model goes on from it. Without a model there are no components but a reason."
* insert OfWeek
* insert OfCategory(procedure)
* code MS
* code = $local#urea-model-week
* value[x] 0..0
* dataAbsentReason MS
* dataAbsentReason from RunsheetAbsentReasons (required)
* derivedFrom MS
* derivedFrom only Reference(Observation)
* derivedFrom ^short = "The values of the sessions, session by session, and the week before"
* hasMember 0..0
* component MS
* component.code from RunsheetStatedInputs (required)
* component.value[x] 1..1
* component.value[x] only Quantity
* component.dataAbsentReason 0..0
* obeys rs-week-state

Profile: RunsheetWeeks
Parent: Observation
Id: runsheet-weeks
Title: "Weeks of dialysis"
Description: "Gathers the weeks of a log. It has no value of its own."
* insert OfWeek
* insert OfCategory(procedure)
* code MS
* code = $local#urea-model-weeks
* value[x] 0..0
* dataAbsentReason 0..0
* component 0..0
* derivedFrom 0..0
* hasMember 1..* MS
* hasMember only Reference(Observation)
