package workbook

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"

	"github.com/xuri/excelize/v2"

	"runsheet.example/validate/issue"
)

// ErrMacros is returned for a workbook with macros, which a copy would have to
// carry along.
var ErrMacros = errors.New("the workbook has macros, and no copy of it is made; save it as Excel Workbook (.xlsx) first")

// maxComments is how many cells get a comment; the list of findings is whole.
const maxComments = 5000

// Annotate returns a copy of a workbook that [Read] has read, with each
// finding as a comment on its cell and a first sheet that lists them all with
// a link to each place. The original is only read. Nothing that is written is
// ever taken for a formula.
func Annotate(original []byte, findings []issue.Finding, language issue.Language) ([]byte, error) {
	findings = slices.Clone(findings)
	for i, f := range findings {
		findings[i] = language.Finding(f)
	}
	copied, err := annotatedCopy(original, findings, language)
	if err != nil {
		return nil, fmt.Errorf("making the annotated copy: %w", err)
	}
	return copied, nil
}

func annotatedCopy(original []byte, findings []issue.Finding, language issue.Language) ([]byte, error) {
	b, _, err := openDirectory(original)
	if err != nil {
		return nil, err
	}
	if b.parts["xl/vbaproject.bin"] != nil {
		return nil, ErrMacros
	}
	for name := range b.parts { // the library takes a damaged part as far as it goes
		if _, err := b.read(name); err != nil {
			return nil, err
		}
	}
	// With both limits the same, the library does not unpack large parts into
	// files on the disk.
	file, err := excelize.OpenReader(bytes.NewReader(original), excelize.Options{
		UnzipSizeLimit: maxUnpacked, UnzipXMLSizeLimit: maxUnpacked,
	})
	if err != nil {
		return nil, err
	}
	defer file.Close()
	if err := settleComments(file, b); err != nil {
		return nil, err
	}
	a := &annotator{writer: writer{file: file, opts: Options{Locale: locales[0], Language: language}, mark: '.'}, marked: map[[2]int]int{}}
	places := a.comments(findings)
	a.summary(findings)
	if a.err != nil {
		return nil, a.err
	}
	copied, err := pack(file)
	if err != nil {
		return nil, err
	}
	return copied, verifyComments(copied, places)
}

// annotator writes into the copy.
type annotator struct {
	writer
	// marked are the styles of marked cells, by the cell's own style and the
	// severity.
	marked map[[2]int]int
}

// place is a cell with something to say about it.
type place struct {
	sheet       string
	row, column int
}

func (p place) compare(q place) int {
	return cmp.Or(cmp.Compare(p.sheet, q.sheet), cmp.Compare(p.row, q.row), cmp.Compare(p.column, q.column))
}

// placeOf is the cell of a finding; ok is false for one about the whole
// workbook or sheet, and for one about a comment, which the cell already has.
func placeOf(f issue.Finding) (p place, ok bool) {
	if len(f.Cells) == 0 || f.Cells[0].Sheet == "" || f.Cells[0].Row == 0 || f.Rule == "log-cell-comment" {
		return place{}, false
	}
	c := f.Cells[0]
	return place{c.Sheet, c.Row, max(c.Column, 1)}, true
}

// comments writes one comment for each cell, with all that is found there, and
// returns the cells.
func (a *annotator) comments(findings []issue.Finding) []place {
	byPlace := map[place][]issue.Finding{}
	for _, f := range findings {
		if p, ok := placeOf(f); ok && a.has(p.sheet) {
			byPlace[p] = append(byPlace[p], f)
		}
	}
	places := slices.SortedFunc(maps.Keys(byPlace), place.compare)
	places = places[:min(len(places), maxComments)]
	earlier := map[string]map[string]string{}
	for _, p := range places {
		if earlier[p.sheet] == nil {
			earlier[p.sheet] = a.existing(p.sheet)
		}
		a.comment(p, byPlace[p], earlier[p.sheet])
	}
	return places
}

