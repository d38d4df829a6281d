// What a receiver needs, and the systems that stand in a record.

RuleSet: Expect(path, code)
* {path}.extension[0].url = $expectation
* {path}.extension[0].valueCode = #{code}

RuleSet: ReceiverResource(n, type)
* rest.resource[{n}].type = #{type}
* rest.resource[{n}].interaction[0].code = #create
* insert Expect(rest.resource[{n}].interaction[0], SHALL)
* rest.resource[{n}].interaction[1].code = #update
* insert Expect(rest.resource[{n}].interaction[1], SHOULD)
* rest.resource[{n}].conditionalCreate = true
* rest.resource[{n}].conditionalUpdate = true
* rest.resource[{n}].referencePolicy[0] = #literal
* rest.resource[{n}].referencePolicy[1] = #logical

RuleSet: ByIdentifier(n, type)
* rest.resource[{n}].searchParam[0].name = "identifier"
* rest.resource[{n}].searchParam[0].definition = "http://hl7.org/fhir/SearchParameter/{type}-identifier"
* rest.resource[{n}].searchParam[0].type = #token
* insert Expect(rest.resource[{n}].searchParam[0], SHALL)

Instance: runsheet-receiver
InstanceOf: CapabilityStatement
Usage: #definition
Title: "What a receiver needs"
Description: "The least a server must do so that a log can be sent twice without doubling anything, and corrections arrive."
* url = "https://runsheet.example/fhir/CapabilityStatement/runsheet-receiver"
* version = "0.1.0"
* name = "RunsheetReceiver"
* title = "What a receiver needs"
* status = #active
* experimental = false
* date = "2026-11-25"
* publisher = "Runsheet"
* description = "The least a server must do so that a log can be sent twice without doubling anything, and corrections arrive. Update by condition is how a correction is sent; a server without it can still take new sessions."
* kind = #requirements
* fhirVersion = #4.0.1
* format[0] = #json
* implementationGuide = "https://runsheet.example/fhir/ImplementationGuide/runsheet.home.haemodialysis"
* rest.mode = #server
* rest.documentation = "One transaction holds one session. References inside it are urn:uuid and are rewritten by the server. The patient is found by identifier; nobody is created unless the sender was told to. A search that finds several resources for one condition is an error to report, never to mend by creating."
* rest.security.description = "TLS, and the authorisation the site asks for."
* rest.interaction[0].code = #transaction
* insert Expect(rest.interaction[0], SHALL)
* insert ReceiverResource(0, Procedure)
* rest.resource[0].supportedProfile[0] = "https://runsheet.example/fhir/StructureDefinition/runsheet-session"
* insert ByIdentifier(0, Procedure)
* insert ReceiverResource(1, Observation)
* rest.resource[1].supportedProfile[0] = "https://runsheet.example/fhir/StructureDefinition/runsheet-weight"
* rest.resource[1].supportedProfile[+] = "https://runsheet.example/fhir/StructureDefinition/runsheet-blood-pressure"
* rest.resource[1].supportedProfile[+] = "https://runsheet.example/fhir/StructureDefinition/runsheet-pulse"
* rest.resource[1].supportedProfile[+] = "https://runsheet.example/fhir/StructureDefinition/runsheet-temperature"
* rest.resource[1].supportedProfile[+] = "https://runsheet.example/fhir/StructureDefinition/runsheet-machine-reading"
* rest.resource[1].supportedProfile[+] = "https://runsheet.example/fhir/StructureDefinition/runsheet-total"
* rest.resource[1].supportedProfile[+] = "https://runsheet.example/fhir/StructureDefinition/runsheet-clinic-value"
* rest.resource[1].supportedProfile[+] = "https://runsheet.example/fhir/StructureDefinition/runsheet-recovery-time"
* rest.resource[1].supportedProfile[+] = "https://runsheet.example/fhir/StructureDefinition/runsheet-laboratory"
* rest.resource[1].supportedProfile[+] = "https://runsheet.example/fhir/StructureDefinition/runsheet-event"
* rest.resource[1].supportedProfile[+] = "https://runsheet.example/fhir/StructureDefinition/runsheet-check"
* rest.resource[1].supportedProfile[+] = "https://runsheet.example/fhir/StructureDefinition/runsheet-computed"
* rest.resource[1].supportedProfile[+] = "https://runsheet.example/fhir/StructureDefinition/runsheet-dose-panel"
* rest.resource[1].supportedProfile[+] = "https://runsheet.example/fhir/StructureDefinition/runsheet-summary"
* rest.resource[1].supportedProfile[+] = "https://runsheet.example/fhir/StructureDefinition/runsheet-attendance"
* insert ByIdentifier(1, clinical)
* rest.resource[1].searchParam[0].definition = "http://hl7.org/fhir/SearchParameter/Observation-identifier"
* insert ReceiverResource(2, MedicationAdministration)
* rest.resource[2].supportedProfile[0] = "https://runsheet.example/fhir/StructureDefinition/runsheet-medicine"
* insert ByIdentifier(2, MedicationAdministration)
* insert ReceiverResource(3, Device)
* rest.resource[3].supportedProfile[0] = "https://runsheet.example/fhir/StructureDefinition/runsheet-device"
* insert ByIdentifier(3, Device)
* insert ReceiverResource(4, Provenance)
* rest.resource[4].supportedProfile[0] = "https://runsheet.example/fhir/StructureDefinition/runsheet-provenance"
* rest.resource[4].documentation = "R4 gives it no identifier; the condition is its agent and the time it was recorded. A sender leaves it out where the server cannot search so."
* insert ReceiverResource(5, DiagnosticReport)
* rest.resource[5].supportedProfile[0] = "https://runsheet.example/fhir/StructureDefinition/runsheet-report"
* rest.resource[5].documentation = "Only where reports for a visit are sent too."
* insert ByIdentifier(5, clinical)
* rest.resource[6].type = #Patient
* rest.resource[6].documentation = "Found by identifier. A conditional reference that finds none, or several, fails the whole transaction, which is the safe outcome."
* insert ByIdentifier(6, Patient)

RuleSet: Naming(name, kind, oid)
* name = "{name}"
* status = #active
* kind = #{kind}
* date = "2026-11-25"
* publisher = "Runsheet"
* uniqueId[0].type = #oid
* uniqueId[0].value = "{oid}"
* uniqueId[0].preferred = false
* uniqueId[1].type = #uri
* uniqueId[1].value = "urn:oid:{oid}"
* uniqueId[1].preferred = true

Instance: runsheet-codes-system
InstanceOf: NamingSystem
Usage: #definition
Title: "Home haemodialysis codes"
Description: "The code system for values without a standard code."
* insert Naming(RunsheetCodesSystem, codesystem, 2.25.335990940244883323309943966314996822642)
* description = "Codes for values, events and inputs of a home haemodialysis session without a standard code. The identifier is made from a UUID (ITU-T X.667), so it needs no registration and no domain."

Instance: runsheet-algorithms-system
InstanceOf: NamingSystem
Usage: #definition
Title: "Methods of computing"
Description: "The code system of computing methods and their versions."
* insert Naming(RunsheetAlgorithmsSystem, codesystem, 2.25.126534698663615512692703441983600176732)
* description = "Methods of computing, one code for each method and version. The identifier is made from a UUID (ITU-T X.667)."
