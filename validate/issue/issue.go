// Package issue defines the finding, the type with which every reader and
// every engine of Runsheet reports a fault, and the table of all rules
// ([Rules]).
//
// A finding has a place (document, line and column, a FHIRPath expression to a
// single node, the log cell it came from), what was seen, what was expected
// and how to mend it. Details never holds a value the person entered; Value
// may, and is shown only in the user's own terminal or requested report.
//
// The package imports only package profiles of Runsheet, so that the reader of
// the log and the validator of FHIR both use it and do not import each other.
package issue

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"
)

// Severity is how much a finding matters. The zero value is Information.
type Severity uint8

const (
	// Information tells the user something that needs no action, for
	// instance that a binding was not checked.
	Information Severity = iota
	// Warning marks what is implausible or incomplete but can be sent.
	Warning
	// Error marks what is impossible or breaks a standard: the session or
	// resource it is in must not be delivered.
	Error
)

// String returns the FHIR R4 issue-severity code.
func (s Severity) String() string {
	switch s {
	case Error:
		return "error"
	case Warning:
		return "warning"
	default:
		return "information"
	}
}

// MarshalText writes the FHIR R4 issue-severity code.
func (s Severity) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// UnmarshalText reads the FHIR R4 issue-severity code.
func (s *Severity) UnmarshalText(text []byte) error {
	switch string(text) {
	case "error", "fatal":
		*s = Error
	case "warning":
		*s = Warning
	case "information":
		*s = Information
	default:
		return fmt.Errorf("severity %q: expected error, warning or information", text)
	}
	return nil
}

// Cell is a place in the log a value was written in.
type Cell struct {
	// File is the path of the file relative to the log folder, with forward
	// slashes; for a workbook, the workbook's base name.
	File string `json:"file"`
	// Sheet is the sheet's name in a workbook, empty for a CSV file.
	Sheet string `json:"sheet,omitempty"`
	// Row and Column count from 1 as a spreadsheet shows them; the heading
	// row of a CSV file is row 1. Zero means the whole file or row.
	Row    int `json:"row,omitempty"`
	Column int `json:"column,omitempty"`
	// Heading is the column's heading as written, or the key in log.toml.
	Heading string `json:"heading,omitempty"`
}

// IsZero reports whether the cell names no place at all.
func (c Cell) IsZero() bool { return c == Cell{} }

// String writes the place as people name it: "readings.csv D7 (time)".
func (c Cell) String() string { return c.in("row", "column") }

func (c Cell) in(row, column string) string {
	if c.IsZero() {
		return ""
	}
	s := c.File
	if c.Sheet != "" {
		s += " " + c.Sheet
	}
	switch {
	case c.Row > 0 && c.Column > 0:
		s += fmt.Sprintf(" %s%d", ColumnLetters(c.Column), c.Row)
	case c.Row > 0:
		s += fmt.Sprintf(" %s %d", row, c.Row)
	case c.Column > 0:
		s += " " + column + " " + ColumnLetters(c.Column)
	}
	if c.Heading != "" {
		s += " (" + c.Heading + ")"
	}
	return s
}

// ColumnLetters writes a column number, counted from 1, as spreadsheets do:
// 1 is A, 27 is AA. It returns "" for a number below 1.
func ColumnLetters(n int) string {
	var letters []byte
	for ; n > 0; n = (n - 1) / 26 {
		letters = append(letters, byte('A'+(n-1)%26))
	}
	slices.Reverse(letters)
	return string(letters)
}

// Finding is one fault or notice that a reader or an engine reports.
type Finding struct {
	// Rule is the stable id of the rule in [Rules].
	Rule     string   `json:"rule"`
	Severity Severity `json:"severity"`
	// File is the document the finding is in, as the user named it.
	File string `json:"file,omitempty"`
	// Line and Column count from 1 in the document; Column counts bytes.
	// Zero means the document as a whole.
	Line   int `json:"line,omitempty"`
	Column int `json:"column,omitempty"`
	// Expression is a FHIRPath expression that resolves to a single node,
	// rooted at the outermost resource, or "" for a finding in a log.
	Expression string `json:"expression,omitempty"`
	// Cells are the log cells the finding is about, the first one the place
	// to mend.
	Cells []Cell `json:"cells,omitempty"`
	// Session is the session id as the log gives it, or "".
	Session string `json:"session,omitempty"`
	// Details describes the fault in plain words, lower case, no full stop,
	// and without any value from the log.
	Details Text `json:"details"`
	// Value is what was seen, as written.
	Value string `json:"value,omitempty"`
	// Counted is set where Value is not written in the log but counted in it:
	// Value as a text that can be translated.
	Counted Text `json:"-"`
	// Expected is what would have been right.
	Expected Text `json:"expected,omitzero"`
	// Mend is what to do about it; never done silently.
	Mend Text `json:"mend,omitzero"`
	// Accepted says who accepts the finding and why, nil when nobody does.
	Accepted *Acceptance `json:"accepted,omitempty"`
}

