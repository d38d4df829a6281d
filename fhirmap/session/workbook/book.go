package workbook

import (
	"encoding/xml"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
)

// book is an opened workbook: its sheets, texts and formats.
type book struct {
	*container
	tabs    []tab
	texts   []cellString
	formats []cellFormat
	// from1904 is set when days are counted from 1904.
	from1904 bool
	// stale is set when the workbook itself asks for its formulas to be
	// worked out again.
	stale bool
}

// tab is one sheet of the workbook.
type tab struct {
	name, part string
	hidden     bool
}

// cellString is a text, and whether a part of it is struck through.
type cellString struct {
	text   string
	struck bool
}

// cellFormat is what the format of a cell makes of a number, and whether it
// strikes the cell through.
type cellFormat struct {
	shape
	struck bool
}

// Named reports whether a file has the name of a workbook, of the supported kind
// or of one for which a message explains how to convert it.
func Named(name string) bool {
	return slices.Contains([]string{".xlsx", ".xlsm", ".xltx", ".xltm", ".xlsb", ".xls", ".ods", ".fods", ".numbers"}, strings.ToLower(filepath.Ext(name)))
}

// Tabs returns the names of the sheets of a workbook, in the order in which it
// has them. The error is that of a file that is no workbook.
func Tabs(data []byte) ([]string, error) {
	b, _, err := openDirectory(data)
	if err != nil {
		return nil, err
	}
	names := make([]string, len(b.tabs))
	for i, t := range b.tabs {
		names[i] = t.name
	}
	return names, nil
}

// openBook reads everything of a workbook but the cells.
func openBook(data []byte) (*book, error) {
	b, kinds, err := openDirectory(data)
	if err != nil {
		return nil, err
	}
	if part := ofKind(kinds, "sharedStrings"); part != "" {
		if err := b.readTexts(part); err != nil {
			return nil, err
		}
	}
	if part := ofKind(kinds, "styles"); part != "" {
		return b, b.readFormats(part)
	}
	return b, nil
}

type workbookPart struct {
	Properties struct {
		Date1904 string `xml:"date1904,attr"`
	} `xml:"workbookPr"`
	Sheets []struct {
		Name  string `xml:"name,attr"`
		State string `xml:"state,attr"`
		ID    string `xml:"id,attr"`
	} `xml:"sheets>sheet"`
	Calculation struct {
		FullOnLoad string `xml:"fullCalcOnLoad,attr"`
	} `xml:"calcPr"`
}

// openDirectory reads the list of sheets, and the relationships of the workbook.
func openDirectory(data []byte) (*book, []relation, error) {
	c, err := openContainer(data)
	if err != nil {
		return nil, nil, err
	}
	top, err := c.relationsOf("")
	if err != nil {
		return nil, nil, err
	}
	main := ofKind(top, "officeDocument")
	if !strings.Contains(partName(main), "workbook") {
		return nil, nil, notReadable{"the file is a document of another kind, not a workbook", saveAsXLSX}
	}
	var w workbookPart
	if err := c.decode(main, &w); err != nil {
		return nil, nil, err
	}
	list, err := c.relationsOf(main)
	b := &book{container: c, from1904: isTrue(w.Properties.Date1904), stale: isTrue(w.Calculation.FullOnLoad)}
	for _, s := range w.Sheets {
		t := tab{name: s.Name, hidden: s.State == "hidden" || s.State == "veryHidden"}
		if at := slices.IndexFunc(list, func(r relation) bool { return r.ID == s.ID }); at >= 0 {
			t.part = list[at].Part
		}
		b.tabs = append(b.tabs, t)
	}
	return b, list, err
}

func isTrue(text string) bool { return text == "1" || text == "true" }

// toggle is an element that is on unless it says otherwise.
type toggle struct {
	Value string `xml:"val,attr"`
}

func (t *toggle) on() bool { return t != nil && (t.Value == "" || isTrue(t.Value)) }

type stylesPart struct {
	Fonts []struct {
		Strike *toggle `xml:"strike"`
	} `xml:"fonts>font"`
	Formats []struct {
		ID   int    `xml:"numFmtId,attr"`
		Code string `xml:"formatCode,attr"`
	} `xml:"numFmts>numFmt"`
	Cells []struct {
		Format int `xml:"numFmtId,attr"`
		Font   int `xml:"fontId,attr"`
	} `xml:"cellXfs>xf"`
}

// readFormats reads the formats of cells.
func (b *book) readFormats(part string) error {
	var s stylesPart
	if err := b.decode(part, &s); err != nil {
		return err
	}
	own := map[int]shape{}
	for _, f := range s.Formats {
		own[f.ID] = shapeOf(f.Code)
	}
	for _, x := range s.Cells {
		format, ok := own[x.Format]
		if !ok {
			format = builtIn(x.Format)
		}
		struck := x.Font >= 0 && x.Font < len(s.Fonts) && s.Fonts[x.Font].Strike.on()
		b.formats = append(b.formats, cellFormat{format, struck})
	}
	return nil
}

// format is a cell format by its number.
func (b *book) format(number int) cellFormat {
	if number < 0 || number >= len(b.formats) {
		return cellFormat{}
	}
	return b.formats[number]
}

// readTexts reads the texts that cells share.
func (b *book) readTexts(part string) error {
	return b.walk(part, func(d *xml.Decoder, e xml.StartElement) error {
		if e.Name.Local != "si" {
			return nil
		}
		var rich richText
		if err := d.DecodeElement(&rich, &e); err != nil {
			return err
		}
		if b.texts = append(b.texts, rich.joined()); len(b.texts) > maxCells {
			return errLarge
		}
		return nil
	})
}

