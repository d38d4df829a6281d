// Package steps holds the order of a treatment in which a log is shown to the
// person who fills it in, on a page or on paper. A workbook has one sheet for
// each kind of entry instead.
package steps

import (
	"slices"

	"runsheet.example/fhirmap/session"
	"runsheet.example/profiles"
)

// Step is a part of the treatment: columns of the sheet of sessions, or the
// rows of another sheet.
type Step struct {
	ID string
	// Title is its English heading, a key of the catalogue.
	Title string
	Sheet profiles.Sheet
}

// All are the steps in their order.
var All = []Step{
	{"plan", "The treatment", profiles.SheetSessions},
	{"checks", "Before you start", profiles.SheetChecks},
	{"before", "Before", profiles.SheetSessions},
	{"start", "Start", profiles.SheetSessions},
	{"readings", "Readings", profiles.SheetReadings},
	{"during", "During the treatment", profiles.SheetSessions},
	{"end", "End", profiles.SheetSessions},
	{"after", "After", profiles.SheetSessions},
	{"medicines", "Medicines", profiles.SheetMedicines},
	{"events", "Alarms, symptoms and other events", profiles.SheetEvents},
	{"labs", "Blood results", profiles.SheetLabs},
	{"notes", "How it went", profiles.SheetSessions},
}

// Sheets are the sheets of the steps, each once, in their order.
func Sheets() (sheets []profiles.Sheet) {
	for _, s := range All {
		if !slices.Contains(sheets, s.Sheet) {
			sheets = append(sheets, s.Sheet)
		}
	}
	return sheets
}

// SheetTitle is the title of the first step of a sheet, "" for a sheet of none.
func SheetTitle(sheet profiles.Sheet) string {
	for _, s := range All {
		if s.Sheet == sheet {
			return s.Title
		}
	}
	return ""
}

// stepOf is the step of a session's column, where it is not that of its part.
var stepOf = map[profiles.Field]string{
	"start": "start", "end": "end", "uf_goal": "start", "dry_weight": "after",
	"drinks": "during", "saline": "during", "urine": "during",
	"dialysate_volume": "end", "blood_processed": "end", "treated_time": "end",
	"access": "start", "arterial_needle_site": "start", "venous_needle_site": "start", "needling": "start",
	"needle_gauge": "start", "first_try": "start", "needle_problems": "start", "time_zone": "plan", "prescription": "plan",
}

var stepOfPart = [...]string{
	profiles.PartPlan: "plan", profiles.PartBefore: "before", profiles.PartAfter: "after",
	profiles.PartFluid: "end", profiles.PartMachine: "start", profiles.PartOther: "notes",
}

// Has reports whether a column is shown in the step. The session's key is not.
func (s Step) Has(c profiles.Column) bool {
	if c.Sheet != s.Sheet || c.Name == "session" {
		return false
	}
	if s.Sheet != profiles.SheetSessions {
		return true
	}
	if id, ok := stepOf[c.Field]; ok {
		return id == s.ID
	}
	return stepOfPart[c.Part] == s.ID
}

// Title is the title of a column without its unit.
func Title(c profiles.Column) string {
	title, _ := session.Words(c)
	return title
}

// Unit is the unit of a column of numbers as people write it, empty for other
// columns.
func Unit(c profiles.Column) string {
	if c.Kind != profiles.KindNumber {
		return ""
	}
	_, unit := session.Words(c)
	return unit
}
