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

// Weeks and reports of a log. They belong to no session, so they are part of none.

RuleSet: OfLog
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
* insert OfLog
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
* insert OfLog
* insert OfCategory(procedure)
* code MS
* code = $local#urea-model-weeks
* value[x] 0..0
* dataAbsentReason 0..0
* component 0..0
* derivedFrom 0..0
* hasMember 1..* MS
* hasMember only Reference(Observation)

// The report for a visit.

RuleSet: Statistic(name, code, min)
* component contains {name} {min}..1 MS
* component[{name}].code = $statistics#{code}
* component[{name}].value[x] 1..1
* component[{name}].dataAbsentReason 0..0

Profile: RunsheetSummary
Parent: Observation
Id: runsheet-summary
Title: "Summary of a measure"
Description: "Median, least and greatest value of one measure over the sessions of some days, as a report for a visit has them, with the number of sessions that have a value (count) and that took place (total-count). It is no measured value, and has a code of its own. The sessions are not named one by one: they are those of the period."
* insert OfLog
* insert OfCategory(procedure)
* code MS
* code from RunsheetSummaries (required)
* value[x] 0..0
* dataAbsentReason 0..0
* derivedFrom 0..0
* hasMember 0..0
* method.text 1..1 MS
* component ^slicing.discriminator.type = #pattern
* component ^slicing.discriminator.path = "code"
* component ^slicing.rules = #open
* insert Statistic(median, median, 1)
* insert Statistic(least, minimum, 1)
* insert Statistic(greatest, maximum, 1)
* insert Statistic(count, count, 1)
* insert Statistic(sessions, total-count, 0)
* component[median].value[x] only Quantity
* component[least].value[x] only Quantity
* component[greatest].value[x] only Quantity
* component[count].value[x] only integer
* component[sessions].value[x] only integer
* obeys rs-summary-order

Profile: RunsheetAttendance
Parent: Observation
Id: runsheet-attendance
Title: "Sessions of some days, counted"
Description: "How many sessions of some days were done, cut short, not done, and held back because of mistakes in the log. Those cut short are among those done."
* insert OfLog
* insert OfCategory(procedure)
* code MS
* code = $local#attendance
* value[x] 0..0
* dataAbsentReason 0..0
* derivedFrom 0..0
* hasMember 0..0
* component 4..4 MS
* component.code from RunsheetAttendanceCounts (required)
* component.value[x] 1..1
* component.value[x] only integer
* component.dataAbsentReason 0..0

RuleSet: PresentedAs(name, type)
* presentedForm contains {name} 1..1 MS
* presentedForm[{name}].contentType = #{type}

Profile: RunsheetReport
Parent: DiagnosticReport
Id: runsheet-report
Title: "Report for a visit"
Description: "One page for a clinic visit, as PDF and as HTML, with the summaries in its table, and the weekly doses that it shows, as results. Its identity is made from the patient, the log and the first and last day, so that a later one of the same days replaces it. It has no conclusion: it does not judge. It has no performer, since R4 lets neither a patient nor software perform a report."
* insert Described
* insert PatientAsserted
* insert Identified
* insert OfPatient
* status MS
* status ^short = "preliminary where a summary is | final | corrected | amended | entered-in-error"
* category 1..* MS
* code MS
* code = $local#visit-report
* code.text 1..1 MS
* effective[x] 1..1 MS
* effective[x] only Period
* effectivePeriod.start 1..1
* effectivePeriod.end 1..1
* issued 0..0
* issued ^short = "None: no output holds the time it was made at"
* performer 0..0
* resultsInterpreter 0..0
* result MS
* result only Reference(Observation)
* conclusion 0..0
* conclusionCode 0..0
* presentedForm MS
* presentedForm ^slicing.discriminator.type = #value
* presentedForm ^slicing.discriminator.path = "contentType"
* presentedForm ^slicing.rules = #open
* presentedForm.contentType 1..1
* presentedForm.language 1..1
* presentedForm.data 1..1
* presentedForm.size 1..1
* presentedForm.hash 1..1
* presentedForm.hash ^short = "SHA-1 of the data, as base64"
* presentedForm.title 1..1
* presentedForm.url 0..0
* insert PresentedAs(pdf, application/pdf)
* insert PresentedAs(html, text/html)
