package pseudonym

import (
	"strings"
	"sync"

	"runsheet.example/calc"
	"runsheet.example/profiles"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/rules"
)

// How an element is copied: by the name of a data type, whose elements the table
// lists too, or by one of these.
const (
	word     = "word"     // a word of the tables ([known]), else dropped
	number   = "number"   // a number or truth value, as written
	date     = "date"     // shifted; one without a day is dropped
	id       = "id"       // a name made by the key
	unit     = "unit"     // a UCUM code without annotations, or the words for it
	target   = "target"   // the text of a reference, a request or a search
	withheld = "withheld" // there, without its text
)

// narrative stands in place of the text of a resource, for readers (R4 dom-6).
const (
	narrated  = `<div xmlns="http://www.w3.org/1999/xhtml">Pseudonymous copy</div>`
	generated = "generated"
)

// allowed are the elements that a copy has. What is not listed is dropped.
var allowed = []struct{ of, elements, as, why string }{
	{"Bundle", "type", word, "says how the entries belong together"},
	{"Bundle", "identifier", "Identifier", "names the document"},
	{"Bundle", "timestamp", date, "required of a document"},
	{"Bundle", "entry", "Entry", "the records"},
	{"Entry", "fullUrl", id, "what references name"},
	{"Entry", "resource", "Resource", "the record"},
	{"Entry", "request", "Request", "required in a transaction"},
	{"Request", "method", word, "required"},
	{"Request", "url ifNoneExist", target, "required; the condition of a create"},
	{copied, "resourceType", word, "required"},
	{copied, "id", id, "what references name"},
	{copied, "meta", "Meta", "whose word the record is"},
	{copied, "identifier", "Identifier", "what references name"},
	{copied, "text", "Narrative", "that the record is a copy, in place of its text"},
	{"Meta", "source", id, "which log a record is of"},
	{"Meta", "security", "Coding", "whose word the record is"},
	{"Meta", "profile", word, "profiles of R4 that a record must keep"},
	{"Patient", "birthDate", date, "the age"},
	{"Patient", "gender", word, "an input of body water"},
	{"Device", "type", "CodeableConcept", "the kind of device, not which one"},
	{"Device", "patient", "Reference", "whose it is"},
	{"Device", "expirationDate", date, "against the day of use"},
	{"Procedure Observation MedicationAdministration DiagnosticReport Composition", "status", word, "done, cut short, not done, withdrawn"},
	{"Procedure Observation MedicationAdministration DiagnosticReport Composition", "subject", "Reference", "whose record it is"},
	{"Procedure Observation MedicationAdministration", "partOf", "Reference", "which session it is of"},
	{"Procedure Observation DiagnosticReport", "category code", "CodeableConcept", "what was done or measured"},
	{"Procedure MedicationAdministration", "statusReason", "CodeableConcept", "that there is a reason"},
	{"Procedure", "performedDateTime", date, "when"},
	{"Procedure", "performedPeriod", "Period", "when, and how long"},
	{"Procedure", "recorder asserter usedReference", "Reference", "by whom, with what"},
	{"Procedure", "performer", "Performer", "by whom"},
	{"Procedure", "complication", "CodeableConcept", "that there was one"},
	{"Performer", "function", "CodeableConcept", "that the patient did it"},
	{"Performer", "actor", "Reference", "by whom"},
	{"Observation MedicationAdministration", "effectiveDateTime", date, "when"},
	{"Observation MedicationAdministration DiagnosticReport", "effectivePeriod", "Period", "when"},
	{"Observation DiagnosticReport", "issued", date, "when it was written down"},
	{"Observation", "extension", "Extension", "the position of the body at a blood pressure"},
	{"Observation", "performer device derivedFrom hasMember", "Reference", "by whom, with what, from which inputs"},
	{"Observation", "method", "CodeableConcept", "how it was computed"},
	{"Observation", "interpretation", "CodeableConcept", "the result of a check, in words of the tables"},
	{"Observation", "component", "Component", "the inputs"},
	{"Component", "code", "CodeableConcept", "which input"},
	{"Observation Component", "valueQuantity", "Quantity", "the value"},
	{"Observation Component", "valueCodeableConcept dataAbsentReason", "CodeableConcept", "the value, or why there is none"},
	{"Observation Component", "valueInteger valueBoolean", number, "the value"},
	{"Observation Component", "valueString", withheld, "that there is a text"},
	{"MedicationAdministration", "medicationCodeableConcept", "CodeableConcept", "what, where it has a code of the tables"},
	{"MedicationAdministration", "performer", "Performer", "by whom"},
	{"MedicationAdministration", "device", "Reference", "with what"},
	{"MedicationAdministration", "dosage", "Dosage", "how much"},
	{"Dosage", "dose rateQuantity", "Quantity", "how much"},
	{"Dosage", "route", "CodeableConcept", "where to"},
	{"Provenance", "target", "Reference", "what it is about"},
	{"Provenance", "occurredPeriod", "Period", "when"},
	{"Provenance", "recorded", date, "when it was written down"},
	{"Provenance", "activity", "CodeableConcept", "created, corrected, withdrawn"},
	{"Provenance", "agent", "Agent", "by whom"},
	{"Provenance", "entity", "Entity", "that there is an entry in the log"},
	{"Agent", "type", "CodeableConcept", "author or assembler"},
	{"Agent", "who onBehalfOf", "Reference", "by whom"},
	{"Entity", "role", word, "required"},
	{"Entity", "what", "Reference", "required"},
	{"DiagnosticReport", "result", "Reference", "its values; the pages are dropped"},
	{"Composition", "type", "CodeableConcept", "required"},
	{"Composition", "date", date, "required"},
	{"Composition", "author", "Reference", "required"},
	{"Composition", "title", withheld, "required"},
	{"Composition", "section", "Section", "the records of a session"},
	{"Section", "entry", "Reference", "the records of a session"},
	{"CodeableConcept", "coding", "Coding", "codes of the tables"},
	{"CodeableConcept", "text", word, "words of the tables; others are withheld or dropped"},
	{"Coding", "system code display", word, "codes of the tables"},
	{"Quantity", "value", number, "as written"},
	{"Quantity", "comparator system", word, "as written"},
	{"Quantity", "unit code", unit, "UCUM without annotations, and its words"},
	{"Quantity", "extension", "Extension", "why there is no amount"},
	{"Extension", "url valueCode", word, "extensions of R4"},
	{"Extension", "valueCodeableConcept", "CodeableConcept", "the position of the body"},
	{"Period", "start end", date, "when"},
	{"Reference", "reference", target, "a name made by the key"},
	{"Reference", "type", word, "what is named"},
	{"Reference", "identifier", "Identifier", "a name made by the key"},
	{"Identifier", "system value", id, "a name made by the key"},
}

