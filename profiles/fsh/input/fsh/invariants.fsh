// Invariants. Each is written so that it is true or false, never empty.

Invariant: rs-identity
Description: "The record identifier is a UUID in lower case, written as urn:uuid"
Severity: #error
Expression: "identifier.where(system = 'urn:ietf:rfc:3986').value.all(matches('^urn:uuid:[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}$'))"

Invariant: rs-value-or-reason
Description: "There is a value, or a reason why there is none"
Severity: #error
Expression: "value.exists() or dataAbsentReason.exists()"

Invariant: rs-cancelled-reason
Description: "A cancelled observation has a reason and no value; a final one has a value"
Severity: #error
Expression: "(status != 'cancelled' or dataAbsentReason.exists()) and (status != 'final' or value.exists())"

Invariant: rs-quantity-coded
Description: "A quantity has a number and a UCUM code"
Severity: #error
Expression: "value.ofType(Quantity).all(value.exists() and code.exists() and system = 'http://unitsofmeasure.org')"

Invariant: rs-changed-note
Description: "A value that was corrected, amended or withdrawn says why in a note"
Severity: #error
Expression: "(status = 'corrected' or status = 'amended' or status = 'entered-in-error') implies note.exists()"

Invariant: rs-weight-phase
Description: "A weight says by one code whether it was before or after dialysis, and its second category agrees"
Severity: #error
Expression: "(code.coding.where(system = 'http://loinc.org' and code = '8347-7').exists() xor code.coding.where(system = 'http://loinc.org' and code = '8344-4').exists()) and (code.coding.where(code = '8347-7').exists() implies category.coding.where(code = '115500004').empty()) and (code.coding.where(code = '8344-4').exists() implies category.coding.where(code = '115499008').empty())"

Invariant: rs-pressure-cancelled
Description: "A cancelled blood pressure has neither number; a final one has at least one"
Severity: #error
Expression: "(status != 'cancelled' or component.value.empty()) and (status != 'final' or component.value.exists())"

Invariant: rs-pressure-units
Description: "Both numbers of a blood pressure are in mm[Hg]"
Severity: #error
Expression: "component.value.ofType(Quantity).all(code = 'mm[Hg]' and system = 'http://unitsofmeasure.org')"

Invariant: rs-computed-inputs
Description: "A computed value names every input it was computed from"
Severity: #error
Expression: "value.empty() or derivedFrom.exists() or component.exists()"

Invariant: rs-computed-caution
Description: "A computed value says that it was calculated by software and not verified by a clinician"
Severity: #error
Expression: "note.where(text.toString().contains('not verified by a clinician')).exists()"

Invariant: rs-week-state
Description: "A week states the urea model at its start, or says why there is none"
Severity: #error
Expression: "component.exists() xor dataAbsentReason.exists()"

Invariant: rs-summary-order
Description: "The least value of a summary is not above its median, nor the median above the greatest value; all three are in one unit"
Severity: #error
Expression: "component.where(code.coding.code = 'minimum').value.ofType(Quantity).value <= component.where(code.coding.code = 'median').value.ofType(Quantity).value and component.where(code.coding.code = 'median').value.ofType(Quantity).value <= component.where(code.coding.code = 'maximum').value.ofType(Quantity).value and component.value.ofType(Quantity).code.distinct().count() = 1"

Invariant: rs-session-time
Description: "A session that took place has a period with a start; one that did not has the day it was planned for"
Severity: #error
Expression: "((status = 'completed' or status = 'stopped') implies performed.ofType(Period).start.exists()) and (status != 'not-done' or performed.ofType(dateTime).exists())"

Invariant: rs-session-reason
Description: "A session cut short or not done says why"
Severity: #warning
Expression: "(status = 'stopped' or status = 'not-done') implies statusReason.exists()"

Invariant: rs-session-not-done
Description: "A session that did not take place used no device and had no complication"
Severity: #error
Expression: "status != 'not-done' or (usedReference.empty() and complication.empty())"

