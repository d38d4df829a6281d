// Examples. The person, the log and every number are invented.

RuleSet: Sample(uuid)
* meta.source = "urn:uuid:5b0e6c1a-3c1f-4b7e-9f10-6f6a52c7d001"
* identifier[record].value = "urn:uuid:{uuid}"
* subject = Reference(example-patient)

RuleSet: SampleObservation(uuid, session, status)
* insert Sample({uuid})
* partOf = Reference({session})
* status = #{status}

RuleSet: ByPatient
* performer = Reference(example-patient)
* note[0].text = "Read off and written down by the patient or helper."

RuleSet: Before
* category[1] = $SCT#115499008 "Pre-dialysis (qualifier value)"
RuleSet: During
* category[1] = $SCT#307154001 "During procedure (qualifier value)"
RuleSet: After
* category[1] = $SCT#115500004 "Post-dialysis (qualifier value)"

RuleSet: Amount(path, number, unit, code)
* {path}.value = {number}
* {path}.unit = "{unit}"
* {path}.system = $UCUM
* {path}.code = #{code}

RuleSet: Treatment
* effectivePeriod.start = "2025-11-05T18:15:00Z"
* effectivePeriod.end = "2025-11-05T21:45:00Z"

Instance: example-patient
InstanceOf: Patient
Usage: #example
Title: "Patient"
Description: "Known by an identifier and nothing else."
* identifier.system = "urn:oid:2.25.331383638406541845489215601853980652438"
* identifier.value = "HHD-00013"

Instance: example-machine
InstanceOf: RunsheetDevice
Usage: #example
Title: "Dialysis machine"
Description: "As the log names it."
* identifier[record].value = "urn:uuid:0c0b8f0e-1111-5a01-8a01-000000000001"
* deviceName.name = "home haemodialysis machine"
* deviceName.type = #user-friendly-name
* type.text = "Haemodialysis machine"
* patient = Reference(example-patient)

Instance: example-dialyser
InstanceOf: RunsheetDevice
Usage: #example
Title: "Dialyser of one session"
Description: "With the lot and the month until which it may be used."
* identifier[record].value = "urn:uuid:0c0b8f0e-1111-5a01-8a01-000000000009"
* deviceName.name = "high-flux 1.7 m2"
* deviceName.type = #user-friendly-name
* type.text = "Dialyser"
* lotNumber = "EX-4471"
* expirationDate = "2027-03"
* patient = Reference(example-patient)

Instance: example-cuff
InstanceOf: RunsheetDevice
Usage: #example
Title: "Blood pressure monitor"
Description: "As the log names it."
* identifier[record].value = "urn:uuid:0c0b8f0e-1111-5a01-8a01-000000000002"
* deviceName.name = "upper-arm monitor"
* deviceName.type = #user-friendly-name
* type.text = "Blood pressure monitor"
* patient = Reference(example-patient)

Instance: example-software
InstanceOf: RunsheetDevice
Usage: #example
Title: "Software"
Description: "What read the log, computed and assembled the record."
* identifier[record].value = "urn:uuid:0c0b8f0e-1111-5a01-8a01-000000000003"
* deviceName.name = "runsheet"
* deviceName.type = #user-friendly-name
* type.text = "Software that read the log, computed and assembled the record"
* version.value = "0.1.0"

Instance: example-session
InstanceOf: RunsheetSession
Usage: #example
Title: "A session done"
Description: "An evening of three and a half hours."
* insert Sample(0c0b8f0e-2222-5a01-8a01-000000000001)
* status = #completed
* category = $SCT#277132007 "Therapeutic procedure (procedure)"
* code.coding[haemodialysis].display = "Hemodialysis (procedure)"
* code.text = "Home haemodialysis session"
* performedPeriod.start = "2025-11-05T18:15:00Z"
* performedPeriod.end = "2025-11-05T21:45:00Z"
* recorder = Reference(example-patient)
* asserter = Reference(example-patient)
* performer.function.text = "Self-administered treatment"
* performer.actor = Reference(example-patient)
* bodySite.text = "left forearm fistula"
* usedReference[0] = Reference(example-machine)
* usedReference[1] = Reference(example-dialyser)
* usedReference[1].display = "Dialyser, lot EX-4471, may be used until 2027-03"
* usedCode.text = "Dialyser: high-flux 1.7 m2"

