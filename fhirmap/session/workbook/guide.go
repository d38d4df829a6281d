package workbook

import "runsheet.example/fhirmap/session"

// guideLine is one line of the first sheet.
type guideLine struct {
	text string
	lead bool
}

// guideLines are the instructions, in the words of someone who has done it.
var guideLines = []guideLine{
	{"What is in this workbook", true},
	{"About: who you are and what the clinic prescribed. Fill it in once.", false},
	{"Sessions: one row for each treatment that was planned. This is the only sheet you must fill in.", false},
	{"Before you start: what you look at, test and use before a treatment. Leave it empty if you do not keep it.", false},
	{"Readings, Medicines, Labs, Events: what you read off, were given, had tested, and what happened.", false},

	{"How to begin", true},
	{"1. Go to About. Ask your clinic for your number there and the name of that numbering.", false},
	{"2. Go to Sessions. Give each treatment a short name that never changes, such as 2025-11-03a.", false},
	{"3. Use the same name on the other sheets. A list of names opens when you click the cell.", false},
	{"4. Save. Then run: runsheet check, and the name of this file.", false},

	{"More columns", true},
	{"Columns you may need less often are folded away. Click the + above the sheet to open them. Columns you do not use may stay empty. Do not change the headings.", false},

	{"Numbers", true},
	{"The unit is in the heading. Write only the number: 72.6, not 72.6 kg.", false},
	{"What the cell holds is sent, with the zeros you see: 72 as 72, 72.0 as 72.0. If a cell shows 66 and holds 65.9, then 65.9 is sent, and check tells you.", false},
	{"Arterial pressure before the pump is a minus number: -180.", false},

	{"When there is no value", true},
	{"Leave the cell empty, or write -  if you did not write it down.", false},
	{"not done  if you did not measure it.     ?  if you tried and do not know.     n/a  if it does not apply.", false},
	{"Never write 0 for something you did not measure.", false},

	{"A treatment that was not done", true},
	{"Give it a row with its date, choose not done, and write the reason. If you had to stop early, choose cut short.", false},

	{"Dates and times", true},
	{"After you type a date the cell shows the day of the week. If it is the wrong day, day and month were exchanged.", false},
	{"A treatment past midnight keeps the date on which it started. Write the end as the clock shows it, such as 04:55.", false},
	{"In autumn one hour comes twice. Only for times in that hour, write before or after in the folded column Clock change.", false},

	{"Good to know", true},
	{"If a cell asks whether to keep a value, look again. If it is right, say yes: nothing here stops you.", false},
	{"If check warns of a value that is right, add a sheet Answers with the headings rule, session, sheet, column, value, reason.", false},
	{"Write one row for each warning, each as check shows it, and in your words why it is right. It then counts as answered.", false},
	{"This file has no macros. Nothing leaves your computer until you send it yourself.", false},

	{"Please keep in mind", true},
	{"What is computed comes from the values you enter. No clinician has checked it. This is not a medical device and not for changing your treatment. Follow your prescription, your clinic's rules and your care team. If you feel unwell or a value worries you, call them; do not wait for this log to be read.", false},
}

// sampleRow is the example in the instructions, on a sheet that is not read.
var sampleRow = [][2]string{
	{"Session", "2025-11-03a"}, {"Date", "Mon 3 Nov 2025"}, {"Start", "18:30"}, {"End", "21:25"},
	{"Status", "done"}, {"Weight before (kg)", "71.6"}, {"Weight after (kg)", "70.2"},
}

// guide lays out the first sheet.
func (w *writer) guide() {
	w.text(sheetGuide, 1, 1, w.say("My home haemodialysis log"), w.styles.title)
	w.do(w.file.SetRowHeight(sheetGuide, 1, w.size()*1.8))
	row := 2
	for _, line := range guideLines {
		text := w.say(line.text)
		style, height := w.styles.plain, w.lineHeight(text)
		if line.lead {
			style, height = w.styles.lead, w.size()*2
		}
		w.text(sheetGuide, 1, row, text, style)
		last := cellName(len(sampleRow), row)
		w.do(w.file.MergeCell(sheetGuide, cellName(1, row), last))
		w.do(w.file.SetRowHeight(sheetGuide, row, height))
		row++
	}
	w.sample(row)
	w.do(w.file.SetColWidth(sheetGuide, "A", columnName(len(sampleRow)), guideWidth/float64(len(sampleRow))))
	w.page(sheetGuide, "portrait", 0)
}

// guideWidth is the width of the instructions in characters of the normal
// size. It does not grow with the letters, so that large print is large on
// paper too.
const guideWidth = 100

// lineHeight is the height of a wrapped line: programs do not fit the height
// of merged cells themselves.
func (w *writer) lineHeight(text string) float64 {
	return w.heightOf(linesOf(text, guideWidth, w.guideSize()), w.guideSize())
}

// sample shows one filled row.
func (w *writer) sample(row int) {
	w.text(sheetGuide, 1, row, w.say("How a row may look"), w.styles.lead)
	w.do(w.file.MergeCell(sheetGuide, cellName(1, row), cellName(len(sampleRow), row)))
	for i, cell := range sampleRow {
		w.text(sheetGuide, i+1, row+1, session.TitleIn(w.opts.Language, session.Column{Title: cell[0]}), w.styles.sampleHead)
		w.text(sheetGuide, i+1, row+2, w.say(cell[1]), w.styles.sample)
	}
	for i, lines := range []float64{2, 3.6, 1.6} {
		w.do(w.file.SetRowHeight(sheetGuide, row+i, w.size()*lines))
	}
}
