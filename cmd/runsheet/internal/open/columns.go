package open

import (
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"runsheet.example/cmd/runsheet/internal/steps"
	"runsheet.example/fhirmap/session"
	"runsheet.example/profiles"
)

// rowWords are what one row of a sheet is called, and the button for another.
var rowWords = map[session.Sheet]struct{ one, add string }{
	session.SheetChecks: {"Check {}", "Add a check"}, session.SheetReadings: {"Reading {}", "Add a reading"},
	session.SheetMedicines: {"Medicine {}", "Add a medicine"}, session.SheetEvents: {"Event {}", "Add an event"},
	session.SheetLabs: {"Result {}", "Add a result"},
}

// columnsOf are the columns of a step as the log has them: in the unit of its
// headings.
func columnsOf(step steps.Step, headings []string) []session.Column {
	written := map[session.Field][]session.Column{}
	for _, h := range headings {
		if c := session.Headed(step.Sheet, session.HeadingName(step.Sheet, h)); c.Name != "" {
			written[c.Field] = append(written[c.Field], c)
		}
	}
	var out []session.Column
	for _, c := range session.Columns {
		if step.Has(c) {
			out = append(out, inWritten(c, written[c.Field])...)
		}
	}
	return out
}

// inWritten is a column in the units that the log has it in: its own where the
// log has none, or another, or both.
func inWritten(c session.Column, written []session.Column) (out []session.Column) {
	own := false
	for _, w := range written {
		switch {
		case w.Name == c.Name:
			own = true
		case steps.Title(w) == steps.Title(c) && !slices.ContainsFunc(session.Columns, func(other session.Column) bool { return other.Sheet == w.Sheet && other.Name == w.Name }):
			w.Hint = ""
			out = append(out, w)
		}
	}
	if own || len(out) == 0 {
		out = append([]session.Column{c}, out...)
	}
	return out
}

// labelOf is the name of a column: the one that findings use, or its title.
func labelOf(c session.Column) string {
	if row, ok := profiles.RowOf(c.Field); ok && row.Name.English() != "" && c.Kind == session.KindNumber {
		return row.Name.English()
	}
	return steps.Title(c)
}

// upper begins a text with a capital letter.
func upper(text string) string {
	first, size := utf8.DecodeRuneInString(text)
	if first == utf8.RuneError {
		return text
	}
	return string(unicode.ToUpper(first)) + text[size:]
}

// sheetOfFile is the sheet of a file of the log.
func sheetOfFile(name string) session.Sheet {
	return session.Sheet(strings.TrimSuffix(strings.ToLower(name), ".csv"))
}
