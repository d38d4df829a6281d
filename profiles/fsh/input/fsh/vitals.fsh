// What the patient measures on the body: R4 vital signs, inherited.

Profile: RunsheetWeight
Parent: http://hl7.org/fhir/StructureDefinition/bodyweight
Id: runsheet-weight
Title: "Body weight before or after dialysis"
Description: "A measured body weight. It carries the general code, so that every receiver charts it, and the code for before or after dialysis. A dry or target weight is not a measured one and has a profile of its own."
* insert SessionObservation
* insert NotAboutAnother
* insert EnteredQuantity
* code.coding contains preDialysis 0..1 MS and postDialysis 0..1 MS
* code.coding[preDialysis].system 1..1
* code.coding[preDialysis].system = "http://loinc.org" (exactly)
* code.coding[preDialysis].code 1..1
* code.coding[preDialysis].code = #8347-7 (exactly)
* code.coding[postDialysis].system 1..1
* code.coding[postDialysis].system = "http://loinc.org" (exactly)
* code.coding[postDialysis].code 1..1
* code.coding[postDialysis].code = #8344-4 (exactly)
* effective[x] only dateTime
* device MS
* device only Reference(Device)
* device ^short = "The scales"
* obeys rs-weight-phase

Profile: RunsheetBloodPressure
Parent: http://hl7.org/fhir/StructureDefinition/bp
Id: runsheet-blood-pressure
Title: "Blood pressure before, during or after dialysis"
Description: "One reading of the cuff, with both numbers as components. A number that was not obtained has a reason in its component. A pressure in the blood circuit is not a blood pressure and has the profile for machine readings."
* insert SessionObservation
* insert NotAboutAnother
* performer 1..1 MS
* performer only Reference(Patient or RelatedPerson)
* effective[x] only dateTime
* extension contains $bodyPosition named bodyPosition 0..1 MS
* component MS
* component.dataAbsentReason from RunsheetAbsentReasons (required)
* device MS
* device only Reference(Device)
* device ^short = "The cuff"
* obeys rs-pressure-cancelled and rs-pressure-units

Profile: RunsheetPulse
Parent: http://hl7.org/fhir/StructureDefinition/heartrate
Id: runsheet-pulse
Title: "Pulse before, during or after dialysis"
Description: "Heart rate as the cuff or the person counted it."
* insert SessionObservation
* insert NotAboutAnother
* insert EnteredQuantity
* effective[x] only dateTime
* device MS
* device only Reference(Device)

Profile: RunsheetTemperature
Parent: http://hl7.org/fhir/StructureDefinition/bodytemp
Id: runsheet-temperature
Title: "Body temperature before or after dialysis"
Description: "Temperature of the body. The temperature of the dialysate is a machine reading."
* insert SessionObservation
* insert NotAboutAnother
* insert EnteredQuantity
* effective[x] only dateTime