// SetCounted sets Value to what was counted in the log.
func (f *Finding) SetCounted(t Text) { f.Counted, f.Value = t, t.String() }

// Acceptance is somebody's decision that a finding may stay: the unit's, until a
// day, or the answer of the person who keeps the log.
type Acceptance struct {
	Reason string `json:"reason"`
	// Until is the last day on which it holds, as YYYY-MM-DD; "" for an answer.
	Until string `json:"until,omitempty"`
	By    string `json:"by,omitempty"`
	// Answered is the day of an answer as YYYY-MM-DD, or "unknown"; "" for the
	// decision of a unit.
	Answered string `json:"answered,omitempty"`
}

// Word is what a finding is that somebody accepts.
func (a *Acceptance) Word() string {
	if a.Answered != "" {
		return "answered"
	}
	return "accepted"
}

// Text is the acceptance as people read it after its word.
func (a *Acceptance) Text() Text {
	day, err := time.Parse(time.DateOnly, a.Answered)
	switch {
	case a.Answered == "":
		return Literal("until " + a.Until + " by " + a.By + ": " + a.Reason)
	case err != nil:
		return Literal(a.Reason)
	default:
		return T("on {}: {}", Date(day), a.Reason)
	}
}

// String writes the acceptance in English.
func (a *Acceptance) String() string { return a.Text().String() }

// Counts reports whether a finding of this severity decides about the whole: it
// is not accepted.
func (f *Finding) Counts(s Severity) bool { return f.Severity == s && f.Accepted == nil }

// Entry returns the index of the entry of the outermost Bundle that the finding
// is in; ok is false where it is in none.
func (f *Finding) Entry() (at int, ok bool) {
	rest, inEntry := strings.CutPrefix(f.Expression, "Bundle.entry[")
	digits, _, isClosed := strings.Cut(rest, "]")
	at, err := strconv.Atoi(digits)
	return at, inEntry && isClosed && err == nil
}

// Seen is the finding with what was seen and what was expected.
func (f Finding) Seen(value string, expected Text) Finding {
	f.Value, f.Expected = value, expected
	return f
}

// At returns a finding of the given rule with the severity and mend the rules
// table gives it. It panics when the rule is not in the table: that is a
// mistake of the programmer, never of the input.
func At(rule string) Finding {
	r, ok := Lookup(rule)
	if !ok {
		panic("issue: no rule " + rule)
	}
	return Finding{Rule: r.ID, Severity: r.Severity, Mend: T(r.Mend)}
}

// Count counts the findings of each severity without accepted ones.
func Count(findings []Finding) (errors, warnings, information int) {
	for i := range findings {
		switch f := &findings[i]; {
		case f.Accepted != nil:
		case f.Severity == Error:
			errors++
		case f.Severity == Warning:
			warnings++
		default:
			information++
		}
	}
	return errors, warnings, information
}

// HasErrors reports whether any finding is an error that is not accepted.
func HasErrors(findings []Finding) bool {
	return slices.ContainsFunc(findings, func(f Finding) bool { return f.Counts(Error) })
}

// Sort orders findings by document, line, column, cell, expression and rule,
// so that the same input always gives the same report.
func Sort(findings []Finding) {
	slices.SortStableFunc(findings, func(a, b Finding) int {
		if order := cmp.Or(
			cmp.Compare(a.File, b.File),
			cmp.Compare(a.Line, b.Line),
			cmp.Compare(a.Column, b.Column),
			compareCells(a.Cells, b.Cells),
			cmp.Compare(a.Expression, b.Expression),
			cmp.Compare(a.Rule, b.Rule),
		); order != 0 {
			return order
		}
		return cmp.Compare(a.Details.String(), b.Details.String())
	})
}

func compareCells(a, b []Cell) int {
	return slices.CompareFunc(a, b, func(x, y Cell) int {
		return cmp.Or(
			cmp.Compare(x.File, y.File),
			cmp.Compare(x.Sheet, y.Sheet),
			cmp.Compare(x.Row, y.Row),
			cmp.Compare(x.Column, y.Column),
		)
	})
}

// Plural writes a count with its noun: "1 session", "3 sessions".
func Plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return strconv.Itoa(n) + " " + many
}