// copied are the resources that a copy has. A DocumentReference is a file of the
// log, and a QuestionnaireResponse is the log itself.
const copied = "Bundle Patient Device Procedure Observation MedicationAdministration Provenance DiagnosticReport Composition"

// elements are the rows of the table by "Type.element".
var elements = sync.OnceValue(func() map[string]string {
	out := map[string]string{}
	for _, row := range allowed {
		for _, of := range strings.Fields(row.of) {
			for _, element := range strings.Fields(row.elements) {
				out[of+"."+element] = row.as
			}
		}
	}
	return out
})

// words are codes and texts that are the same in every record: those of R4
// (4.0.1, resource definitions) and the fixed texts of our own.
const words = copied + ` POST PUT transaction collection document batch final preliminary amended corrected cancelled
entered-in-error unknown registered partial completed stopped not-done in-progress on-hold preparation
< <= >= > source male female other asked-unknown not-asked not-applicable not-performed not-a-number error
yes no ok done pseudonymous withheld conditional put none all first-last UTC session weeks report`

// texts are the fixed texts of records, by the mapper.
var texts = []string{
	narrated, generated,
	"urn:ietf:rfc:3986", profiles.UCUM, profiles.BodyPosition, profiles.AbsentExtension,
	"http://hl7.org/fhir/StructureDefinition/bp", "http://hl7.org/fhir/StructureDefinition/heartrate", "http://hl7.org/fhir/StructureDefinition/bodyweight",
	"http://hl7.org/fhir/StructureDefinition/bodytemp", "http://hl7.org/fhir/StructureDefinition/bodyheight", "http://hl7.org/fhir/StructureDefinition/vitalsigns",
	"Haemodialysis machine", "Body weight scales", "Blood pressure monitor", "Dialyser", "Dialysate batch", "Blood lines",
	"Software that read the log, computed and assembled the record", "Home haemodialysis session", "Self-administered treatment",
	"into the dialysis circuit", "by mouth", "Home haemodialysis: report for the visit", "cut short", "not done", "runsheet", "application/fhir+ndjson",
}

// vocabulary is what is the same in every record.
type vocabulary struct {
	words    map[string]bool
	displays map[string]bool // system|code and system|code|display
	methods  map[string]string
	units    map[string]bool // the words for a UCUM code, of those that differ
}

var known = sync.OnceValue(func() vocabulary {
	v := vocabulary{map[string]bool{}, map[string]bool{}, map[string]string{}, map[string]bool{}}
	put := func(texts ...string) {
		for _, text := range texts {
			v.words[text] = text != ""
		}
	}
	put(strings.Fields(words)...)
	put(texts...)
	codings := append(rules.KnownCodings(), profiles.Median, profiles.Minimum, profiles.Maximum, profiles.Count, profiles.TotalCount, profiles.OtherService,
		profiles.Coding{System: profiles.LOINC, Code: "87238-2", Display: "Dialysis Note"})
	for _, c := range codings {
		put(c.System, c.Code, c.Display)
		v.displays[c.String()], v.displays[c.String()+"|"+c.Display] = true, true
	}
	for _, m := range calc.Methods() {
		v.methods[m.ID] = m.Quantity
	}
	for _, m := range profiles.Measurements() {
		put(m.Text)
	}
	for _, p := range profiles.Pressures() {
		put(p.Text)
	}
	for _, u := range profiles.UnitsInWords() {
		v.units[u.Sent] = true
	}
	for _, r := range issue.Rules() {
		put(r.ID)
	}
	return v
})

// method reports whether a code is a method of the table, in any version.
func (v vocabulary) method(code string) bool {
	at := strings.LastIndexByte(code, '-')
	return at > 0 && v.methods[code[:at]] != "" && strings.Trim(code[at+1:], "0123456789") == ""
}

func (v vocabulary) has(text string) bool { return v.words[text] || v.method(text) }
