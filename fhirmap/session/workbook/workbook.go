// Package workbook writes and reads a home haemodialysis log as one XLSX
// workbook (ECMA-376), with a sheet for each file that a log folder has.
//
// [Bytes] makes the workbook that a person fills in; [Read] reads one back
// into the session model through the same rows and rules as CSV files;
// [Annotate] writes a copy with each finding at its cell. A workbook has no
// macros, no formulas of ours and nothing personal that was not typed into it.
//
// # What a number cell says
//
// A workbook stores 72.0 as the binary number 72 and keeps the ".0" only in
// the cell's number format. What is read is therefore the shortest decimal
// that is the stored number, with the zeros that a format of fixed decimals
// shows added at the end. No digit is ever dropped: 72.65 in a cell formatted to
// show 72.7 is read as 72.65, and a finding reports it. A unit that the format
// shows after the number is part of the cell's text: 158 shown as "158 lb" is no
// number of kilograms. A cell formatted as text is read as typed.
//
// # Formulas
//
// A formula is read as the value stored when the workbook was saved, rounded to
// 12 digits, and a finding reports it; one never calculated has no value.
//
// # Limits
//
// A log keeps within the limits of package session. A workbook is held in
// memory, and so must keep to 50 000 rows with content and 2 000 000
// cells on a sheet, and to 100 MB unpacked, which the list of its parts says
// before anything is unpacked; no large part may unpack to more than 300 times
// its packed size. What is larger is refused.
//
// # What is read without the library that writes
//
// Cells, texts and formats are decoded from their parts with encoding/xml.
// Excelize gives a cell without a format the one of its column, and with it
// decimals that the cell does not show; it gives every cell of a merged range
// the value of the first, loses a cell whose reference names another row, and
// looks for shared texts and formats under fixed names only. It fills each row
// up to its last cell and each sheet up to its last row: 300 rows with a
// format in the last column take 940 MB.
//
// Before a copy is annotated, the parts with comments get the names that the
// library expects; the copy is read back to see that no comment is lost.
package workbook

import "runsheet.example/fhirmap/session"

// The sheets that are not tables of the log.
const (
	sheetGuide    = "Read me first"
	sheetAbout    = "About"
	sheetFindings = "What to look at"
)

// dataSheet is one table of the log and the name on its tab.
type dataSheet struct {
	sheet session.Sheet
	tab   string
}

// dataSheets are the tables in the order of their tabs, with the name on the
// tab. Names are compared without regard to case.
var dataSheets = []dataSheet{
	{session.SheetSessions, "Sessions"},
	{session.SheetChecks, "Before you start"},
	{session.SheetReadings, "Readings"},
	{session.SheetMedicines, "Medicines"},
	{session.SheetLabs, "Labs"},
	{session.SheetEvents, "Events"},
	{session.SheetAnswers, "Answers"},
}

// The rows of a data sheet that Write lays out.
const (
	titleRow = 1 // friendly headings
	nameRow  = 2 // the exact column names, hidden
	firstRow = 3 // the first row to fill in
	// lastRuledRow is how far choices and checks of a column reach.
	lastRuledRow = 5000
)