Instance: example-session-not-done
InstanceOf: RunsheetSession
Usage: #example
Title: "A session not done"
Description: "Planned and skipped: only the day is known. No log kept would look different, it would not be sent."
* insert Sample(0c0b8f0e-2222-5a01-8a01-000000000002)
* status = #not-done
* statusReason.text = "water supply was off"
* code.coding[haemodialysis].display = "Hemodialysis (procedure)"
* code.text = "Home haemodialysis session"
* performedDateTime = "2025-11-07"
* recorder = Reference(example-patient)

Instance: example-session-stopped
InstanceOf: RunsheetSession
Usage: #example
Title: "A session cut short"
Description: "Ended early, with the person's reason and what they felt."
* insert Sample(0c0b8f0e-2222-5a01-8a01-000000000003)
* status = #stopped
* statusReason.text = "venous pressure alarm kept coming back, so I gave the blood back and stopped"
* code.coding[haemodialysis].display = "Hemodialysis (procedure)"
* code.text = "Home haemodialysis session"
* performedPeriod.start = "2025-11-10T18:20:00Z"
* performedPeriod.end = "2025-11-10T20:02:00Z"
* recorder = Reference(example-patient)
* complication = $SCT#55300003 "Cramp (finding)"
* complication.text = "cramp"
* usedReference = Reference(example-machine)

Instance: example-session-clock-change
InstanceOf: RunsheetSession
Usage: #example
Title: "A night in which the clocks go back"
Description: "From 22:40 summer time to 04:55 winter time are 7 h 15 min, not 6 h 15 min: both ends carry their offset."
* insert Sample(0c0b8f0e-2222-5a01-8a01-000000000004)
* status = #completed
* code.coding[haemodialysis].display = "Hemodialysis (procedure)"
* code.text = "Home haemodialysis session"
* performedPeriod.start = "2025-10-25T22:40:00+01:00"
* performedPeriod.end = "2025-10-26T04:55:00Z"
* recorder = Reference(example-patient)

Instance: example-time-clock-change
InstanceOf: RunsheetTotal
Usage: #example
Title: "Treatment time of the night in which the clocks go back"
Description: "435 minutes by the machine."
* insert SampleObservation(0c0b8f0e-3333-5a01-8a01-000000000001, example-session-clock-change, final)
* insert ByPatient
* code = $local#treatment-time-delivered "Treatment time delivered"
* code.text = "Treatment time delivered"
* effectivePeriod.start = "2025-10-25T22:40:00+01:00"
* effectivePeriod.end = "2025-10-26T04:55:00Z"
* insert Amount(valueQuantity, 435, min, min)

Instance: example-reading-clock-change
InstanceOf: RunsheetMachineReading
Usage: #example
Title: "A reading in the hour that comes twice"
Description: "01:40 after the change: the offset says which 01:40."
* insert SampleObservation(0c0b8f0e-3333-5a01-8a01-000000000002, example-session-clock-change, final)
* insert ByPatient
* insert During
* code = $local#venous-line-pressure "Venous (return) line pressure"
* code.text = "Venous (return) line pressure"
* effectiveDateTime = "2025-10-26T01:40:00Z"
* insert Amount(valueQuantity, 120, mmHg, mm[Hg])

