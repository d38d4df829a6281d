package visit

import (
	"strings"

	"runsheet.example/cmd/runsheet/internal/pdf"
	"runsheet.example/validate/issue"
)

// Sizes on paper, in millimetres. The smallest letter on the page is 2.1.
const (
	margin  = 10.5
	leading = 1.28 // line height, in parts of the letter size
	// comfortablePanel is the height below which the lists give way, and
	// tallestPanel that which no panel needs more of.
	comfortablePanel = 6.8
	tallestPanel     = 15
	between          = 2.6
)

var (
	titleFont   = pdf.Font{SizeMM: 4.2, Bold: true}
	headingFont = pdf.Font{SizeMM: 2.6, Bold: true}
	bodyFont    = pdf.Font{SizeMM: 2.4}
	noteFont    = pdf.Font{SizeMM: 2.15}
)

// sheet sets type on paper from top to bottom. Without a document it only
// measures.
type sheet struct {
	doc         *pdf.Doc
	x, y, width float64
	replaced    *bool // set if a letter cannot be printed
}

// pdf draws the page as a PDF file.
func (p *Page) pdf() ([]byte, error) {
	doc := pdf.New(p.Title+", "+p.Who+", "+p.Span, string(p.Language), p.Paper)
	doc.AddPage()
	p.lay(doc, p.panelHeight())
	return doc.Bytes()
}

// chartForm is the form of the chart on the page's paper.
func (p *Page) chartForm() form { return wide(p.Paper.WidthMM - 2*margin) }

// panelHeight is the height of a panel that fills the page.
func (p *Page) panelHeight() float64 {
	if len(p.chart.panels) == 0 {
		return tallestPanel
	}
	left := p.Paper.HeightMM - margin - p.lay(nil, 0)
	return min(tallestPanel, left/float64(len(p.chart.panels)))
}

// lay sets the page and returns the height of its lower end.
func (p *Page) lay(doc *pdf.Doc, panelHeight float64) float64 {
	replaced := false
	s := &sheet{doc: doc, x: margin, y: margin, width: p.Paper.WidthMM - 2*margin, replaced: &replaced}
	s.header(p)
	s.table(p.Numbers)
	s.y += between / 2
	if doc != nil {
		p.chartForm().canvas(paperPen{doc, s.x, s.y}, p.chart).draw(panelHeight)
	}
	s.y += p.chartForm().height(p.chart, panelHeight) + between/2
	left, right := s.columns(p)
	s.y = max(left, right)
	s.list(p.Theirs)
	for _, line := range p.Origin {
		s.paragraph(line, noteFont, grey)
	}
	if replaced {
		s.paragraph(p.Language.Text(issue.T("[…] stands for letters that this PDF cannot print; the HTML report has them.")), noteFont, ink)
	}
	return s.y
}

func (s *sheet) header(p *Page) {
	s.y += titleFont.SizeMM
	s.text(s.x, p.Title, titleFont, ink)
	if p.NameLine != "" && s.doc != nil {
		s.text(s.x+s.width-70, p.NameLine, bodyFont, ink)
		s.doc.Line(pdf.Stroke{WidthMM: 0.2, Color: ink}, pdf.Point{X: s.x + s.width - 60, Y: s.y + 0.6}, pdf.Point{X: s.x + s.width, Y: s.y + 0.6})
	}
	s.y += 1
	s.paragraph(p.who(), headingFont, ink)
	s.paragraph(p.Caution, bodyFont, ink)
	s.y += between / 2
}

// who is the line that names the patient, the days and the access.
func (p *Page) who() string {
	line := p.Who + " · " + p.Span
	if p.Access != "" {
		line += " · " + p.Access
	}
	return line
}

// text writes one line at the present baseline.
func (s *sheet) text(x float64, text string, font pdf.Font, color pdf.Color) {
	if s.doc != nil {
		s.doc.Text(x, s.y, text, font, color)
	}
}

// paragraph sets a text in lines.
func (s *sheet) paragraph(text string, font pdf.Font, color pdf.Color) {
	for _, line := range font.Wrap(s.legible(text), s.width) {
		s.y += font.SizeMM * leading
		s.text(s.x, line, font, color)
	}
}

