package session

import (
	"cmp"
	"math"
	"regexp"
	"slices"
	"strings"
	"sync"
	"unicode"

	"runsheet.example/validate/issue"
)

// absenceOf recognises the texts that mean no value. Blank and a dash mean
// that nothing was written down.
func absenceOf(text string) (Absence, bool) {
	if len(text) > longestAbsence || text != "" && text[0] >= '0' && text[0] <= '9' {
		return Present, false // most cells, without the cost of the comparison
	}
	if absence, ok := absences()[plainWords(text)]; ok {
		return absence, true
	}
	return Present, false
}

// longestAbsence is more than the bytes of any word for no value, with spaces.
const longestAbsence = 20

// absences are the words for no value, in each language.
var absences = sync.OnceValue(func() map[string]Absence {
	words := map[string]Absence{
		"": NotRecorded, "-": NotRecorded, "\u2013": NotRecorded, "\u2014": NotRecorded, "\u2212": NotRecorded,
		"n/a": NotApplicable, "na": NotApplicable, "n.a.": NotApplicable, "?": AskedUnknown, "not done": NotDone, "not_done": NotDone,
	}
	for _, tag := range issue.Languages() {
		words[plainWords(issue.Language(tag).Text(issue.T("not measured")))] = NotDone
		words[plainWords(issue.Language(tag).Text(issue.T("does not apply")))] = NotApplicable
	}
	return words
})

// number reads a number cell of the current row. unit is the UCUM code of the
// number; allowSign lets a laboratory result be "<0.5".
func (s *sheetReader) number(c boundColumn, unit string, allowSign bool) Value {
	text := s.text(c.position)
	v := Value{Text: text, Unit: unit, Cell: s.spot(c.position).cell}
	var absent bool
	if v.Absence, absent = s.absence(c.position); absent {
		return v
	}
	r := s.readNumber(c, text)
	if r.ok && r.comparator != "" && !allowSign {
		r.ok, r.rule = false, "log-comparator"
		r.details = "a measured number has no sign before it that means more or less than"
	}
	if r.rule == "log-number" {
		r = s.twoPressures(c, text, r)
	}
	if r.rule != "" {
		s.complain(c.position, r.rule, r.details, text, r.expected)
	}
	if !r.ok {
		v.Absence = Unreadable
		return v
	}
	v.Decimal, v.Comparator = r.decimal, r.comparator
	s.noteConversion(c, v)
	return v
}

var pressureOver = regexp.MustCompile(`^(\d{2,3})\s*[/\\]\s*(\d{2,3})$`)

// twoPressures says of a blood pressure written in one cell, higher number
// first, which of the two belongs there and where the other goes.
func (s *sheetReader) twoPressures(c boundColumn, text string, r numberReading) numberReading {
	m := pressureOver.FindStringSubmatch(text)
	if m == nil || !strings.Contains(string(c.Field), "bp_") {
		return r
	}
	r.rule, r.details = "log-two-numbers", "these are two numbers in one cell"
	name := strings.NewReplacer("systolic", "diastolic", "diastolic", "systolic").Replace(string(c.Field))
	other, ok := s.column(Field(name))
	higher := strings.HasSuffix(string(c.Field), "systolic")
	switch {
	case ok && higher && other.position == c.position+1:
		r.expected = issue.T("{} here and {} in the next column", m[1], m[2])
	case ok && higher:
		r.expected = issue.T("{} here and {} in the column for the lower number", m[1], m[2])
	case ok:
		r.expected = issue.T("{} here and {} in the column for the higher number", m[2], m[1])
	}
	return r
}

func (s *sheetReader) readNumber(c boundColumn, text string) numberReading {
	if c.written.code != "" {
		return s.numberWritten(c, text)
	}
	return readNumber(text, s.markOf(c.position), c.Unit)
}

// words reads a free-text cell.
func (s *sheetReader) words(c boundColumn) Text {
	text := s.text(c.position)
	t := Text{Text: text, Cell: s.spot(c.position).cell}
	t.Absence, _ = s.absence(c.position)
	if len(text) > maxCell {
		s.add(s.spot(c.position).finding("log-too-large", "the cell holds more text than a cell can; a quotation mark may never be closed"))
		t.Absence = Unreadable
	}
	if !isPlain(text) {
		s.add(s.spot(c.position).finding("log-control", controlSeen))
		t.Absence = Unreadable
	}
	return t
}

const controlSeen = "the cell holds a control character, which is not text"

// isPlain reports whether a text has no control characters but tab and line ends.
func isPlain(text string) bool {
	return !strings.ContainsFunc(text, func(r rune) bool {
		return unicode.IsControl(r) && r != '\t' && r != '\n' && r != '\r'
	})
}

