// Package session is the model of a home haemodialysis log and its reader.
//
// The model keeps what the person wrote: every value carries its text, its
// exact decimal with the written precision, its unit, the kind of absence
// where there is none, and the cell it came from. Nothing is computed,
// corrected or guessed here; what cannot be read becomes a finding at its
// cell and leaves the value absent as [Unreadable].
//
// A log is a folder of CSV files beside a log.toml ([ReadFolder]), or one
// workbook with the same sheets (package workbook, [ReadBook]). Its columns
// are the table [Columns]; the empty log that a person fills in is written
// from the same table ([WriteTemplate]).
package session

import (
	"time"

	"runsheet.example/validate/issue"
)

// Log is one patient's log as read.
type Log struct {
	About About
	// Sessions are in the order of their start; sessions whose date could
	// not be read are last, in row order.
	Sessions []*Session
	// Sources are the files read, sorted by name.
	Sources []Source
	// Location is the log's time zone; nil when it could not be read.
	Location *time.Location
	// Answers are what the person says to findings, in the order of their rows.
	Answers []Answer
	// Today is the day the log was read on, zero when not known.
	Today time.Time
	// Tally counts the rows and cells of the sources.
	Tally Tally

	// sheetNames are the sheets by the file and tab that cells of them name.
	sheetNames map[fileTab]string
}

// Source is one file of the log.
type Source struct {
	// Name is the path relative to the log folder, with forward slashes.
	Name string
	// SHA256 is the lower-case hexadecimal digest of the file's bytes.
	SHA256 string
	// Encoding is "utf-8", "utf-16le", "utf-16be" or "windows-1252".
	Encoding string
	// Delimiter is the column separator of a CSV file, zero otherwise.
	Delimiter rune
	// DecimalMark is '.' or ',' as declared or seen, zero if no value had one.
	DecimalMark rune
	// Rows is how many data rows were read, without the heading.
	Rows int
	// Data are the file's bytes; nil for a file too large to be read.
	Data []byte
}

// Absence is why there is no value. The zero value is Present only
// together with a text; a field that has no column is NotRecorded.
type Absence uint8

const (
	// NotRecorded is a blank cell, "-", or a column that is not there.
	NotRecorded Absence = iota
	// Present means there is a value.
	Present
	// NotDone is "not done": the measurement was not performed.
	NotDone
	// AskedUnknown is "?": the person asked and it is not known.
	AskedUnknown
	// NotApplicable is "n/a".
	NotApplicable
	// Unreadable is a text that could not be understood; there is a finding.
	Unreadable
)

// Value is one entered number.
type Value struct {
	// Text is the cell as written, without surrounding white space.
	Text string
	// Decimal is the exact number, with the precision as written.
	Decimal Decimal
	// Comparator is "<", "<=", ">=" or ">" where the person wrote one before
	// a laboratory value, else "".
	Comparator string
	// Unit is the UCUM code of the unit the number is written in.
	Unit    string
	Absence Absence
	Cell    issue.Cell
	// UnitText is the cell of the unit, zero where that stands in the heading.
	UnitText Text
}

// OK reports whether there is a number.
func (v Value) OK() bool { return v.Absence == Present }

// Text is one entered text or choice.
type Text struct {
	Text    string
	Absence Absence
	Cell    issue.Cell
}

// OK reports whether there is a text.
func (t Text) OK() bool { return t.Absence == Present }

// Moment is one entered date or date and time.
type Moment struct {
	// Text is the cell as written.
	Text string
	// Time is the instant in the zone of the session or, of a day, local
	// midnight in the log's zone, so that days compare.
	Time time.Time
	// DateOnly means that no time of day was written.
	DateOnly bool
	Absence  Absence
	Cell     issue.Cell
}

// OK reports whether there is an instant or a date.
func (m Moment) OK() bool { return m.Absence == Present }

// Status is the outcome of a planned session.
type Status string

const (
	// Done is a session that ran to its planned end.
	Done Status = "done"
	// CutShort is a session that was ended early.
	CutShort Status = "cut short"
	// SkippedStatus is a planned session that did not take place.
	SkippedStatus Status = "not done"
)

// Session is one planned session: its row, and the rows of the other files
// that name it.
type Session struct {
	// ID is the stable id from the log, or one derived from date and ordinal
	// when the cell is empty (IDDerived).
	ID        string
	IDDerived bool
	// Cell is the first cell of the session's row, for findings about the
	// session as a whole.
	Cell   issue.Cell
	Date   Moment // the local calendar day of the start, DateOnly
	Start  Moment
	End    Moment
	Status Status // "" when it could not be read
	Reason Text
	// BeforeAt and AfterAt are when weight, pressure, pulse and temperature
	// before and after were taken; absent when not written.
	BeforeAt Moment
	AfterAt  Moment
	// Location is the zone that the times of the session and its rows are
	// written in: its own, or else the log's; nil when it could not be read.
	Location *time.Location
	// EnteredAt is when the person closed the entry; absent when not written.
	EnteredAt Moment
	// Values are the measured columns of the sessions file, by field.
	Values map[Field]Value
	// Texts are the free-text and choice columns of the sessions file.
	Texts     map[Field]Text
	Checks    []*Check
	Readings  []*Reading
	Medicines []*Medicine
	Labs      []*Lab
	Events    []*Event
	// Broken is set when the session has a finding at error level, in its
	// own row or in a row that belongs to it: it must not be exported.
	Broken bool
}

// Value returns the value of a field, absent when there is none.
func (s *Session) Value(f Field) Value { return s.Values[f] }

// Reading is one row of machine and vital-sign readings during a session.
type Reading struct {
	Ordinal int // 1-based, in row order within the session
	Cell    issue.Cell
	At      Moment
	Values  map[Field]Value
	Note    Text
}

// Value returns the value of a field, absent when there is none.
func (r *Reading) Value(f Field) Value { return r.Values[f] }

// Medicine is one administration.
type Medicine struct {
	Ordinal    int
	Cell       issue.Cell
	At         Moment
	Until      Moment // end of an infusion, absent for a bolus
	Name       Text
	CodeSystem Text // as supplied by the user; carried, never looked up
	Code       Text
	Dose       Value
	Rate       Value // infusion rate, unit e.g. [iU]/h
	Route      Text  // circuit, vein, skin, mouth, catheter lock, or as written
	Kind       Text  // anticoagulant, ESA, iron, other, or as written
}

// Lab is one laboratory value.
type Lab struct {
	Ordinal    int
	Cell       issue.Cell
	Drawn      Moment
	Day        Moment // the day written for it, in a column of its own
	When       Text   // before, after, or other
	Test       Text   // a field of [Tests], or the name as written; see [TestField]
	Value      Value
	Words      Text // the result and its unit where they are no number of a known unit
	Laboratory Text
}

// Event is one alarm, symptom or other happening.
type Event struct {
	Ordinal int
	Cell    issue.Cell
	At      Moment
	Kind    Text // alarm, symptom, access, needles, circuit, water, other
	What    Text
	// AlarmNumber is the number that the machine shows, as written.
	AlarmNumber Text
	Action      Text
}