Instance: example-weight-before
InstanceOf: RunsheetWeight
Usage: #example
Title: "Weight before dialysis"
Description: "Two codes: one every receiver charts, one that says when."
* insert SampleObservation(0c0b8f0e-4444-5a01-8a01-000000000001, example-session, final)
* insert ByPatient
* insert Before
* code.coding[preDialysis].display = "Body weight Measured --pre dialysis"
* code.text = "Body weight before dialysis"
* effectiveDateTime = "2025-11-05T18:02:00Z"
* issued = "2025-11-05T22:10:00Z"
* insert Amount(valueQuantity, 72.4, kg, kg)

Instance: example-weight-corrected
InstanceOf: RunsheetWeight
Usage: #example
Title: "A weight corrected"
Description: "Same identity, new value, and why."
* insert SampleObservation(0c0b8f0e-4444-5a01-8a01-000000000002, example-session, corrected)
* performer = Reference(example-patient)
* note[0].text = "Written as 77.0 at first, two digits swapped; corrected by the patient."
* insert After
* code.coding[postDialysis].display = "Body weight Measured --post dialysis"
* code.text = "Body weight after dialysis"
* effectiveDateTime = "2025-11-05T21:55:00Z"
* issued = "2025-11-06T09:30:00Z"
* insert Amount(valueQuantity, 70.7, kg, kg)

Instance: example-weight-missing
InstanceOf: RunsheetWeight
Usage: #example
Title: "A weight not taken"
Description: "Asked for and not measured: a reason, no zero."
* insert SampleObservation(0c0b8f0e-4444-5a01-8a01-000000000003, example-session-stopped, cancelled)
* insert ByPatient
* insert After
* code.coding[postDialysis].display = "Body weight Measured --post dialysis"
* code.text = "Body weight after dialysis"
* effectiveDateTime = "2025-11-10"
* dataAbsentReason = $absent#not-performed "Not Performed"

Instance: example-blood-pressure
InstanceOf: RunsheetBloodPressure
Usage: #example
Title: "Blood pressure before dialysis, standing"
Description: "Both numbers, and the position of the body."
* insert SampleObservation(0c0b8f0e-5555-5a01-8a01-000000000001, example-session, final)
* insert ByPatient
* insert Before
* code.text = "Blood pressure before dialysis, standing"
* effectiveDateTime = "2025-11-05T18:04:00Z"
* extension[bodyPosition].valueCodeableConcept = $SCT#10904000 "Orthostatic body position (finding)"
* insert Amount(component[SystolicBP].valueQuantity, 142, mmHg, mm[Hg])
* insert Amount(component[DiastolicBP].valueQuantity, 78, mmHg, mm[Hg])
* device = Reference(example-cuff)

Instance: example-blood-pressure-half
InstanceOf: RunsheetBloodPressure
Usage: #example
Title: "Blood pressure with one number"
Description: "The lower number was not written down and is not known."
* insert SampleObservation(0c0b8f0e-5555-5a01-8a01-000000000002, example-session, final)
* insert ByPatient
* insert During
* code.text = "Blood pressure during dialysis"
* effectiveDateTime = "2025-11-05T19:30:00Z"
* insert Amount(component[SystolicBP].valueQuantity, 118, mmHg, mm[Hg])
* component[DiastolicBP].dataAbsentReason = $absent#asked-unknown "Asked But Unknown"
* device = Reference(example-cuff)

Instance: example-pulse
InstanceOf: RunsheetPulse
Usage: #example
Title: "Pulse during dialysis"
Description: "From the cuff."
* insert SampleObservation(0c0b8f0e-5555-5a01-8a01-000000000003, example-session, final)
* insert ByPatient
* insert During
* code.text = "Pulse during dialysis"
* effectiveDateTime = "2025-11-05T19:30:00Z"
* insert Amount(valueQuantity, 74, per minute, /min)
* device = Reference(example-cuff)

