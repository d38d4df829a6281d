package workbook

import (
	"fmt"
	"slices"
	"unicode/utf16"

	"github.com/xuri/excelize/v2"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// Options are what the writer of a workbook puts in and how it looks. The
// zero value is an empty log on A4 in British style, without an id.
type Options struct {
	// LogID is the log's UUID, made by the caller once for each new log.
	LogID string
	// Clinic is what the person's clinic knows already; what is empty in it is
	// left for the person to fill in.
	Clinic session.Clinic
	Locale Locale
	Paper  Paper
	// LargePrint writes larger letters and shows fewer columns at first.
	LargePrint bool
	// Language is that of headings, choices, hints and instructions; the names of
	// the sheets are the same in each. The zero value is English.
	Language issue.Language
	// Short leaves out the sheet of what is done before a treatment.
	Short bool
	// Content fills the workbook with a log as it was written; nil leaves it
	// empty. LogID and Clinic are then taken from the content.
	Content *session.Grid
}

// Bytes is a workbook to fill in. The same options give the same bytes.
func Bytes(opts Options) ([]byte, error) {
	opts.Locale = opts.Locale.orDefault()
	w := &writer{file: excelize.NewFile(), opts: opts, mark: '.'}
	defer w.file.Close()
	w.look()
	w.guide()
	w.about()
	for _, d := range w.sheets() {
		w.table(d.sheet, d.tab)
	}
	w.finish()
	if w.err != nil {
		return nil, fmt.Errorf("writing the workbook: %w", w.err)
	}
	return pack(w.file)
}

// writer keeps the first error, so that the many small steps of laying out a
// sheet read as a list.
type writer struct {
	file   *excelize.File
	opts   Options
	styles styles
	mark   byte // decimal mark of the content's numbers
	err    error
}

// say is a text in the language of the workbook.
func (w *writer) say(key string, args ...any) string {
	return w.opts.Language.Text(issue.T(key, args...))
}

// sayAll is a list of texts in the language of the workbook.
func (w *writer) sayAll(keys []string) []string {
	var out []string
	for _, key := range keys {
		out = append(out, w.say(key))
	}
	return out
}

func (w *writer) do(err error) {
	if w.err == nil {
		w.err = err
	}
}

// sheets are the tables that the workbook gets: it goes without answers, and a
// short one without checks, unless the content has some.
func (w *writer) sheets() []dataSheet {
	return slices.DeleteFunc(slices.Clone(dataSheets), func(d dataSheet) bool {
		if d.sheet != session.SheetAnswers && (d.sheet != session.SheetChecks || !w.opts.Short) {
			return false
		}
		if w.opts.Content == nil {
			return true
		}
		_, filled := w.opts.Content.Table(d.sheet)
		return !filled
	})
}

// fontName is a face that office programs have or replace by one of the same
// widths.
const fontName = "Arial"

// look sets what the whole workbook has in common.
func (w *writer) look() {
	w.do(w.file.SetDefaultFont(fontName))
	w.do(w.file.SetSheetName("Sheet1", sheetGuide))
	w.newSheet(sheetAbout)
	for _, d := range w.sheets() {
		w.newSheet(d.tab)
	}
	w.makeStyles()
}

func (w *writer) newSheet(name string) {
	_, err := w.file.NewSheet(name)
	w.do(err)
}

// finish sets the properties of the file: nothing of the person or the
// computer, and a fixed date, so that equal workbooks are equal files.
func (w *writer) finish() {
	const fixed = "2000-01-01T00:00:00Z"
	w.do(w.file.SetDocProps(&excelize.DocProperties{
		Title: w.say("Home haemodialysis log"), Creator: "Runsheet", LastModifiedBy: "Runsheet",
		Created: fixed, Modified: fixed, Language: w.opts.Locale.Name,
	}))
	w.do(w.file.SetAppProps(&excelize.AppProperties{Application: "Runsheet"}))
	w.file.SetActiveSheet(0)
}

// page sets how a sheet prints: one page wide, with its headings and page
// numbers on every page.
func (w *writer) page(sheet, orientation string, headingRows int) {
	size, wide, tall := w.opts.Paper.code(), 1, 0
	w.do(w.file.SetPageLayout(sheet, &excelize.PageLayoutOptions{
		Size: &size, Orientation: &orientation, FitToWidth: &wide, FitToHeight: &tall,
	}))
	yes := true
	w.do(w.file.SetSheetProps(sheet, &excelize.SheetPropsOptions{FitToPage: &yes}))
	side, edge, header := 0.3, 0.5, 0.25
	w.do(w.file.SetPageMargins(sheet, &excelize.PageLayoutMarginsOptions{
		Left: &side, Right: &side, Top: &edge, Bottom: &edge, Header: &header, Footer: &header,
	}))
	footer := int(w.size() * 0.7)
	scaled := false // the footer stays readable when the sheet is fitted
	w.do(w.file.SetHeaderFooter(sheet, &excelize.HeaderFooterOptions{
		ScaleWithDoc: &scaled,
		OddFooter:    fmt.Sprintf("&L&%[1]d%[2]s&R&%[1]d&A, %[3]s", footer, w.say("Entered by the patient, not checked by a clinician. Not for changing treatment."), w.say("page {} of {}", "&P", "&N")),
	}))
	if headingRows > 0 {
		w.do(w.file.SetDefinedName(&excelize.DefinedName{
			Name: "_xlnm.Print_Titles", Scope: sheet,
			RefersTo: fmt.Sprintf("'%s'!$1:$%d", sheet, headingRows),
		}))
	}
}

// text writes a text that a program will never take for a formula.
func (w *writer) text(sheet string, column, row int, text string, style int) {
	w.set(sheet, cellName(column, row), text)
	w.style(sheet, column, row, style)
}

// maxLetters is the longest text of a cell (ECMA-376), in units of UTF-16.
const maxLetters = 32767

// set writes a text into a cell, or fails: the library would cut it.
func (w *writer) set(sheet, cell, text string) {
	text = escape(text)
	if len(text) > maxLetters && len(utf16.Encode([]rune(text))) > maxLetters {
		w.do(fmt.Errorf("the text for %s %s is longer than a cell can hold", sheet, cell))
		return
	}
	w.do(w.file.SetCellStr(sheet, cell, text))
}

func (w *writer) style(sheet string, column, row, style int) {
	name := cellName(column, row)
	w.do(w.file.SetCellStyle(sheet, name, name, style))
}

// cellName writes a place as spreadsheets do, such as D7.
func cellName(column, row int) string {
	name, err := excelize.CoordinatesToCellName(column, row)
	if err != nil {
		panic("workbook: no such cell: " + err.Error()) // counted by us, never by the input
	}
	return name
}

func columnName(column int) string {
	name, err := excelize.ColumnNumberToName(column)
	if err != nil {
		panic("workbook: no such column: " + err.Error())
	}
	return name
}