// legible puts "[…]" for what the font does not hold.
func (s *sheet) legible(text string) string {
	var out strings.Builder
	gap := false
	for _, word := range strings.Fields(text) {
		kept := strings.Map(func(r rune) rune {
			if pdf.Shows(string(r)) {
				return r
			}
			return -1
		}, word)
		switch {
		case kept == word:
			out.WriteString(" " + word)
			gap = false
		case gap:
			out.WriteString(strings.Trim(kept, "[…]"))
		default:
			*s.replaced, gap = true, true
			out.WriteString(" " + opening(kept) + "[…]" + strings.TrimPrefix(kept, opening(kept)))
		}
	}
	return strings.TrimSpace(out.String())
}

// opening is the quotation mark that a word begins with, if any.
func opening(word string) string {
	for _, mark := range []string{"“", "„"} {
		if strings.HasPrefix(word, mark) {
			return mark
		}
	}
	return ""
}

func (s *sheet) list(l List) {
	if len(l.Items) == 0 {
		return
	}
	s.paragraph(l.Title, headingFont, ink)
	s.y += 0.3
	for _, item := range l.Items {
		for i, line := range bodyFont.Wrap(s.legible(item), s.width-2.6) {
			s.y += bodyFont.SizeMM * leading
			if i == 0 {
				s.text(s.x+0.4, "–", bodyFont, ink)
			}
			s.text(s.x+2.6, line, bodyFont, ink)
		}
	}
	s.y += between
}

// columns sets what to look at and the medicines beside the other tables, and returns the lower ends of
// both.
func (s *sheet) columns(p *Page) (left, right float64) {
	const share = 0.56
	a, b := *s, *s
	a.width = s.width*share - 4
	b.x, b.width = s.x+s.width*share, s.width*(1-share)
	a.list(p.Look)
	a.table(p.Medicines)
	b.table(p.Dose)
	b.table(p.Labs)
	return a.y, b.y
}

// columnHeights are the heights of the two columns.
func (p *Page) columnHeights() (left, right float64) {
	replaced := false
	return (&sheet{width: p.Paper.WidthMM - 2*margin, replaced: &replaced}).columns(p)
}

// table sets a table.
func (s *sheet) table(t Table) {
	if len(t.Rows) == 0 {
		return
	}
	if len(t.Over) == 0 {
		s.paragraph(t.Title, headingFont, ink)
		s.y += 0.3
	} else {
		texts, widths, column := []string{}, []float64{}, 0
		for _, over := range t.Over {
			width := 0.0
			for range over.Columns {
				width += t.Shares[column]
				column++
			}
			texts, widths = append(texts, over.Text), append(widths, width)
		}
		texts[0] = t.Title
		s.row(texts, widths, pdf.Font{SizeMM: bodyFont.SizeMM, Bold: true}, ink)
	}
	s.row(t.Heads, t.Shares, noteFont, grey)
	s.rule()
	for _, row := range t.Rows {
		s.row(row, t.Shares, bodyFont, ink)
	}
	for _, note := range t.Notes {
		s.paragraph(note, noteFont, grey)
	}
	s.y += between
}

func (s *sheet) row(cells []string, shares []float64, font pdf.Font, color pdf.Color) {
	top, bottom, x := s.y, s.y, s.x
	for i, cell := range cells {
		width := shares[i]
		if i > 0 && i+1 < len(cells) && cells[i+1] == "" { // room of an empty cell
			width += shares[i+1]
		}
		column := sheet{doc: s.doc, x: x, y: top, width: width/100*s.width - 1.2, replaced: s.replaced}
		column.paragraph(cell, font, color)
		bottom = max(bottom, column.y)
		x += shares[i] / 100 * s.width
	}
	s.y = bottom + 0.15
}

func (s *sheet) rule() {
	s.y += 0.7
	if s.doc != nil {
		s.doc.Line(pdf.Stroke{WidthMM: 0.15, Color: bar}, pdf.Point{X: s.x, Y: s.y}, pdf.Point{X: s.x + s.width, Y: s.y})
	}
}
