package workbook

import (
	"cmp"
	"strings"

	"github.com/xuri/excelize/v2"

	"runsheet.example/fhirmap/session"
)

// The columns of the About sheet.
const (
	aboutKeyColumn = 1 // hidden: part and key, such as patient.sex
	aboutLabel     = 2
	aboutHelp      = 3
	aboutAnswer    = 4 // the first column of answers
	aboutFirstRow  = 3
)

// answers is how many answers a part has room for: what changes with time and
// each device gets a column of its own.
func answers(part string) int {
	switch part {
	case "prescription", "access", "device":
		return 4
	default:
		return 1
	}
}

// about lays out the About sheet: a line for each question, with the answers
// beside it.
func (w *writer) about() {
	parts := w.aboutParts()
	w.text(sheetAbout, aboutLabel, 1, w.say("About you and your treatment"), w.styles.title)
	w.text(sheetAbout, aboutLabel, 2, w.say("Fill in what you know, in the boxes. What is empty is left out."), w.styles.name)
	most := answers("prescription")
	for i, r := range session.AboutRows {
		row := aboutFirstRow + i
		if r.Label = w.say(r.Label); r.Help != "" {
			r.Help = w.say(r.Help)
		}
		if r.Key == "" {
			w.aboutHeading(row, r)
			continue
		}
		w.text(sheetAbout, aboutKeyColumn, row, r.Part+"."+r.Key, w.styles.name)
		w.text(sheetAbout, aboutLabel, row, r.Label, w.styles.label)
		if n := w.opts.Clinic.SessionsPerWeek; n > 0 && r.Key == "sessions_per_week" {
			r.Help += w.say("; your clinic: {}", n)
		}
		w.text(sheetAbout, aboutHelp, row, r.Help, w.styles.help)
		n := max(answers(r.Part), len(parts[r.Part]))
		most = max(most, n)
		for j := range n {
			w.aboutAnswer(row, aboutAnswer+j, r)
			if j < len(parts[r.Part]) {
				w.aboutValue(row, aboutAnswer+j, r, parts[r.Part][j])
			}
		}
		w.aboutCheck(row, n, r)
		w.do(w.file.SetRowHeight(sheetAbout, row, w.heightOf(w.aboutLines(r, parts), w.size())))
	}
	w.aboutRest(parts)
	w.aboutWidths(most)
	orientation := "portrait"
	if w.opts.LargePrint {
		orientation = "landscape" // the letters shrink less to fit one page wide
	}
	w.page(sheetAbout, orientation, 0)
	w.do(w.file.SetPanes(sheetAbout, &excelize.Panes{
		Freeze: true, XSplit: aboutHelp, YSplit: 0, TopLeftCell: cellName(aboutAnswer, 1), ActivePane: "topRight",
	}))
}

// aboutParts are the answers to write, by the name of the part.
func (w *writer) aboutParts() map[string][]*session.AboutPart {
	parts := map[string][]*session.AboutPart{}
	if w.opts.Content != nil {
		for _, p := range w.opts.Content.About {
			parts[p.Name] = append(parts[p.Name], p)
			if mark, _ := p.Entry("decimal_mark"); p.Name == "log" && mark.Text == "," {
				w.mark = ','
			}
		}
		return parts
	}
	c := w.opts.Clinic
	parts["patient"] = []*session.AboutPart{{Name: "patient", Entries: []*session.AboutEntry{{Key: "identifier_system", Text: c.IdentifierSystem}}}}
	parts["clinic"] = []*session.AboutPart{{Name: "clinic", Entries: []*session.AboutEntry{{Key: "name", Text: c.Name}}}}
	parts["log"] = []*session.AboutPart{{Name: "log", Entries: []*session.AboutEntry{
		{Key: "format", Text: "1"}, {Key: "id", Text: w.opts.LogID}, {Key: "time_zone", Text: c.TimeZone}, {Key: "language", Text: cmp.Or(string(w.opts.Language), c.Language())},
		{Key: "date_style", Text: cmp.Or(c.DateStyle, w.opts.Locale.dateStyle)}, {Key: "decimal_mark", Text: cmp.Or(c.DecimalMark, w.opts.Locale.decimalMark)},
	}}}
	return parts
}