Invariant: rs-dose-units
Description: "Dose and rate have UCUM codes, and never U: that is the enzyme unit, the international unit is [iU]"
Severity: #error
Expression: "dosage.dose.where(value.exists()).all(code.exists() and system = 'http://unitsofmeasure.org' and code != 'U') and dosage.rate.ofType(Quantity).where(value.exists()).all(code.exists() and system = 'http://unitsofmeasure.org' and code != 'U/h')"

Invariant: rs-one-session
Description: "The Bundle is about one session: it carries one Procedure, or none where it corrects values of a session already sent or is about the weeks of a log or a report of it"
Severity: #error
Expression: "entry.where(resource is Procedure).count() <= 1"

Invariant: rs-conditional
Description: "A resource is created only if the receiver has none like it, or put under an id or a condition"
Severity: #error
Expression: "entry.all((request.method = 'POST' and request.ifNoneExist.exists()) or request.method = 'PUT')"

Invariant: rs-condition-identity
Description: "The condition of a create or of a correction names the identifier that the resource carries, and the fullUrl, which a server may replace wherever it stands, is another"
Severity: #error
Expression: "entry.where(resource is Procedure or resource is Observation or resource is MedicationAdministration or resource is Device or resource is DiagnosticReport).all(resource.identifier.where(system = 'urn:ietf:rfc:3986').value.first().exists() and resource.identifier.where(system = 'urn:ietf:rfc:3986').value.first() != fullUrl and (request.method != 'POST' or request.ifNoneExist = 'identifier=urn:ietf:rfc:3986|' & resource.identifier.where(system = 'urn:ietf:rfc:3986').value.first()) and (request.method != 'PUT' or request.url.contains('?').not() or request.url = 'Procedure?identifier=urn:ietf:rfc:3986|' & resource.identifier.where(system = 'urn:ietf:rfc:3986').value.first() or request.url = 'Observation?identifier=urn:ietf:rfc:3986|' & resource.identifier.where(system = 'urn:ietf:rfc:3986').value.first() or request.url = 'MedicationAdministration?identifier=urn:ietf:rfc:3986|' & resource.identifier.where(system = 'urn:ietf:rfc:3986').value.first() or request.url = 'DiagnosticReport?identifier=urn:ietf:rfc:3986|' & resource.identifier.where(system = 'urn:ietf:rfc:3986').value.first() or request.url = 'Device?identifier=urn:ietf:rfc:3986|' & resource.identifier.where(system = 'urn:ietf:rfc:3986').value.first()))"

Invariant: rs-one-patient
Description: "All resources are about the same patient"
Severity: #error
Expression: "entry.resource.where($this is Procedure or $this is Observation or $this is MedicationAdministration or $this is DiagnosticReport).subject.reference.distinct().count() <= 1"

Invariant: rs-resolves
Description: "Every session, input or member that is named by urn:uuid is in the Bundle"
Severity: #error
Expression: "(entry.resource.where($this is Observation or $this is MedicationAdministration).partOf.reference | entry.resource.where($this is Observation).derivedFrom.reference | entry.resource.where($this is Observation).hasMember.reference | entry.resource.where($this is DiagnosticReport).result.reference | entry.resource.where($this is Observation).device.reference | entry.resource.where($this is Procedure).usedReference.reference | entry.resource.where($this is Provenance).target.reference).where(startsWith('urn:uuid:')).all($this in %resource.entry.fullUrl)"

Invariant: rs-within-session
Description: "A value with a time of day lies within an hour of its session, but for the checks made before it"
Severity: #warning
Expression: "entry.resource.where($this is Observation and code.coding.where(code.startsWith('check-')).empty()).effective.ofType(dateTime).where(($this < %resource.entry.resource.where($this is Procedure).first().performed.ofType(Period).start - 60 minutes) or ($this > %resource.entry.resource.where($this is Procedure).first().performed.ofType(Period).end + 60 minutes)).empty()"
