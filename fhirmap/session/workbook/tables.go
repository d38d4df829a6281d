package workbook

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/xuri/excelize/v2"

	"runsheet.example/fhirmap/session"
	"runsheet.example/profiles"
)

// table lays out one data sheet, and fills it when there is content.
func (w *writer) table(sheet session.Sheet, tab string) {
	columns := w.opts.Clinic.Units.ColumnsOf(sheet)
	headings := make([]string, 0, len(columns))
	for i, c := range columns {
		w.column(tab, i+1, c)
		headings = append(headings, c.Name)
	}
	w.headingRows(tab, columns)
	height := w.heightOf(1, w.size())
	w.do(w.file.SetSheetProps(tab, &excelize.SheetPropsOptions{DefaultRowHeight: &height}))
	w.rule(tab, columns)
	w.fill(tab, sheet, headings)
	w.do(w.file.SetRowVisible(tab, nameRow, false))
	w.page(tab, "landscape", titleRow)
	w.freeze(tab, sheet)
}

// column lays out one column: heading, hint, width, format and check.
func (w *writer) column(tab string, at int, c session.Column) {
	letters := columnName(at)
	t := session.Headed(c.Sheet, c.Name)
	style := w.styles.table.ofKind(c.Kind)
	w.do(w.file.SetColStyle(tab, letters, style))
	w.do(w.file.SetColWidth(tab, letters, letters, w.widthOf(t)))
	w.text(tab, at, titleRow, session.TitleIn(w.opts.Language, t), w.styles.heading[t.Part])
	w.text(tab, at, nameRow, c.Name, w.styles.name)
	w.hint(tab, at, c)
	w.check(tab, at, c, t)
	if w.folded(t) {
		w.do(w.file.SetColOutlineLevel(tab, letters, 1))
		w.do(w.file.SetColVisible(tab, letters, false))
	}
	if c.Kind == session.KindID || c.Kind == session.KindNumber {
		w.do(w.file.AddIgnoredErrors(tab, fmt.Sprintf("%s%d:%s%d", letters, firstRow, letters, lastRuledRow), excelize.IgnoredErrorsNumberStoredAsText))
	}
}

// folded reports a column that is hidden at first.
func (w *writer) folded(t session.Column) bool {
	return t.Filled == profiles.BySome || w.opts.LargePrint && t.Filled == profiles.ByMost
}

// linesIn is how many lines a text takes in its column, as far as it is seen.
func (w *writer) linesIn(c session.Column, text string) int {
	t := session.Headed(c.Sheet, c.Name)
	if w.folded(t) || c.Kind != session.KindText {
		return 1
	}
	return linesOf(text, w.width(t.Width), w.size())
}

// widthOf is the width of a column: a heading in another language than the widths
// are made for needs room for its longest word, in letters three points smaller.
func (w *writer) widthOf(c session.Column) float64 {
	longest := 0
	if title := session.TitleIn(w.opts.Language, c); title != c.Title {
		for _, word := range strings.Fields(title) {
			longest = max(longest, utf8.RuneCountInString(word))
		}
	}
	return w.width(max(c.Width, float64(longest)*0.95))
}

// width grows with the letters.
func (w *writer) width(characters float64) float64 {
	if w.opts.LargePrint {
		return characters * 1.5
	}
	return characters
}

// headingRows makes the visible row of headings high enough for its longest
// one.
func (w *writer) headingRows(tab string, columns []session.Column) {
	lines := 2
	for _, c := range columns {
		if t := session.Headed(c.Sheet, c.Name); t.Filled != profiles.BySome {
			lines = max(lines, 1+strings.Count(session.TitleIn(w.opts.Language, t), " "))
		}
	}
	w.do(w.file.SetRowHeight(tab, titleRow, float64(min(lines, 4))*w.size()*1.15+6))
}

// paperRows is how many empty rows are ruled, to be printed and written on by
// hand: about one page.
const paperRows = 22

// rule draws the boxes of the first rows. The boxes of later rows come from
// the format of their columns, which programs do not print where nothing is.
func (w *writer) rule(tab string, columns []session.Column) {
	for i, c := range columns {
		letters := columnName(i + 1)
		last := letters + strconv.Itoa(nameRow+paperRows)
		w.do(w.file.SetCellStyle(tab, letters+strconv.Itoa(firstRow), last, w.styles.table.ofKind(c.Kind)))
	}
}

