package session

import "runsheet.example/profiles"

// The vocabulary of the log is that of the table of rows.
type (
	Field     = profiles.Field
	Sheet     = profiles.Sheet
	Kind      = profiles.Kind
	Column    = profiles.Column
	CheckKind = profiles.CheckKind
)

// The sheets of a log.
const (
	SheetSessions  = profiles.SheetSessions
	SheetChecks    = profiles.SheetChecks
	SheetReadings  = profiles.SheetReadings
	SheetMedicines = profiles.SheetMedicines
	SheetLabs      = profiles.SheetLabs
	SheetEvents    = profiles.SheetEvents
	SheetAnswers   = profiles.SheetAnswers
)

// The kinds of column.
const (
	KindNumber = profiles.KindNumber
	KindText   = profiles.KindText
	KindChoice = profiles.KindChoice
	KindDate   = profiles.KindDate
	KindTime   = profiles.KindTime
	KindID     = profiles.KindID
	KindUnit   = profiles.KindUnit
)

// Columns is every column of the log, in the order the template writes them.
var Columns = profiles.Columns()
