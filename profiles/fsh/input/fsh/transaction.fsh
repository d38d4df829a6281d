// One small session as a transaction. Inside it references are urn:uuid.

RuleSet: InTransaction(uuid)
* meta.source = "urn:uuid:5b0e6c1a-3c1f-4b7e-9f10-6f6a52c7d001"
* identifier[record].value = "urn:uuid:{uuid}"
* subject.reference = "Patient?identifier=urn:oid:2.25.331383638406541845489215601853980652438|HHD-00013"

// The fullUrl (…-bbbb-…) is not the identity (…-aaaa-…): servers may replace
// whatever equals a fullUrl, and the identity must stay.
RuleSet: Entry(n, uuid, link, type, instance)
* entry[{n}].fullUrl = "urn:uuid:{link}"
* entry[{n}].resource = {instance}
* entry[{n}].request.method = #POST
* entry[{n}].request.url = "{type}"
* entry[{n}].request.ifNoneExist = "identifier=urn:ietf:rfc:3986|urn:uuid:{uuid}"

Instance: inline-software
InstanceOf: RunsheetDevice
Usage: #inline
* identifier[record].value = "urn:uuid:0c0b8f0e-aaaa-5a01-8a01-000000000001"
* deviceName.name = "runsheet"
* deviceName.type = #user-friendly-name
* type.text = "Software that read the log, computed and assembled the record"
* version.value = "0.1.0"

Instance: inline-session
InstanceOf: RunsheetSession
Usage: #inline
* insert InTransaction(0c0b8f0e-aaaa-5a01-8a01-000000000002)
* status = #completed
* code.coding[haemodialysis].display = "Hemodialysis (procedure)"
* code.text = "Home haemodialysis session"
* performedPeriod.start = "2025-11-12T18:15:00Z"
* performedPeriod.end = "2025-11-12T21:45:00Z"
* recorder.reference = "Patient?identifier=urn:oid:2.25.331383638406541845489215601853980652438|HHD-00013"

Instance: inline-weight
InstanceOf: RunsheetWeight
Usage: #inline
* insert InTransaction(0c0b8f0e-aaaa-5a01-8a01-000000000003)
* partOf.reference = "urn:uuid:0c0b8f0e-bbbb-5a01-8a01-000000000002"
* status = #final
* insert Before
* code.coding[preDialysis].display = "Body weight Measured --pre dialysis"
* code.text = "Body weight before dialysis"
* effectiveDateTime = "2025-11-12T18:02:00Z"
* performer.reference = "Patient?identifier=urn:oid:2.25.331383638406541845489215601853980652438|HHD-00013"
* insert Amount(valueQuantity, 72.0, kg, kg)

Instance: inline-provenance
InstanceOf: RunsheetProvenance
Usage: #inline
* target[0].reference = "urn:uuid:0c0b8f0e-bbbb-5a01-8a01-000000000002"
* target[1].reference = "urn:uuid:0c0b8f0e-bbbb-5a01-8a01-000000000003"
* recorded = "2025-11-12T22:10:00Z"
* activity = $dataOperation#CREATE "create"
* agent[author].who.reference = "Patient?identifier=urn:oid:2.25.331383638406541845489215601853980652438|HHD-00013"
* agent[assembler].who.reference = "urn:uuid:0c0b8f0e-bbbb-5a01-8a01-000000000001"
* agent[assembler].onBehalfOf.reference = "Patient?identifier=urn:oid:2.25.331383638406541845489215601853980652438|HHD-00013"
* entity[source].what.identifier.system = "urn:ietf:rfc:3986"
* entity[source].what.identifier.value = "ni:///sha-256;f4OxZX_x_FO5LcGBSKHWXfwtSx-j1ncoSt3SABJtkGk"

