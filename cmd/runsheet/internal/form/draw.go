package form

import (
	"strings"

	"runsheet.example/cmd/runsheet/internal/pdf"
	"runsheet.example/cmd/runsheet/internal/steps"
	"runsheet.example/fhirmap/session"
	"runsheet.example/profiles"
)

// rows draws a step whose entries are rows of a sheet of their own.
func (p *page) rows(step steps.Step, columns []session.Column, n int) {
	p.room(p.headingMM() + p.tableHeadMM(columns) + float64(n)*p.rowMM + p.wordsMM(columns))
	p.heading(step.Title)
	p.table(columns, n, p.rowMM)
	for _, line := range p.words(columns) {
		p.y += p.label.SizeMM * 1.2
		p.Text(marginMM, p.y, line, p.small(), ink)
	}
	p.y += gapMM
}

// small are letters for what is read once.
func (p *page) small() pdf.Font { return pdf.Font{SizeMM: p.label.SizeMM * 0.85} }

// words are the words that a log takes in the columns of a table, line by line.
func (p *page) words(columns []session.Column) []string {
	var all []string
	for _, c := range columns {
		if c.Kind != session.KindChoice {
			continue
		}
		var choices []string
		for _, choice := range c.Choices {
			choices = append(choices, p.text(choice))
		}
		all = append(all, p.labelOf(c)+": "+strings.Join(choices, ", "))
	}
	return p.small().Wrap(strings.Join(all, ". "), p.width())
}

func (p *page) wordsMM(columns []session.Column) float64 {
	return float64(len(p.words(columns))) * p.label.SizeMM * 1.2
}

// widths shares the width of the page among columns: at least what the longest
// word of a title needs, and the rest as a workbook would.
func (p *page) widths(columns []session.Column) []float64 {
	least, wanted := make([]float64, len(columns)), make([]float64, len(columns))
	left, sum := p.width(), 0.0
	for i, c := range columns {
		least[i] = max(p.longestMM(p.labelOf(c))+1.6, narrowestMM)
		if c.Field == "status" {
			least[i] = p.boxes(0, 0, nil, c.Choices, p.small())
		}
		wanted[i] = c.Width
		left -= least[i]
		sum += c.Width
	}
	for i := range least {
		least[i] += left * wanted[i] / sum
	}
	return least
}

// tableHeadMM is the height of a table's headings.
func (p *page) tableHeadMM(columns []session.Column) float64 {
	lines := 1
	for i, width := range p.widths(columns) {
		lines = max(lines, len(p.label.Wrap(p.labelOf(columns[i]), width-1)))
	}
	return float64(lines)*p.label.SizeMM*1.15 + 1
}

// table draws headings and n empty rows.
func (p *page) table(columns []session.Column, n int, rowMM float64) {
	head := p.tableHeadMM(columns)
	x, bottom := marginMM, p.y+head+float64(n)*rowMM
	for i, width := range p.widths(columns) {
		for j, line := range p.label.Wrap(p.labelOf(columns[i]), width-1) {
			p.Text(x+0.6, p.y+float64(j+1)*p.label.SizeMM*1.15, line, p.label, ink)
		}
		p.Line(rule, pdf.Point{X: x, Y: p.y}, pdf.Point{X: x, Y: bottom})
		if columns[i].Field == "status" {
			for row := range n {
				p.boxes(x+0.6, p.y+head+(float64(row)+0.5)*rowMM, p.Doc, columns[i].Choices, p.small())
			}
		}
		x += width
	}
	p.Line(rule, pdf.Point{X: x, Y: p.y}, pdf.Point{X: x, Y: bottom})
	for row := range n + 1 {
		y := p.y + head + float64(row)*rowMM
		p.Line(rule, pdf.Point{X: marginMM, Y: y}, pdf.Point{X: x, Y: y})
	}
	p.y = bottom
}

// boxes draws choices to tick, one after another, centred on a height, and
// returns where they end. Without a document it only measures.
func (p *page) boxes(x, middle float64, on *pdf.Doc, choices []string, font pdf.Font) float64 {
	side := min(boxMM, font.SizeMM*1.1)
	for _, choice := range choices {
		word := p.text(choice)
		if on != nil {
			on.Rect(rule, x, middle-side/2, side, side)
			on.Text(x+side+0.6, middle+font.SizeMM*0.35, word, font, ink)
		}
		x += side + 2.2 + font.WidthMM(word)
	}
	return x
}

// field is a label over a place to write in, one or more units wide.
type field struct {
	session.Column
	span int
}