// freeze keeps the headings and the first columns in view.
func (w *writer) freeze(tab string, sheet session.Sheet) {
	across := 2 // session and time
	if sheet == session.SheetMedicines || sheet == session.SheetEvents || sheet == session.SheetChecks {
		across = 1
	}
	w.do(w.file.SetPanes(tab, &excelize.Panes{
		Freeze: true, XSplit: across, YSplit: nameRow,
		TopLeftCell: cellName(across+1, firstRow), ActivePane: "bottomRight",
	}))
}

// hint puts the column's hint on its heading, to be read when the pointer
// rests on it.
func (w *writer) hint(tab string, at int, c session.Column) {
	w.do(w.file.AddComment(tab, excelize.Comment{
		Cell: cellName(at, titleRow), Author: "Runsheet", Width: 260, Height: 70,
		Paragraph: []excelize.RichTextRun{{Text: sentence(w.say(c.Hint)), Font: &excelize.Font{Size: 10, Family: fontName}}},
	}))
}

// sentence begins a hint with a capital letter.
func sentence(hint string) string {
	if hint == "" {
		return ""
	}
	if strings.HasPrefix(hint, "UF") {
		return hint
	}
	first, size := utf8.DecodeRuneInString(hint)
	return string(unicode.ToUpper(first)) + hint[size:]
}

// fill writes the rows of the content under the columns, and columns that the
// log does not know after them, so that nothing is lost.
func (w *writer) fill(tab string, sheet session.Sheet, headings []string) {
	if w.opts.Content == nil {
		return
	}
	table, ok := w.opts.Content.Table(sheet)
	if !ok {
		return
	}
	places := make([]int, len(table.Headings))
	used := map[int]bool{}
	for i, heading := range table.Headings {
		at := -1
		if name, known := session.ColumnTitled(sheet, heading); known {
			at = slices.Index(headings, name)
		}
		if at < 0 || used[at] {
			at = len(headings)
			headings = append(headings, heading)
			w.text(tab, at+1, titleRow, heading, w.styles.heading[profiles.PartOther])
			w.text(tab, at+1, nameRow, heading, w.styles.name)
		}
		used[at] = true
		places[i] = at
	}
	w.fillRows(tab, sheet, table, places)
}

func (w *writer) fillRows(tab string, sheet session.Sheet, table session.GridTable, places []int) {
	columns := w.opts.Clinic.Units.ColumnsOf(sheet)
	if len(table.Rows) > maxRow-nameRow {
		w.do(fmt.Errorf("%s has more rows than a sheet can hold", sheet))
		return
	}
	for i, row := range table.Rows {
		lines := 1
		for j, text := range row {
			at := len(columns) + j // a cell beyond the headings keeps its distance
			if j < len(places) {
				at = places[j]
			} else if extra := j - len(places); len(places) > 0 {
				at = max(len(columns), slices.Max(places)+1) + extra
			}
			kind := session.KindText
			if at < len(columns) {
				kind = columns[at].Kind
			}
			w.value(tab, at+1, firstRow+i, kind, text, &w.styles.table)
			if at < len(columns) {
				lines = max(lines, w.linesIn(columns[at], text))
			}
		}
		w.grow(tab, firstRow+i, lines)
	}
}

// linesOf estimates how many lines a text takes in a cell of a width in
// characters of the normal size, 11 points; running text is a little narrower
// than digits.
func linesOf(text string, width, size float64) int {
	perLine := max(1, int(width*1.08*11/size))
	lines := 0
	for paragraph := range strings.SplitSeq(text, "\n") {
		lines++
		used := 0
		for _, word := range strings.Fields(paragraph) {
			length := utf8.RuneCountInString(word)
			if used > 0 && used+1+length > perLine {
				lines, used = lines+1, 0
			} else if used > 0 {
				used++
			}
			lines += (length - 1) / perLine
			used += length
		}
	}
	return lines
}

// heightOf is the height of so many lines in points.
func (w *writer) heightOf(lines int, size float64) float64 {
	return min(float64(lines)*size*1.2+4, maxHeight)
}

// maxHeight is the greatest height of a row (ECMA-376).
const maxHeight = 409

// grow makes a row high enough for its text. Rows of one line keep the height
// that programs give them, so that they grow with what is typed.
func (w *writer) grow(sheet string, row, lines int) {
	if lines > 1 {
		w.do(w.file.SetRowHeight(sheet, row, w.heightOf(lines, w.size())))
	}
}
