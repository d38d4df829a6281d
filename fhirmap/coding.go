package fhirmap

import (
	"html"
	"strings"

	"runsheet.example/fhirmap/r4"
	"runsheet.example/fhirmap/session"
	"runsheet.example/profiles"
)

func coding(c profiles.Coding) r4.Coding {
	out := r4.Coding{System: ptr(c.System), Code: ptr(c.Code)}
	if c.Display != "" {
		out.Display = ptr(c.Display)
	}
	return out
}

func concept(text string, codings ...profiles.Coding) r4.CodeableConcept {
	out := r4.CodeableConcept{}
	if text != "" {
		out.Text = &text
	}
	for _, c := range codings {
		out.Coding = append(out.Coding, coding(c))
	}
	return out
}

// categories are the FHIR category and, if the phase is fixed, its SNOMED CT
// qualifier as a second one.
func categories(category profiles.Category, phase profiles.Phase) []r4.CodeableConcept {
	out := []r4.CodeableConcept{
		concept("", profiles.Coding{System: profiles.ObservationCategory, Code: string(category), Display: category.Display()}),
	}
	if c, ok := phase.Coding(); ok {
		out = append(out, concept("", c))
	}
	return out
}

// quantity returns a Quantity with the number as written. Its unit is the form
// for people, its code is UCUM.
//
// Decision 8. The unit written is the unit sent. Conversion happens in
// computations only and is shown there, so that a value can be compared with
// the log as written.
func quantity(number, ucum string) *r4.Quantity {
	return &r4.Quantity{
		Value: r4.Decimal(number), Unit: ptr(unitForPeople(ucum)),
		System: ptr(profiles.UCUM), Code: ptr(ucum),
	}
}

// unitForPeople converts a UCUM code to the form on a display or a run sheet.
func unitForPeople(ucum string) string { return profiles.UnitOf(ucum).Sent }

// withUnit formats a number with its unit for people; a ratio has none.
func withUnit(number, ucum string) string {
	if ucum == "1" {
		return number
	}
	return number + " " + unitForPeople(ucum)
}

// absent returns the reason of an absent value.
func absent(a session.Absence) *r4.CodeableConcept {
	code, display := "unknown", "Unknown"
	switch a {
	case session.NotDone:
		code, display = "not-performed", "Not Performed"
	case session.AskedUnknown:
		code, display = "asked-unknown", "Asked But Unknown"
	case session.NotApplicable:
		code, display = "not-applicable", "Not Applicable"
	case session.Unreadable:
		code, display = "error", "Error"
	}
	out := concept("", profiles.Coding{System: profiles.DataAbsentReason, Code: code, Display: display})
	return &out
}

// saysAbsent reports whether the person recorded an absence, as opposed to an
// empty cell.
func saysAbsent(a session.Absence) bool {
	return a == session.NotDone || a == session.AskedUnknown
}

// narrative is the generated text of a resource, one sentence for a person.
func narrative(sentence string) *r4.Narrative {
	return &r4.Narrative{
		Status: narrativeGenerated,
		Div:    `<div xmlns="http://www.w3.org/1999/xhtml">` + html.EscapeString(printable(sentence)) + `</div>`,
	}
}

// printable removes the control characters that XHTML does not allow.
func printable(s string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' && r != '\n' && r != '\t' || r == '\ufffe' || r == '\uffff' {
			return -1
		}
		return r
	}, s)
}