// choice reads a cell that holds one of the listed words, in any case; the
// text becomes the listed spelling. A column of text takes any other word as well, and
// one that looks like a listed word gives a warning.
func (s *sheetReader) choice(c boundColumn) Text {
	t := Text{Text: s.text(c.position), Cell: s.spot(c.position).cell}
	plain := plainWords(t.Text)
	at := slices.IndexFunc(c.Choices, func(choice string) bool { return strings.ToLower(choice) == plain })
	if at >= 0 {
		t.Text, t.Absence = c.Choices[at], Present
		return t
	}
	var absent bool
	if t.Absence, absent = s.absence(c.position); absent {
		return t
	}
	if choice, ok := Chosen(c.Choices, t.Text); ok {
		t.Text, t.Absence = choice, Present
		return t
	}
	near, other := Nearest(plain, c.Choices), s.ofOtherColumn(plain)
	f := s.spot(c.position).finding("log-choice", "this is not one of the words for this column")
	if c.Kind == KindText {
		if t = s.words(c); !t.OK() || len(near) < likely && other == "" || checkKind(t.Text).Field != OwnCheck {
			return t
		}
		f = s.spot(c.position).finding("log-choice", "this looks like a word for another cell or a misspelt one; it is kept as written")
		f.Severity = issue.Warning
	} else {
		near = cmp.Or(near, within(plain, c.Choices))
		t.Absence = Unreadable
	}
	f.Value, f.Expected = t.Text, issue.Literal(cmp.Or(near, strings.Join(c.Choices, ", ")))
	if near == "" && other != "" {
		f.Expected = issue.T("{}; {} is a word for the column {}", strings.Join(c.Choices, ", "), plain, other)
	}
	s.add(f)
	return t
}

// likely is how many letters a word has that is not written for another one by chance.
const likely = 4

// within is the only choice of several words that has this word, "" for none.
func within(word string, choices []string) (found string) {
	for _, choice := range choices {
		if slices.Contains(strings.Fields(choice), word) {
			if found != "" {
				return ""
			}
			found = choice
		}
	}
	return found
}

// ofOtherColumn is another column of the sheet that has a text among its words.
func (s *sheetReader) ofOtherColumn(text string) string {
	for _, c := range s.columns {
		if slices.Contains(c.Choices, text) {
			return c.Name
		}
	}
	return ""
}

// column finds a column of the file by its field.
func (s *sheetReader) column(field Field) (boundColumn, bool) {
	for _, c := range s.columns {
		if c.Field == field {
			return c, true
		}
	}
	return boundColumn{}, false
}

// require reports an absent cell that the row cannot do without.
func (s *sheetReader) require(field Field, absence Absence, details string) {
	if absence != Present && absence != Unreadable {
		s.missing("log-cell-missing", field, details)
	}
}

// missing reports a cell of the row that holds nothing.
func (s *sheetReader) missing(rule string, field Field, details string) {
	s.add(s.lacking(rule, field, details))
}

// lacking is a finding about a cell that is empty.
func (s *sheetReader) lacking(rule string, field Field, details string) issue.Finding {
	at := s.rowSpot()
	if c, ok := s.column(field); ok {
		at = s.spot(c.position)
	}
	return at.finding(rule, details)
}

// put stores a value under its field; a second column of the same field, in
// another unit, must agree with the first.
func (s *sheetReader) put(values map[Field]Value, c boundColumn, v Value) {
	first, twice := values[c.Field]
	switch {
	case !twice || !first.OK() && (v.OK() || first.Absence == NotRecorded && v.Text != ""):
		values[c.Field] = v
	case v.OK() && first.OK():
		s.compareUnits(c, first, v)
	}
}

// sameWithin is how far a flow in mL/min and the same flow in L/h may be
// apart by rounding on the machine's display.
const sameWithin = 0.05

// compareUnits reports two values of one field in two units: harmless when
// they say the same, an error when they do not. Flows are two displays of a
// machine; other values may be apart by the rounding of their last digits.
func (s *sheetReader) compareUnits(c boundColumn, first, second Value) {
	a, within := inOneUnit(first)
	b, rounding := inOneUnit(second)
	if within += rounding; strings.Contains(first.Unit, "/") {
		within = sameWithin * a
	}
	f := s.spot(c.position).finding("log-two-values", "this and the column with the other unit do not say the same")
	if a-b <= within && b-a <= within {
		f.Severity, f.Mend = issue.Information, issue.Text{}
		f.Details = issue.T("this and the column with the other unit say the same; the other one is sent")
	}
	f.Cells = append(f.Cells, first.Cell)
	f.Value = second.Text
	s.add(f)
}

// inOneUnit is a number and half of its last digit in L/h, kg, L or °C.
func inOneUnit(v Value) (number, rounding float64) {
	factor, offset := factorOf(v.Unit)
	return (v.Decimal.Float64() + offset) * factor, factor / 2 * math.Pow10(-v.Decimal.decimals())
}

// factorOf is what a number and an offset to it are multiplied with, for the
// quantities that have two columns. The pound is exact by definition (1959).
func factorOf(unit string) (factor, offset float64) {
	switch unit {
	case "mL/min":
		return 60.0 / 1000, 0
	case "mL/h", "mL":
		return 1.0 / 1000, 0
	case "[lb_av]":
		return 0.45359237, 0
	case "[degF]":
		return 5.0 / 9, -32
	default:
		return 1, 0
	}
}