Instance: example-temperature
InstanceOf: RunsheetTemperature
Usage: #example
Title: "Body temperature before dialysis"
Description: "Of the body, not of the dialysate."
* insert SampleObservation(0c0b8f0e-5555-5a01-8a01-000000000004, example-session, final)
* insert ByPatient
* insert Before
* code.text = "Body temperature before dialysis"
* effectiveDateTime = "2025-11-05T18:02:00Z"
* insert Amount(valueQuantity, 36.4, °C, Cel)

Instance: example-arterial-pressure
InstanceOf: RunsheetMachineReading
Usage: #example
Title: "Arterial line pressure"
Description: "Negative, as before the pump it is."
* insert SampleObservation(0c0b8f0e-6666-5a01-8a01-000000000001, example-session, final)
* insert ByPatient
* insert During
* code = $local#arterial-line-pressure "Arterial (pre-pump) line pressure"
* code.text = "Arterial (pre-pump) line pressure"
* effectiveDateTime = "2025-11-05T19:30:00Z"
* insert Amount(valueQuantity, -165, mmHg, mm[Hg])
* device = Reference(example-machine)

Instance: example-reading-retracted
InstanceOf: RunsheetMachineReading
Usage: #example
Title: "A reading withdrawn"
Description: "It should never have existed: same identity, entered in error, and why. It is not deleted."
* insert SampleObservation(0c0b8f0e-6666-5a01-8a01-000000000002, example-session, entered-in-error)
* performer = Reference(example-patient)
* note[0].text = "Copied from the line above by mistake; withdrawn by the patient."
* insert During
* code = $local#arterial-line-pressure "Arterial (pre-pump) line pressure"
* code.text = "Arterial (pre-pump) line pressure"
* effectiveDateTime = "2025-11-05T20:00:00Z"
* insert Amount(valueQuantity, -165, mmHg, mm[Hg])
* device = Reference(example-machine)

Instance: example-uf-removed
InstanceOf: RunsheetTotal
Usage: #example
Title: "Fluid removed"
Description: "As the machine shows it at the end."
* insert SampleObservation(0c0b8f0e-6666-5a01-8a01-000000000003, example-session, final)
* insert ByPatient
* insert Treatment
* code = $LNC#99741-1 "Ultrafiltrate volume removed"
* code.text = "Fluid removed by ultrafiltration"
* insert Amount(valueQuantity, 2.10, L, L)
* device = Reference(example-machine)

Instance: example-dry-weight
InstanceOf: RunsheetClinicValue
Usage: #example
Title: "Dry weight"
Description: "Set by the clinic, so it has no code of a measured weight."
* insert SampleObservation(0c0b8f0e-6666-5a01-8a01-000000000004, example-session, final)
* insert ByPatient
* code = $LNC#8340-2 "Dry body weight Estimated"
* code.text = "Dry weight set by the clinic"
* effectiveDateTime = "2025-11-05"
* insert Amount(valueQuantity, 70.5, kg, kg)

Instance: example-recovery-time
InstanceOf: RunsheetRecoveryTime
Usage: #example
Title: "Time to recover"
Description: "In the person's judgement."
* insert SampleObservation(0c0b8f0e-6666-5a01-8a01-000000000005, example-session, final)
* insert ByPatient
* insert After
* code.text = "Time to recover after dialysis"
* effectiveDateTime = "2025-11-05T21:55:00Z"
* insert Amount(valueQuantity, 120, min, min)

Instance: example-urea-before
InstanceOf: RunsheetLaboratory
Usage: #example
Title: "Urea before dialysis"
Description: "Copied from the laboratory's report."
* insert SampleObservation(0c0b8f0e-7777-5a01-8a01-000000000001, example-session, final)
* insert Before
* code = $LNC#39777-8 "Urea [Moles/volume] in Serum or Plasma --pre dialysis"
* code.text = "Urea before dialysis"
* effectiveDateTime = "2025-11-05T18:10:00Z"
* performer.display = "Saltmere General"
* insert Amount(valueQuantity, 20.0, mmol/L, mmol/L)

