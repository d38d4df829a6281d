package profiles

// Sheet names one file of the log (without ".csv") or one sheet of a workbook.
type Sheet string

// The sheets of a log.
const (
	SheetSessions  Sheet = "sessions"
	SheetChecks    Sheet = "checks"
	SheetReadings  Sheet = "readings"
	SheetMedicines Sheet = "medicines"
	SheetLabs      Sheet = "labs"
	SheetEvents    Sheet = "events"
	// SheetAnswers holds what the person says to findings. An empty log has none.
	SheetAnswers Sheet = "answers"
)

// Kind is how a column's cells are read.
type Kind uint8

// The kinds of column.
const (
	KindNumber Kind = iota
	KindText
	KindChoice
	KindDate
	KindTime
	KindID
	KindUnit // the unit of a number in the same row
)

// Part is the part of a treatment that a column belongs to. Columns of one
// part have one colour in the heading of a workbook.
type Part uint8

// The parts.
const (
	PartPlan Part = iota
	PartBefore
	PartAfter
	PartFluid
	PartMachine
	PartOther
)

// Filled is how many people fill a column in (common practice). It decides
// which columns a workbook shows at first; hidden ones can be opened with the
// plus sign above the sheet, and are read whether shown or not.
type Filled uint8

// The shares of people.
const (
	ByAll Filled = iota // also shown in large print
	ByMost
	BySome // hidden at first
)

// Column is one column of the log.
type Column struct {
	Sheet Sheet
	// Name is the heading as written in a log: lower case, unit in the name.
	Name  string
	Field Field
	Kind  Kind
	// Unit is the UCUM code the column's numbers are written in; empty for a
	// column that is no number or whose unit is in another column.
	Unit string
	// Choices are the accepted texts of a KindChoice column; of a KindText
	// column they are an offer, and any other text is taken as well.
	Choices []string
	// Required columns must be in the file; others may be left out.
	Required bool
	// Hint is one plain sentence for the person who fills the log in.
	Hint string
	// Title is the heading in a workbook. Titles of a sheet differ, so that
	// one whose hidden row of names is gone can still be read.
	Title  string
	Part   Part
	Filled Filled
	Width  float64 // in a workbook, in characters
}

// Holds reports whether a column is the one of its sheet that a value of its
// field belongs to: the one with the value's unit, or the first when none has
// it, so that going through all columns meets every value once.
func (c Column) Holds(unit string) bool {
	first := ""
	for _, other := range columns {
		if other.Sheet != c.Sheet || other.Field != c.Field {
			continue
		}
		if other.Unit == unit {
			return c.Unit == unit
		}
		if first == "" {
			first = other.Name
		}
	}
	return c.Name == first
}
