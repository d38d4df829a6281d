package workbook

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"

	"runsheet.example/fhirmap/session"
	"runsheet.example/profiles"
)

// check puts the column's list of words or its limits on the cells to fill
// in. Nothing is refused: a program asks "keep it?" and the person decides,
// because a workbook that blocks one cell stops the whole entry.
func (w *writer) check(tab string, at int, c, shown session.Column) {
	letters := columnName(at)
	first := letters + strconv.Itoa(firstRow)
	v := excelize.NewDataValidation(true)
	v.SetSqref(first + ":" + letters + strconv.Itoa(lastRuledRow))
	words := choicesOf(c)
	switch {
	case c.Sheet != session.SheetSessions && c.Kind == session.KindID:
		v.SetSqrefDropList(fmt.Sprintf("'%s'!$A$%d:$A$%d", tabOf(session.SheetSessions), firstRow, lastRuledRow))
		v.SetError(excelize.DataValidationErrorStyleWarning, "Not in the list", "The Sessions sheet has no session of this name yet. Keep it anyway?")
	case c.Kind == session.KindText && len(words) > 0:
		w.do(v.SetDropList(words))
		v.SetError(excelize.DataValidationErrorStyleWarning, "Not in the list", "Other words than those of the list are taken as well. Keep yours?")
	case len(words) > 0:
		w.do(v.SetDropList(words))
		v.SetError(excelize.DataValidationErrorStyleWarning, "Not in the list", "The words for this column are: "+strings.Join(words, ", ")+". Keep yours anyway?")
	case c.Kind == session.KindNumber && c.Unit != "":
		numberCheck(v, first, c)
	default:
		if prompted(c) == "" {
			return
		}
	}
	if prompt := prompted(c); prompt != "" {
		v.SetInput(cut(shown.Title, maxPromptTitle), prompt)
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
func choicesOf(c session.Column) []string {
	switch {
	case c.Field == "test":
		var names []string
		for _, row := range profiles.Rows() {
			if row.Tests != nil {
				names = append(names, string(row.Field))
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
		return c.Choices
	}
}

// absences are the words for no value that a number column takes.
var absences = []string{"-", "?", "n/a", "not done"}

// numberCheck asks back when a number is outside the limits of the possible.
// The condition is written once for the first cell; programs move it down.
func numberCheck(v *excelize.DataValidation, first string, c session.Column) {
	limit, ok := profiles.LimitOf(string(c.Field))
	number := "ISNUMBER(" + first + ")"
	message := "This is not a number. If there is no value, leave the cell empty, or write not done or ?. Keep it anyway?"
	if ok && limit.Unit == c.Unit {
		low, high := shortestDecimal(limit.HardLow), shortestDecimal(limit.HardHigh)
		number = fmt.Sprintf("AND(ISNUMBER(%s),%s>=%s,%s<=%s)", first, first, low, first, high)
		message = fmt.Sprintf("Values here are between %s and %s. If there is none, leave the cell empty, or write not done or ?. Keep it anyway?", low, high)
	}
	var words []string
	for _, word := range absences {
		words = append(words, fmt.Sprintf(`%s="%s"`, first, word))
	}
	v.Type = "custom"
	v.Formula1 = escapeXML("OR(" + number + "," + strings.Join(words, ",") + ")")
	v.SetError(excelize.DataValidationErrorStyleWarning, "Please look again", message)
}

func escapeXML(formula string) string {
	return strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;").Replace(formula)
}

// prompted is the message beside a selected cell, for the few columns that
// people get wrong without it; everywhere else it would be in the way.
func prompted(c session.Column) string {
	switch c.Field {
	case "clock_change", "time_zone", "arterial_line_pressure", "treated_time":
		return sentence(c.Hint)
	case "session":
		if c.Sheet == session.SheetSessions {
			return sentence(c.Hint)
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