Instance: example-urea-after
InstanceOf: RunsheetLaboratory
Usage: #example
Title: "Urea after dialysis"
Description: "Copied from the laboratory's report."
* insert SampleObservation(0c0b8f0e-7777-5a01-8a01-000000000002, example-session, final)
* insert After
* code = $LNC#39776-0 "Urea [Moles/volume] in Serum or Plasma --post dialysis"
* code.text = "Urea after dialysis"
* effectiveDateTime = "2025-11-05T21:46:00Z"
* performer.display = "Saltmere General"
* insert Amount(valueQuantity, 6.0, mmol/L, mmol/L)

Instance: example-alarm
InstanceOf: RunsheetEvent
Usage: #example
Title: "Machine alarm"
Description: "In the machine's words."
* insert SampleObservation(0c0b8f0e-7777-5a01-8a01-000000000003, example-session, final)
* performer = Reference(example-patient)
* code = $local#machine-alarm "Machine alarm"
* code.text = "Machine alarm"
* effectiveDateTime = "2025-11-05T20:12:00Z"
* valueCodeableConcept.text = "venous pressure high"
* component[0].code = $local#machine-alarm-number "Number of the alarm, as the machine shows it"
* component[0].code.text = "Number of the alarm, as the machine shows it"
* component[0].valueString = "204"
* note[0].text = "Done about it: straightened the line"
* device = Reference(example-machine)

Instance: example-check
InstanceOf: RunsheetCheck
Usage: #example
Title: "Total chlorine of the water"
Description: "A number and the verdict of the one who tested."
* insert SampleObservation(0c0b8f0e-7777-5a01-8a01-000000000005, example-session, final)
* insert Before
* performer[0] = Reference(example-patient)
* performer[1].display = "helper"
* code = $local#check-total-chlorine "Total chlorine of the water"
* code.text = "Total chlorine of the water"
* effectiveDateTime = "2025-11-05T17:40:00Z"
* insert Amount(valueQuantity, 0.05, mg/L, mg/L)
* interpretation[0].text = "ok"

Instance: example-check-not-done
InstanceOf: RunsheetCheck
Usage: #example
Title: "A check that was not made"
Description: "A reason and no result."
* insert SampleObservation(0c0b8f0e-7777-5a01-8a01-000000000006, example-session, cancelled)
* insert Before
* performer = Reference(example-patient)
* code = $local#check-access-thrill "Thrill felt at the access"
* code.text = "Thrill felt at the access"
* effectiveDateTime = "2025-11-05"
* dataAbsentReason = $absent#not-performed "Not Performed"

Instance: example-symptom
InstanceOf: RunsheetEvent
Usage: #example
Title: "Symptom"
Description: "One word that stands for one concept of the free set."
* insert SampleObservation(0c0b8f0e-7777-5a01-8a01-000000000004, example-session, final)
* performer = Reference(example-patient)
* code = $local#symptom-during-dialysis "Symptom during dialysis"
* code.text = "Symptom during dialysis"
* effectiveDateTime = "2025-11-05T20:40:00Z"
* valueCodeableConcept = $SCT#55300003 "Cramp (finding)"
* valueCodeableConcept.text = "cramp"

Instance: example-urr
InstanceOf: RunsheetComputed
Usage: #example
Title: "Urea reduction ratio"
Description: "Computed from two results of the same session."
* insert SampleObservation(0c0b8f0e-8888-5a01-8a01-000000000001, example-session, final)
* insert Treatment
* code = $LNC#54456-9 "Urea reduction ratio in Serum or Plasma"
* code.text = "Urea reduction ratio, calculated"
* insert Amount(valueQuantity, 70.0, %, %)
* method.coding[algorithm].code = #urr-1
* method.text = "urea_reduction_ratio = 70.0 % = 100*(1 - 6.0/20.0)"
* derivedFrom[0] = Reference(example-urea-before)
* derivedFrom[1] = Reference(example-urea-after)
* note[0].text = "Calculated by software from values entered by the patient; not verified by a clinician, not a device reading, not for changing treatment."

