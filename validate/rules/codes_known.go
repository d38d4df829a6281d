package rules

import (
	"slices"
	"strings"
	"sync"

	"runsheet.example/calc"
	"runsheet.example/profiles"
)

// entry holds the displays allowed for a code; none means any.
type entry struct{ displays []string }

func (e entry) has(text []byte) bool {
	for _, d := range e.displays {
		if d == string(text) {
			return true
		}
	}
	return len(e.displays) == 0
}

// allow adds a display and ignores an empty one.
func (e *entry) allow(display string) {
	if display != "" && !slices.Contains(e.displays, display) {
		e.displays = append(e.displays, display)
	}
}

func (e entry) first() string { return e.displays[0] }

// knownCodes maps "system|code" to every code of the tables.
var knownCodes = sync.OnceValue(func() map[string]entry {
	known := map[string]entry{}
	put := func(c profiles.Coding) {
		key := c.System + "|" + c.Code
		e := known[key]
		e.allow(c.Display)
		if term, _, tagged := strings.Cut(c.Display, " ("); tagged && c.System == profiles.SNOMED {
			e.allow(term) // a description without the semantic tag is official too
		}
		known[key] = e
	}
	for _, c := range profiles.RecordCodes() {
		put(c.Coding)
	}
	for _, p := range profiles.Pressures() {
		if p.Position.Code != "" {
			put(p.Position)
		}
	}
	for _, c := range []profiles.Category{profiles.VitalSigns, profiles.ProcedureC, profiles.Laboratory, profiles.Survey} {
		put(profiles.Coding{System: profiles.ObservationCategory, Code: string(c), Display: c.Display()})
	}
	for _, p := range []profiles.Phase{profiles.PhasePre, profiles.PhaseIntra, profiles.PhasePost} {
		c, _ := p.Coding()
		put(c)
	}
	for _, m := range calc.Methods() {
		put(profiles.Coding{System: profiles.Algorithm, Code: m.Code(), Display: m.Quantity})
	}
	for _, c := range plain {
		put(c)
	}
	return known
})

// KnownCodings lists the codes of the tables, once for each display; the methods
// in their latest version.
func KnownCodings() []profiles.Coding {
	var out []profiles.Coding
	for key, e := range knownCodes() {
		system, code, _ := cutLast(key, "|")
		out = append(out, profiles.Coding{System: system, Code: code})
		for _, display := range e.displays {
			out = append(out, profiles.Coding{System: system, Code: code, Display: display})
		}
	}
	return out
}

// plain are codes outside the tables of measurements: HL7's own (FHIR R4 4.0.1
// and HL7 Terminology 3.0, CC0) and SNOMED CT concepts of the Global Patient
// Set (September 2020, CC BY 4.0).
var plain = []profiles.Coding{
	profiles.Haemodialysis,
	profiles.TherapeuticProcedure,
	{System: profiles.SNOMED, Code: "372877000"}, // heparin; its display was not verified
	{System: profiles.SNOMED, Code: "33586001", Display: "Sitting position (finding)"},
	{System: profiles.SNOMED, Code: "55300003", Display: "Cramp (finding)"},
	{System: profiles.SNOMED, Code: "422587007", Display: "Nausea (finding)"},
	{System: profiles.SNOMED, Code: "422400008", Display: "Vomiting (disorder)"},
	{System: profiles.SNOMED, Code: "25064002", Display: "Headache (finding)"},
	{System: profiles.SNOMED, Code: "404640003", Display: "Dizziness (finding)"},
	{System: profiles.SNOMED, Code: "386661006", Display: "Fever (finding)"},
	{System: profiles.SNOMED, Code: "43724002", Display: "Chill (finding)"},
	{System: profiles.SNOMED, Code: "29857009", Display: "Chest pain (finding)"},
	{System: profiles.SNOMED, Code: "418363000", Display: "Itching of skin (finding)"},
	{System: profiles.ObservationValue, Code: "PATAST", Display: "patient asserted"},
	{System: profiles.DataOperation, Code: "CREATE", Display: "create"},
	{System: profiles.ParticipantType, Code: "author", Display: "Author"},
	{System: profiles.ParticipantType, Code: "assembler", Display: "Assembler"},
	{System: profiles.ParticipantType, Code: "informant", Display: "Informant"},
	{System: profiles.ParticipantType, Code: "enterer", Display: "Enterer"},
	{System: profiles.RouteOfAdmin, Code: "HEMOPORT", Display: "Injection, hemodialysis port"},
	{System: profiles.AdministrativeSex, Code: "male", Display: "Male"},
	{System: profiles.AdministrativeSex, Code: "female", Display: "Female"},
	{System: profiles.AdministrativeSex, Code: "other", Display: "Other"},
	{System: profiles.AdministrativeSex, Code: "unknown", Display: "Unknown"},
	{System: profiles.DataAbsentReason, Code: "unknown", Display: "Unknown"},
	{System: profiles.DataAbsentReason, Code: "asked-unknown", Display: "Asked But Unknown"},
	{System: profiles.DataAbsentReason, Code: "not-asked", Display: "Not Asked"},
	{System: profiles.DataAbsentReason, Code: "not-applicable", Display: "Not Applicable"},
	{System: profiles.DataAbsentReason, Code: "not-performed", Display: "Not Performed"},
	{System: profiles.DataAbsentReason, Code: "not-a-number", Display: "Not a Number (NaN)"},
	{System: profiles.DataAbsentReason, Code: "error", Display: "Error"},
}

// knownMethod reports whether a code is a known method in any version.
func knownMethod(code []byte) bool {
	id, _, ok := cutLast(string(code), "-")
	if !ok {
		return false
	}
	_, known := calc.MethodByID(id)
	return known
}

func cutLast(text, separator string) (before, after string, ok bool) {
	at := strings.LastIndex(text, separator)
	if at < 0 {
		return text, "", false
	}
	return text[:at], text[at+len(separator):], true
}