Instance: example-transaction
InstanceOf: RunsheetTransaction
Usage: #example
Title: "One session as a transaction"
Description: "Sent twice, it changes nothing the second time."
* identifier.system = "urn:ietf:rfc:3986"
* identifier.value = "urn:uuid:0c0b8f0e-aaaa-5a01-8a01-000000000009"
* insert Entry(0, 0c0b8f0e-aaaa-5a01-8a01-000000000001, 0c0b8f0e-bbbb-5a01-8a01-000000000001, Device, inline-software)
* insert Entry(1, 0c0b8f0e-aaaa-5a01-8a01-000000000002, 0c0b8f0e-bbbb-5a01-8a01-000000000002, Procedure, inline-session)
* insert Entry(2, 0c0b8f0e-aaaa-5a01-8a01-000000000003, 0c0b8f0e-bbbb-5a01-8a01-000000000003, Observation, inline-weight)
* entry[3].fullUrl = "urn:uuid:0c0b8f0e-bbbb-5a01-8a01-000000000004"
* entry[3].resource = inline-provenance
* entry[3].request.method = #POST
* entry[3].request.url = "Provenance"
* entry[3].request.ifNoneExist = "recorded=2025-11-12T22%3A10%3A00Z&target:Procedure.identifier=urn:ietf:rfc:3986|urn:uuid:0c0b8f0e-aaaa-5a01-8a01-000000000002"

// A correction: the same identity, updated by condition. What was sent before
// is named by condition too, since its ids are the receiver's.

Instance: inline-weight-corrected
InstanceOf: RunsheetWeight
Usage: #inline
* insert InTransaction(0c0b8f0e-aaaa-5a01-8a01-000000000013)
* partOf.reference = "Procedure?identifier=urn:ietf:rfc:3986|urn:uuid:0c0b8f0e-aaaa-5a01-8a01-000000000002"
* status = #corrected
* insert Before
* code.coding[preDialysis].display = "Body weight Measured --pre dialysis"
* code.text = "Body weight before dialysis"
* effectiveDateTime = "2025-11-12T18:02:00Z"
* performer.reference = "Patient?identifier=urn:oid:2.25.331383638406541845489215601853980652438|HHD-00013"
* note.text = "Written as 72.0 at first; the scales showed 72.6. Corrected by the patient."
* insert Amount(valueQuantity, 72.6, kg, kg)

Instance: inline-provenance-corrected
InstanceOf: RunsheetProvenance
Usage: #inline
* target.reference = "Observation?identifier=urn:ietf:rfc:3986|urn:uuid:0c0b8f0e-aaaa-5a01-8a01-000000000013"
* recorded = "2025-11-13T08:00:00Z"
* activity = $dataOperation#UPDATE "revise"
* agent[author].who.reference = "Patient?identifier=urn:oid:2.25.331383638406541845489215601853980652438|HHD-00013"
* agent[assembler].who.reference = "urn:uuid:0c0b8f0e-bbbb-5a01-8a01-000000000001"
* agent[assembler].onBehalfOf.reference = "Patient?identifier=urn:oid:2.25.331383638406541845489215601853980652438|HHD-00013"
* entity[source].what.identifier.system = "urn:ietf:rfc:3986"
* entity[source].what.identifier.value = "ni:///sha-256;47DEQpj8HBSa-_TImW-5JCeuQeRkm5NMpJWZG3hSuFU"
* entity[revision].what.identifier.system = "urn:ietf:rfc:3986"
* entity[revision].what.identifier.value = "urn:uuid:0c0b8f0e-aaaa-5a01-8a01-000000000013"

Instance: example-correction
InstanceOf: RunsheetTransaction
Usage: #example
Title: "A correction as a transaction"
Description: "A weight of a session sent before, corrected: an update under the condition of the same identifier."
* insert Entry(0, 0c0b8f0e-aaaa-5a01-8a01-000000000001, 0c0b8f0e-bbbb-5a01-8a01-000000000001, Device, inline-software)
* entry[1].fullUrl = "urn:uuid:0c0b8f0e-bbbb-5a01-8a01-000000000013"
* entry[1].resource = inline-weight-corrected
* entry[1].request.method = #PUT
* entry[1].request.url = "Observation?identifier=urn:ietf:rfc:3986|urn:uuid:0c0b8f0e-aaaa-5a01-8a01-000000000013"
* entry[2].fullUrl = "urn:uuid:0c0b8f0e-bbbb-5a01-8a01-000000000005"
* entry[2].resource = inline-provenance-corrected
* entry[2].request.method = #POST
* entry[2].request.url = "Provenance"
* entry[2].request.ifNoneExist = "recorded=2025-11-13T08%3A00%3A00Z&target:Observation.identifier=urn:ietf:rfc:3986|urn:uuid:0c0b8f0e-aaaa-5a01-8a01-000000000013"