Instance: example-urr-missing
InstanceOf: RunsheetComputed
Usage: #example
Title: "A ratio that could not be computed"
Description: "No sample after dialysis: a reason and the formula, no number."
* insert SampleObservation(0c0b8f0e-8888-5a01-8a01-000000000002, example-session-stopped, cancelled)
* effectivePeriod.start = "2025-11-10T18:20:00Z"
* effectivePeriod.end = "2025-11-10T20:02:00Z"
* code = $LNC#54456-9 "Urea reduction ratio in Serum or Plasma"
* code.text = "Urea reduction ratio, calculated"
* dataAbsentReason = $absent#unknown "Unknown"
* dataAbsentReason.text = "not recorded: urea after dialysis"
* method.coding[algorithm].code = #urr-1
* method.text = "urea_reduction_ratio = 100*(1 - urea_after/urea_before)"
* note[0].text = "Calculated by software from values entered by the patient; not verified by a clinician, not a device reading, not for changing treatment."

Instance: example-dose
InstanceOf: RunsheetDosePanel
Usage: #example
Title: "Measures of dose"
Description: "Gathers the computed measures of one session."
* insert SampleObservation(0c0b8f0e-8888-5a01-8a01-000000000003, example-session, final)
* insert Treatment
* code.text = "Dialysis dose of the session, calculated"
* hasMember[0] = Reference(example-urr)
* note[0].text = "Calculated by software from values entered by the patient; not verified by a clinician, not a device reading, not for changing treatment."

Instance: example-heparin
InstanceOf: RunsheetMedicine
Usage: #example
Title: "Heparin into the circuit"
Description: "International units are [iU], never U."
* insert Sample(0c0b8f0e-9999-5a01-8a01-000000000001)
* partOf = Reference(example-session)
* status = #completed
* medicationCodeableConcept.coding = $SCT#372877000
* medicationCodeableConcept.text = "heparin"
* effectiveDateTime = "2025-11-05T18:16:00Z"
* performer.actor = Reference(example-patient)
* dosage.text = "2000 international units into the dialysis circuit"
* dosage.route = $route#HEMOPORT "Injection, hemodialysis port"
* dosage.route.text = "into the dialysis circuit"
* insert Amount(dosage.dose, 2000, international units, [iU])

Instance: example-provenance
InstanceOf: RunsheetProvenance
Usage: #example
Title: "Who wrote the session down"
Description: "The patient; assembled by software on the patient's behalf."
* target[0] = Reference(example-session)
* target[1] = Reference(example-weight-before)
* recorded = "2025-11-05T22:10:00Z"
* activity = $dataOperation#CREATE "create"
* agent[author].who = Reference(example-patient)
* agent[assembler].who = Reference(example-software)
* agent[assembler].onBehalfOf = Reference(example-patient)
* entity[source].what.identifier.system = "urn:ietf:rfc:3986"
* entity[source].what.identifier.value = "ni:///sha-256;f4OxZX_x_FO5LcGBSKHWXfwtSx-j1ncoSt3SABJtkGk"
* entity[source].what.display = "The session's entry in the patient's log"

Instance: example-provenance-correction
InstanceOf: RunsheetProvenance
Usage: #example
Title: "Who corrected a weight"
Description: "The version that was replaced is named beside the source."
* target[0] = Reference(example-weight-corrected)
* recorded = "2025-11-06T09:30:00Z"
* activity = $dataOperation#UPDATE "revise"
* agent[author].who = Reference(example-patient)
* agent[assembler].who = Reference(example-software)
* agent[assembler].onBehalfOf = Reference(example-patient)
* entity[source].what.identifier.system = "urn:ietf:rfc:3986"
* entity[source].what.identifier.value = "ni:///sha-256;f4OxZX_x_FO5LcGBSKHWXfwtSx-j1ncoSt3SABJtkGk"
* entity[source].what.display = "The session's entry in the patient's log"
* entity[revision].what.identifier.system = "urn:ietf:rfc:3986"
* entity[revision].what.identifier.value = "urn:uuid:0c0b8f0e-4444-5a01-8a01-000000000002"
* entity[revision].what.display = "The weight as it was sent before"

