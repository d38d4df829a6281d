package workbook

import (
	"strings"

	"github.com/xuri/excelize/v2"

	"runsheet.example/profiles"
	"runsheet.example/validate/issue"
)

// summaryColumns are the columns of the list of findings.
var summaryColumns = []struct {
	heading string
	width   float64
}{
	{"", 11}, {"Where", 18}, {"Session", 14}, {"What", 44}, {"You wrote", 18}, {"Expected", 24}, {"What to do", 44}, {"Rule", 22},
}

// safety is the text under every list of findings.
const safety = "Found by software in what was entered by the patient; not verified by a clinician. Not a medical device and not for changing treatment: follow the prescription, local policy and the care team."

// summary writes the list of findings as the first sheet.
func (a *annotator) summary(findings []issue.Finding) {
	if a.has(sheetFindings) {
		a.do(a.file.DeleteSheet(sheetFindings)) // of an earlier copy
	}
	a.firstSheet(sheetFindings)
	a.makeStyles()
	a.text(sheetFindings, 1, 1, a.say("Findings"), a.styles.title)
	a.text(sheetFindings, 1, 2, a.counted(findings), a.styles.lead)
	a.text(sheetFindings, 1, 3, a.say(safety), a.styles.name)
	for i, c := range summaryColumns {
		letters := columnName(i + 1)
		a.do(a.file.SetColWidth(sheetFindings, letters, letters, c.width))
		a.text(sheetFindings, i+1, summaryHead, a.say(c.heading), a.styles.heading[profiles.PartPlan])
	}
	for i, f := range findings {
		a.summaryRow(summaryHead+1+i, f)
	}
	a.do(a.file.SetPanes(sheetFindings, &excelize.Panes{Freeze: true, YSplit: summaryHead, TopLeftCell: cellName(1, summaryHead+1), ActivePane: "bottomLeft"}))
	a.page(sheetFindings, "landscape", 0)
	if index, err := a.file.GetSheetIndex(sheetFindings); err == nil {
		a.file.SetActiveSheet(index)
	}
}

// firstSheet adds a sheet before all others. The names that belong to sheets,
// such as their repeated headings, go by the number of the sheet and have to
// be moved along.
func (a *annotator) firstSheet(name string) {
	first := a.file.GetSheetList()[0]
	a.newSheet(name)
	a.do(a.file.MoveSheet(name, first))
	if names := a.file.WorkBook.DefinedNames; names != nil {
		for i := range names.DefinedName {
			if at := names.DefinedName[i].LocalSheetID; at != nil {
				*at++
			}
		}
	}
}

// summaryHead is the row of headings of the list.
const summaryHead = 4

func (a *annotator) summaryRow(row int, f issue.Finding) {
	cells := []string{a.say(kindOf(f)), "", f.Session, sentence(f.Details.String()), f.Value, f.Expected.String(), sentence(f.Mend.String()), f.Rule}
	if len(f.Cells) > 0 {
		cells[1] = a.where(f.Cells[0])
	}
	lines := 1
	for i, text := range cells {
		a.text(sheetFindings, i+1, row, text, a.styles.answer.typed)
		lines = max(lines, linesOf(text, summaryColumns[i].width, a.size()))
	}
	a.grow(sheetFindings, row, lines)
	if p, ok := placeOf(f); ok && a.has(p.sheet) {
		target := "'" + strings.ReplaceAll(p.sheet, "'", "''") + "'!" + cellName(p.column, p.row)
		a.do(a.file.SetCellHyperLink(sheetFindings, cellName(2, row), target, "Location"))
	}
}

// counted is the text with the number of findings of each kind.
func (a *annotator) counted(findings []issue.Finding) string {
	errors, warnings, notes := issue.Count(findings)
	if errors+warnings+notes == 0 {
		return a.say("Nothing to look at.")
	}
	return a.say("{} to mend, {} to look at, {} to know", errors, warnings, notes)
}