func (a *annotator) has(sheet string) bool {
	index, err := a.file.GetSheetIndex(sheet)
	return err == nil && index >= 0
}

// existing are the comments of a sheet by cell.
func (a *annotator) existing(sheet string) map[string]string {
	texts := map[string]string{}
	comments, err := a.file.GetComments(sheet)
	a.do(err)
	for _, c := range comments {
		text := c.Text
		for _, run := range c.Paragraph {
			text += run.Text
		}
		texts[c.Cell] = text
	}
	return texts
}

// maxCommentLetters keeps a comment readable and within the limit of a cell.
const maxCommentLetters = 2000

func (a *annotator) comment(p place, found []issue.Finding, earlier map[string]string) {
	var texts []string
	cell := cellName(p.column, p.row)
	if old, ok := earlier[cell]; ok {
		texts = append(texts, old)
		a.do(a.file.DeleteComment(p.sheet, cell))
	}
	worst := issue.Information
	for _, f := range found {
		texts = append(texts, a.remark(f))
		if f.Accepted == nil {
			worst = max(worst, f.Severity)
		}
	}
	text := escape(cut(strings.Join(texts, "\n\n"), maxCommentLetters))
	lines := linesOf(text, 44, 11)
	a.do(a.file.AddComment(p.sheet, excelize.Comment{
		Cell: cell, Author: author, Width: 330, Height: uint(30 + 17*min(lines, 25)),
		Paragraph: []excelize.RichTextRun{{Text: text, Font: &excelize.Font{Size: 10, Family: fontName}}},
	}))
	a.mark(p, cell, worst)
}

// remark is a finding in the words of a comment.
func (a *annotator) remark(f issue.Finding) string {
	lines := []string{a.say(kindOf(f)) + ": " + f.Details.String() + "."}
	if f.Value != "" {
		lines = append(lines, a.say("You wrote")+": "+f.Value)
	}
	if !f.Expected.IsZero() {
		lines = append(lines, a.say("Expected")+": "+f.Expected.String())
	}
	if f.Accepted != nil {
		lines = append(lines, a.say("Your answer")+": "+a.opts.Language.Text(f.Accepted.Text()))
	}
	for _, c := range f.Cells[1:] {
		lines = append(lines, a.say("See also")+": "+a.where(c))
	}
	if !f.Mend.IsZero() {
		lines = append(lines, a.say("What to do")+": "+f.Mend.String()+".")
	}
	return strings.Join(lines, "\n")
}

// kindOf is what a finding asks for, in plain words.
func kindOf(f issue.Finding) string {
	switch {
	case f.Accepted != nil:
		return "Answered"
	case f.Severity == issue.Error:
		return "To mend"
	case f.Severity == issue.Warning:
		return "To look at"
	default:
		return "To know"
	}
}

func (a *annotator) where(c issue.Cell) string {
	name := c.Sheet
	switch {
	case c.Row > 0 && c.Column > 0:
		name += " " + cellName(c.Column, c.Row)
	case c.Row > 0:
		name += " " + a.say("row {}", c.Row)
	}
	return strings.TrimSpace(name)
}

// markColours fill a cell with something to mend or to look at. The comment
// says the same in words.
var markColours = map[issue.Severity]string{issue.Error: "FFC7CE", issue.Warning: "FFEB9C"}

// mark fills a cell and leaves the rest of its look, its format above all.
func (a *annotator) mark(p place, cell string, severity issue.Severity) {
	colour, ok := markColours[severity]
	if !ok {
		return
	}
	own, err := a.file.GetCellStyle(p.sheet, cell)
	a.do(err)
	key := [2]int{own, int(severity)}
	id, known := a.marked[key]
	if !known {
		style, err := a.file.GetStyle(own)
		if err != nil {
			return // a cell without a style of its own stays as it is
		}
		style.Fill = fill(colour)
		id, err = a.file.NewStyle(style)
		a.do(err)
		a.marked[key] = id
	}
	a.do(a.file.SetCellStyle(p.sheet, cell, cell, id))
}