// aboutLines is how many lines the longest answer takes.
func (w *writer) aboutLines(r session.AboutRow, parts map[string][]*session.AboutPart) int {
	lines, width := 1, w.width(aboutAnswerWidth)
	if answers(r.Part) == 1 {
		width *= float64(answers("prescription"))
	}
	for _, p := range parts[r.Part] {
		if e, ok := p.Entry(r.Key); ok {
			lines = max(lines, linesOf(e.Text, width, w.size()))
		}
	}
	return lines
}

// aboutAnswerWidth is the width of one box of an answer.
const aboutAnswerWidth = 19

func (w *writer) aboutHeading(row int, r session.AboutRow) {
	for column := aboutLabel; column < aboutAnswer+answers("prescription"); column++ {
		w.style(sheetAbout, column, row, w.styles.part)
	}
	w.text(sheetAbout, aboutLabel, row, r.Label, w.styles.part)
	if r.Help != "" {
		w.text(sheetAbout, aboutAnswer, row, r.Help, w.styles.part)
	}
	w.do(w.file.SetRowHeight(sheetAbout, row, w.size()*2))
}

// aboutAnswer makes the box of an answer; the one box of a single answer is
// as wide as the four of the others.
func (w *writer) aboutAnswer(row, column int, r session.AboutRow) {
	style := w.styles.answer.ofKind(r.Kind)
	if r.Kind == session.KindText {
		style = w.styles.answer.typed
	}
	w.style(sheetAbout, column, row, style)
	if answers(r.Part) == 1 && column == aboutAnswer {
		last := cellName(aboutAnswer+answers("prescription")-1, row)
		w.do(w.file.MergeCell(sheetAbout, cellName(column, row), last))
		w.do(w.file.SetCellStyle(sheetAbout, cellName(column, row), last, style))
	}
}

func (w *writer) aboutValue(row, column int, r session.AboutRow, part *session.AboutPart) {
	entry, _ := part.Entry(r.Key)
	declared, kind := w.mark, r.Kind
	if kind == session.KindNumber && (entry.Bare || declared == '.') {
		w.mark = '.'
	} else if kind == session.KindNumber {
		kind = session.KindText // read back as a number, it would have a point
	}
	w.value(sheetAbout, column, row, kind, entry.Text, &w.styles.answer)
	w.mark = declared
}

func (w *writer) aboutCheck(row, n int, r session.AboutRow) {
	if len(r.Choices) == 0 {
		return
	}
	v := excelize.NewDataValidation(true)
	v.SetSqref(cellName(aboutAnswer, row) + ":" + cellName(aboutAnswer+n-1, row))
	if strings.Join(r.Choices, "") == ".," {
		// A comma cannot stand in a list that is separated by commas.
		v.Type, v.Formula1 = "custom", "OR("+cellName(aboutAnswer, row)+`=".",`+cellName(aboutAnswer, row)+`=",")`
	} else {
		w.do(v.SetDropList(w.sayAll(r.Choices)))
	}
	v.SetError(excelize.DataValidationErrorStyleWarning, w.say("Not in the list"), w.say("The words here are: {}. Keep yours anyway?", strings.Join(w.sayAll(r.Choices), w.say(" or "))))
	w.do(w.file.AddDataValidation(sheetAbout, v))
}

// aboutRest keeps answers that the log does not know, below the others.
func (w *writer) aboutRest(parts map[string][]*session.AboutPart) {
	row := aboutFirstRow + len(session.AboutRows) + 1
	if w.opts.Content == nil {
		return
	}
	counts := map[string]int{}
	for _, p := range w.opts.Content.About {
		at := counts[p.Name]
		counts[p.Name]++
		for _, e := range p.Entries {
			if _, known := session.AboutRowOf(p.Name, e.Key); known {
				continue
			}
			w.text(sheetAbout, aboutKeyColumn, row, p.Name+"."+e.Key, w.styles.name)
			w.text(sheetAbout, aboutLabel, row, p.Name+"."+e.Key, w.styles.label)
			w.text(sheetAbout, aboutAnswer+at, row, e.Text, w.styles.answer.typed)
			row++
		}
	}
}

func (w *writer) aboutWidths(answers int) {
	widths := map[int]float64{aboutKeyColumn: 12, aboutLabel: 33, aboutHelp: 30}
	for column := 1; column < aboutAnswer+answers; column++ {
		width, ok := widths[column]
		if !ok {
			width = aboutAnswerWidth
		}
		letters := columnName(column)
		w.do(w.file.SetColWidth(sheetAbout, letters, letters, w.width(width)))
	}
	w.do(w.file.SetColVisible(sheetAbout, "A", false))
}