// lines breaks the fields of a step into lines. Words take the place of two
// numbers, and the last field of a line what is left of it.
func (p *page) lines(columns []session.Column) [][]field {
	var lines [][]field
	used := p.fieldsPerLine()
	for _, c := range columns {
		f := field{c, 1}
		if c.Kind == session.KindText || c.Kind == session.KindChoice {
			f.span = 2
		}
		if used+f.span > p.fieldsPerLine() {
			lines, used = append(lines, nil), 0
		}
		line := &lines[len(lines)-1]
		*line = append(*line, f)
		used += f.span
		if f.Field == "notes" {
			(*line)[len(*line)-1].span += p.fieldsPerLine() - used
		}
	}
	return lines
}

func (p *page) fieldMM() float64 { return p.label.SizeMM*1.3 + p.rowMM }

func (p *page) fieldsMM(columns []session.Column) float64 {
	return float64(len(p.lines(columns)))*p.fieldMM() + gapMM
}

// fields draws a step that is a part of the row of the session, its title at
// the left.
func (p *page) fields(step steps.Step, columns []session.Column) {
	if len(columns) == 0 {
		return
	}
	p.room(p.fieldsMM(columns))
	lines := p.lines(columns)
	p.FillRect(shade, marginMM, p.y, bandMM, float64(len(lines))*p.fieldMM())
	title := p.title
	title.SizeMM *= 0.85
	for i, line := range title.Wrap(p.text(step.Title), bandMM-2) {
		p.Text(marginMM+1, p.y+float64(i+1)*title.SizeMM*1.2, line, title, ink)
	}
	unit := (p.width() - bandMM) / float64(p.fieldsPerLine())
	for _, line := range lines {
		x := marginMM + bandMM
		for _, f := range line {
			width := unit * float64(f.span)
			p.Rect(rule, x, p.y, width, p.fieldMM())
			p.fitted(x+0.8, p.y+p.label.SizeMM*1.1, p.labelOf(f.Column), width-1.2)
			if f.Kind == session.KindChoice {
				p.boxes(x+0.8, p.y+p.label.SizeMM*1.3+p.rowMM/2, p.Doc, f.Choices, p.label)
			}
			x += width
		}
		p.y += p.fieldMM()
	}
	p.y += gapMM
}

// fitted writes a label in the largest letters, up to those of labels, that fit.
func (p *page) fitted(x, y float64, text string, widthMM float64) {
	font := p.label
	if width := font.WidthMM(text); width > widthMM {
		font.SizeMM *= widthMM / width
	}
	p.Text(x, y, text, font, ink)
}

// checks draws what is commonly looked at before a treatment: boxes to tick, a
// number with its unit, or the lot and the last day of use.
func (p *page) checks(step steps.Step) {
	kinds, side := profiles.CheckKinds(), 3
	if p.LargePrint {
		side = 2
	}
	rowMM, each, width := p.rowMM*0.8, (len(kinds)+side-1)/side, p.width()/float64(side)
	p.room(p.headingMM() + float64(each)*rowMM)
	p.heading(step.Title)
	for i, kind := range kinds {
		x, y := marginMM+float64(i/each)*width, p.y+float64(i%each)*rowMM
		middle := y + rowMM/2
		p.Rect(rule, x, y, width, rowMM)
		p.fitted(x+0.8, middle+p.label.SizeMM*0.35, p.text(kind.Name), width*0.4-2)
		switch {
		case kind.Field == "check_supplies":
			p.Text(x+width*0.4, middle+p.label.SizeMM*0.35, p.text("Lot"), p.label, ink)
			p.Text(x+width*0.7, middle+p.label.SizeMM*0.35, p.text("Until"), p.label, ink)
		case kind.Sign:
			p.boxes(x+width*0.4, middle, p.Doc, []string{"no", "yes"}, p.label)
		default:
			p.boxes(x+width*0.4, middle, p.Doc, []string{"ok", "not ok"}, p.label)
		}
		if len(kind.Units) > 0 {
			p.Line(rule, pdf.Point{X: x + width*0.76, Y: y + rowMM*0.8}, pdf.Point{X: x + width*0.97, Y: y + rowMM*0.8})
		}
	}
	p.y += float64(each)*rowMM + gapMM
}

// longestMM is the width of the longest word of a text.
func (p *page) longestMM(text string) float64 {
	longest := 0.0
	for _, word := range strings.Fields(text) {
		longest = max(longest, p.label.WidthMM(word))
	}
	return longest
}
