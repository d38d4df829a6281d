// What 'runsheet audit --format fhir' writes is a MeasureReport of this Measure.

CodeSystem: RunsheetAuditCodes
Id: runsheet-audit-codes
Title: "What an audit asks and counts"
Description: "The questions of an audit, their answers, and what is counted for them."
* ^url = "https://runsheet.example/fhir/CodeSystem/runsheet-audit-codes"
* ^content = #complete
* ^caseSensitive = true
* ^versionNeeded = false
* ^experimental = false
* #complete "complete" "Every planned session of every patient is there, or the record or the roster says why not."
* #whole "whole" "The files and resources are those of their manifests: none is missing, added or changed."
* #signed "signed" "Somebody vouches for the manifests."
* #recomputed "recomputed" "Every computed value follows from the inputs that it names, by method and version."
* #valid "valid" "Every record keeps the rules by itself."
* #answer "answer" "The answer to a question."
* #yes "yes" "No finding of an error, and nothing that keeps the question from being answered."
* #no "no" "There are errors."
* #cannot-be-told "cannot be told" "What would answer the question was not given, or is not in the records."
* #errors "errors" "Findings that are errors."
* #warnings "warnings" "Findings that are warnings."
* #patient "patient" "The patient, by number."
* #week "week" "A week, by its Monday."
* #planned "planned" "The number of sessions planned for the week, which may be a fraction where weeks alternate."
* #leave "leave" "Why sessions of the week may be absent, by the roster."
* #done "done" "Sessions that were done."
* #cut-short "cut short" "Sessions that were stopped before their end."
* #not-done "not done" "Sessions that were not done, with a reason."
* #held-back "held back" "Sessions with mistakes, which were not exported."
* #unexplained "unexplained" "Sessions that are neither there nor explained."

Instance: runsheet-audit
InstanceOf: Measure
Usage: #definition
Title: "Audit of the records of home haemodialysis"
Description: "Five questions asked of the records of a unit. Each is answered by itself; there is no score."
* url = "https://runsheet.example/fhir/Measure/runsheet-audit"
* name = "RunsheetAudit"
* title = "Audit of the records of home haemodialysis"
* status = #active
* experimental = false
* description = "Five questions asked of the records of a unit. Each is answered by itself; there is no score. A group of the MeasureReport is one question; the strata of complete are the weeks of each patient."
* scoring = http://terminology.hl7.org/CodeSystem/measure-scoring#cohort
