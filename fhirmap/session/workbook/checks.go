package workbook

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode/utf16"

	"github.com/xuri/excelize/v2"

	"runsheet.example/fhirmap/session"
	"runsheet.example/profiles"
	"runsheet.example/validate/issue"
)

// check puts the column's list of words or its limits on the cells to fill
// in. Nothing is refused: a program asks "keep it?" and the person decides,
// because a workbook that blocks one cell stops the whole entry.
func (w *writer) check(tab string, at int, c, shown session.Column) {
	letters := columnName(at)
	first := letters + strconv.Itoa(firstRow)
	v := excelize.NewDataValidation(true)
	v.SetSqref(first + ":" + letters + strconv.Itoa(lastRuledRow))
	words := w.choicesOf(c)
	switch {
	case c.Sheet != session.SheetSessions && c.Kind == session.KindID:
		v.SetSqrefDropList(fmt.Sprintf("'%s'!$A$%d:$A$%d", tabOf(session.SheetSessions), firstRow, lastRuledRow))
		v.SetError(excelize.DataValidationErrorStyleWarning, w.say("Not in the list"), w.say("The Sessions sheet has no session of this name yet. Keep it anyway?"))
	case c.Kind == session.KindText && len(words) > 0:
		w.do(v.SetDropList(words))
		v.SetError(excelize.DataValidationErrorStyleWarning, w.say("Not in the list"), w.say("Other words than those of the list are taken as well. Keep yours?"))
	case len(words) > 0:
		w.do(v.SetDropList(words))
		v.SetError(excelize.DataValidationErrorStyleWarning, w.say("Not in the list"), w.say("The words for this column are: {}. Keep yours anyway?", strings.Join(words, ", ")))
	case c.Kind == session.KindNumber && c.Unit != "":
		w.numberCheck(v, first, c)
	default:
		if prompted(c) == "" {
			return
		}
	}
	if prompt := prompted(c); prompt != "" {
		v.SetInput(cut(session.TitleIn(w.opts.Language, shown), maxPromptTitle), sentence(w.say(prompt)))
	}
	w.do(w.file.AddDataValidation(tab, v))
}

// maxPromptTitle is the longest title of an input message.
const maxPromptTitle = 32

// tabOf is the name on the tab of a table.
func tabOf(sheet session.Sheet) string {
	for _, d := range dataSheets {
		if d.sheet == sheet {
			return d.tab
		}
	}
	return string(sheet)
}

// choicesOf are the words offered for a column. Units are an offer, not the
// whole list of what the log knows.
func (w *writer) choicesOf(c session.Column) []string {
	switch {
	case c.Field == "test":
		var names []string
		for _, row := range profiles.Rows() {
			if row.Tests != nil {
				names = append(names, w.testName(row))
			}
		}
		slices.Sort(names)
		for i, name := range names {
			switch name {
			case "bun", "crp", "pth":
				names[i] = strings.ToUpper(name)
			}
		}
		return names
	case c.Field == "dose_unit":
		return []string{"IU", "mg", "microgram", "mL", "g", "mmol"}
	case c.Field == "rate_unit":
		return []string{"IU/h", "mg/h", "mL/h"}
	case c.Sheet == session.SheetChecks && c.Kind == session.KindUnit:
		return []string{"mg/L", "ppm", "mmol/L", "mS/cm"}
	case c.Sheet == session.SheetLabs && c.Kind == session.KindUnit:
		return []string{"mmol/L", "mg/dL", "umol/L", "g/dL", "g/L", "mg/L", "ug/L", "pg/mL", "pmol/L"}
	default:
		words := w.sayAll(c.Choices)
		if len(utf16.Encode([]rune(strings.Join(words, ",")))) > maxList {
			return c.Choices // which the reader takes as well
		}
		return words
	}
}

// maxList is the longest list of words that a cell can offer (ECMA-376), in units
// of UTF-16.
const maxList = 255

// testName is the name of a laboratory test in the list of those offered.
func (w *writer) testName(row profiles.Row) string {
	name := row.Name.In(string(w.opts.Language))
	if field, ok := session.TestField(name); w.opts.Language != issue.English && ok && field == row.Field {
		return name
	}
	return string(row.Field)
}

// absences are the words for no value that a number column takes.
func (w *writer) absences() []string {
	words := []string{"-", "?", "n/a", "not done"}
	if done := w.say("not measured"); w.opts.Language != issue.English {
		words = append(words, done)
	}
	return words
}

// numberCheck asks back when a number is outside the limits of the possible.
// The condition is written once for the first cell; programs move it down.
func (w *writer) numberCheck(v *excelize.DataValidation, first string, c session.Column) {
	limit, ok := profiles.LimitOf(string(c.Field))
	number := "ISNUMBER(" + first + ")"
	message := w.say("This is not a number. If there is no value, leave the cell empty, or write not done or ?. Keep it anyway?")
	if ok && limit.Unit == c.Unit {
		low, high := shortestDecimal(limit.HardLow), shortestDecimal(limit.HardHigh)
		number = fmt.Sprintf("AND(ISNUMBER(%s),%s>=%s,%s<=%s)", first, first, low, first, high)
		message = w.say("Values here are between {} and {}. If there is none, leave the cell empty, or write not done or ?. Keep it anyway?", w.typedNumberOf(low), w.typedNumberOf(high))
	}
	var words []string
	for _, word := range w.absences() {
		words = append(words, fmt.Sprintf(`%s="%s"`, first, word))
	}
	v.Type = "custom"
	v.Formula1 = escapeXML("OR(" + number + "," + strings.Join(words, ",") + ")")
	v.SetError(excelize.DataValidationErrorStyleWarning, w.say("Please look again"), message)
}

// typedNumberOf is a number as it is typed in the language, with a hyphen.
func (w *writer) typedNumberOf(number string) string {
	return strings.Replace(number, ".", w.opts.Language.DecimalMark(), 1)
}

func escapeXML(formula string) string {
	return strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;").Replace(formula)
}

// prompted is the message beside a selected cell, for the few columns that
// people get wrong without it; everywhere else it would be in the way.
func prompted(c session.Column) string {
	switch c.Field {
	case "clock_change", "time_zone", "arterial_line_pressure", "treated_time":
		return c.Hint
	case "session":
		if c.Sheet == session.SheetSessions {
			return c.Hint
		}
	}
	return ""
}

func cut(text string, length int) string {
	if runes := []rune(text); len(runes) > length {
		return string(runes[:length])
	}
	return text
}