// richText is a text, whole or in runs. The reading aids (rPh) that some
// languages put above it are left out.
type richText struct {
	Text string `xml:"t"`
	Runs []struct {
		Text   string  `xml:"t"`
		Strike *toggle `xml:"rPr>strike"`
	} `xml:"r"`
}

func (r richText) joined() cellString {
	text, struck := r.Text, false
	for _, run := range r.Runs {
		text += run.Text
		struck = struck || run.Strike.on()
	}
	return cellString{unescape(text), struck}
}

// rawCell is a cell as a sheet's part has it.
type rawCell struct {
	column  int    // from 1
	kind    string // the t attribute
	style   int
	value   string
	filled  bool // it has a value, which may be an empty text
	formula bool
	stale   bool // the value of the formula may be out of date
	struck  bool // a part of its own text is struck through
}

// rawRow is one row with its filled cells.
type rawRow struct {
	number int
	hidden bool
	cells  []rawCell
}

// volatileNames are functions whose value is out of date as soon as it is
// stored, or that reach outside the workbook.
var volatileNames = []string{"NOW(", "TODAY(", "RAND(", "RANDBETWEEN(", "INDIRECT(", "OFFSET(", "[", "WEBSERVICE("}

// grid is the content of a sheet.
type grid struct {
	rows   []rawRow // those with content, in the order of the part
	merged []string
	// drawing is the relationship of the drawing that holds the boxes of the
	// comments.
	drawing string

	last  int // the row that is read, and its last column
	width int
	cells int
	data  bool // within the rows
}

// The last column, XFD, and the last row of a sheet (common practice of the
// programs that write them).
const (
	maxColumn = 16_384
	maxRow    = 1_048_576
)

// grid reads the cells of a sheet. Chart sheets have none.
func (b *book) grid(t tab) (*grid, error) {
	g := &grid{}
	err := b.walk(t.part, func(d *xml.Decoder, e xml.StartElement) error {
		switch e.Name.Local {
		case "row":
			if g.data {
				return g.startRow(e)
			}
		case "c":
			if g.data {
				return g.cell(d, e)
			}
		case "extLst":
			return d.Skip()
		case "mergeCell":
			g.merged = append(g.merged, attribute(e, "ref"))
		case "legacyDrawing":
			g.drawing = attribute(e, "id")
		}
		g.data = e.Name.Local == "sheetData"
		return nil
	})
	if len(g.rows) > 0 && len(g.rows[len(g.rows)-1].cells) == 0 {
		g.rows = g.rows[:len(g.rows)-1]
	}
	return g, err
}

func attribute(e xml.StartElement, name string) string {
	for _, a := range e.Attr {
		if a.Name.Local == name {
			return a.Value
		}
	}
	return ""
}

// startRow begins a row, in the place of the one before when that is empty. A
// row without a number follows the one before.
func (g *grid) startRow(e xml.StartElement) error {
	number, err := strconv.Atoi(attribute(e, "r"))
	if err != nil || number < 1 {
		number = g.last + 1
	}
	if number > maxRow {
		return errDamaged
	}
	if n := len(g.rows); n > 0 && len(g.rows[n-1].cells) == 0 {
		g.rows = g.rows[:n-1]
	}
	g.rows = append(g.rows, rawRow{number: number, hidden: isTrue(attribute(e, "hidden"))})
	g.last, g.width = number, 0
	return nil
}

// cell reads a cell; empty ones are left out. A cell without a reference
// follows the one before.
func (g *grid) cell(d *xml.Decoder, e xml.StartElement) error {
	var in struct {
		Value   *string   `xml:"v"`
		Formula *string   `xml:"f"`
		Text    *richText `xml:"is"`
	}
	if err := d.DecodeElement(&in, &e); err != nil {
		return err
	}
	c := rawCell{kind: attribute(e, "t"), column: columnOf(attribute(e, "r")), filled: in.Value != nil || in.Text != nil, formula: in.Formula != nil}
	if c.column == 0 {
		c.column = min(g.width+1, maxColumn)
	}
	g.width = c.column
	if !c.filled && !c.formula || len(g.rows) == 0 {
		return nil
	}
	row, before := &g.rows[len(g.rows)-1], 0
	if n := len(row.cells); n > 0 {
		before = row.cells[n-1].column
	}
	if g.cells += max(c.column-before, 1); g.cells > maxCells || len(g.rows) > maxRows {
		return errLarge
	}
	c.style, _ = strconv.Atoi(attribute(e, "s"))
	if in.Formula != nil {
		code := strings.ToUpper(*in.Formula)
		c.stale = slices.ContainsFunc(volatileNames, func(name string) bool { return strings.Contains(code, name) })
	}
	switch {
	case c.kind == "inlineStr" && in.Text != nil:
		text := in.Text.joined()
		c.value, c.struck = text.text, text.struck
	case c.kind != "inlineStr" && in.Value != nil:
		c.value = *in.Value
	}
	row.cells = append(row.cells, c)
	return nil
}

// columnOf is the column of a cell's reference, 0 for none.
func columnOf(reference string) int {
	column := 0
	for i := 0; i < len(reference) && column < maxColumn; i++ {
		letter := reference[i] | 0x20
		if letter < 'a' || letter > 'z' {
			break
		}
		column = column*26 + int(letter-'a') + 1
	}
	return min(column, maxColumn)
}