Instance: example-summary
InstanceOf: RunsheetSummary
Usage: #example
Title: "Weights after dialysis of four weeks, summed up"
Description: "Eleven of the twelve sessions have a weight."
* insert Sample(0c0b8f0e-8888-5a01-8a01-000000000004)
* status = #final
* category[kind].coding.display = "Procedure"
* code = $local#summary-weight-after
* code.text = "Weight after dialysis: median, least and greatest"
* effectivePeriod.start = "2025-10-10"
* effectivePeriod.end = "2025-11-06"
* device = Reference(example-software)
* method.text = "Median, least and greatest value of the sessions of these days"
* insert Amount(component[median].valueQuantity, 70.1, kg, kg)
* insert Amount(component[least].valueQuantity, 69.8, kg, kg)
* insert Amount(component[greatest].valueQuantity, 70.6, kg, kg)
* component[count].valueInteger = 11
* component[sessions].valueInteger = 12
* note[0].text = "Calculated by software from values entered by the patient; not verified by a clinician, not a device reading, not for changing treatment."

Instance: example-attendance
InstanceOf: RunsheetAttendance
Usage: #example
Title: "Sessions of four weeks, counted"
Description: "Twelve sessions were done, one of them cut short, and one was not."
* insert Sample(0c0b8f0e-8888-5a01-8a01-000000000006)
* status = #final
* category[kind].coding.display = "Procedure"
* code = $local#attendance
* code.text = "Sessions of these days, counted"
* effectivePeriod.start = "2025-10-10"
* effectivePeriod.end = "2025-11-06"
* device = Reference(example-software)
* component[0].code = $local#sessions-done
* component[0].valueInteger = 12
* component[1].code = $local#sessions-cut-short
* component[1].valueInteger = 1
* component[2].code = $local#sessions-not-done
* component[2].valueInteger = 1
* component[3].code = $local#sessions-held-back
* component[3].valueInteger = 0
* note[0].text = "Calculated by software from values entered by the patient; not verified by a clinician, not a device reading, not for changing treatment."

Instance: example-report
InstanceOf: RunsheetReport
Usage: #example
Title: "A report for a visit"
Description: "Its page is empty here."
* insert Sample(0c0b8f0e-8888-5a01-8a01-000000000005)
* status = #final
* category = $diagnosticService#OTH "Other"
* code = $local#visit-report
* code.text = "Home haemodialysis: report for the visit"
* effectivePeriod.start = "2025-08-08"
* effectivePeriod.end = "2025-11-06"
* result[0] = Reference(example-attendance)
* result[1] = Reference(example-summary)
* presentedForm[pdf].contentType = #application/pdf
* presentedForm[pdf].language = #en
* presentedForm[pdf].data = "JVBERi0xLjQKJSVFT0YK"
* presentedForm[pdf].size = 15
* presentedForm[pdf].hash = "TKv8RJxC5OIIiKDNHLTU/WUrr4g="
* presentedForm[pdf].title = "Home haemodialysis: report for the visit"
* presentedForm[html].contentType = #text/html
* presentedForm[html].language = #en
* presentedForm[html].data = "PCFET0NUWVBFIGh0bWw+PHRpdGxlPlJlcG9ydDwvdGl0bGU+"
* presentedForm[html].size = 36
* presentedForm[html].hash = "0LvQ8mJKNYRfQiiCkolnvYMNDyw="
* presentedForm[html].title = "Home haemodialysis: report for the visit"
