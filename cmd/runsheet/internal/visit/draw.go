package visit

import (
	"slices"
	"time"

	"runsheet.example/cmd/runsheet/internal/pdf"
)

// form is the shape of a chart: its width, where titles stand, and the size of
// its letters. All lengths are in millimetres.
type form struct {
	width float64
	// beside puts titles left of the panels, in a column of this width; 0 puts
	// them above.
	beside float64
	// axis and right are the room for the numbers of an axis and for labels.
	axis, right float64
	letter      float64
}

// wide is the form for paper and for wide windows; narrow is legible in a
// window of 320 pixels.
func wide(width float64) form {
	return form{width: width, beside: 37, axis: 9, right: 20, letter: 2.2}
}

var narrow = form{width: 84, axis: 11, right: 23, letter: 3}

// canvas draws one chart.
type canvas struct {
	pen
	form
	c chart
	// left and end are the ends of the time axis.
	left, end float64
	small     pdf.Font
	strong    pdf.Font
}

// longestGap is the longest time without a value that a line crosses.
const longestGap = 14 * 24 * time.Hour

const (
	dayHeight = 2.6
	panelGap  = 2.8
)

func (f form) canvas(p pen, c chart) canvas {
	return canvas{pen: p, form: f, c: c, left: f.beside + f.axis, end: f.width - f.right,
		small: pdf.Font{SizeMM: f.letter}, strong: pdf.Font{SizeMM: f.letter * 1.1, Bold: true}}
}

// titleHeight is the height of the title above a panel.
func (f form) titleHeight() float64 {
	if f.beside > 0 {
		return 0
	}
	return f.letter * 2.1
}

// height is the height of a chart whose panels have a height.
func (f form) height(c chart, panel float64) float64 { return f.canvas(&svgPen{}, c).draw(panel) }

// x is the place of a time on the axis.
func (k canvas) x(t time.Time) float64 {
	days := t.Sub(k.c.first).Hours() / 24
	return k.left + days/float64(7*len(k.c.weeks))*(k.end-k.left)
}

// draw draws the whole chart and returns its height.
func (k canvas) draw(panelHeight float64) float64 {
	top := k.calendar()
	y := top
	var taken []rect
	for _, p := range k.c.panels {
		y += panelGap + k.titleHeight()
		taken = k.panel(p, y, y+panelHeight, taken)
		y += panelHeight
	}
	for _, change := range k.c.changes {
		if len(k.c.panels) == 0 {
			break // a stub would touch the label
		}
		x := k.x(change.at)
		k.line(pdf.Stroke{WidthMM: 0.2, DashMM: 0.5, Color: grey}, xy(x, top-0.4), xy(x, y))
	}
	return y + 1 + k.letter*0.72 // a number below the last axis
}

// calendar draws the weeks and returns the height of its lower end.
func (k canvas) calendar() float64 {
	y := k.letter * 1.2
	if k.beside > 0 {
		k.text(0, y+dayHeight, 0, k.c.title, k.strong, ink)
	} else {
		k.text(0, y, 0, k.c.title, k.strong, ink)
		y = k.legendBelow(y+k.letter*1.5) + k.letter*1.6
	}
	last := -1000.0
	for _, m := range k.c.months {
		if x := k.x(m.at); x > last+2 && x+k.small.WidthMM(m.text) < k.width {
			k.text(x, y, 0, m.text, k.small, grey)
			k.line(pdf.Stroke{WidthMM: 0.15, Color: bar}, xy(x, y+0.5), xy(x, y+1.3))
			last = x + k.small.WidthMM(m.text)
		}
	}
	y += 1.6
	top := y
	for i, name := range k.c.weekdays {
		row := y + dayHeight*(float64(i)+0.5)
		if i%2 == 0 || k.letter < 2.6 {
			k.text(k.left-1.2, row+k.letter*0.35, 1, name, k.small, grey)
		}
		for w := range k.c.weeks {
			k.day(k.c.first.AddDate(0, 0, 7*w+i), k.weekCenter(w), row)
		}
	}
	if k.beside > 0 {
		k.legendRight(top)
	}
	y = k.counts(y + 7*dayHeight)
	return k.changeLabels(y)
}

func (k canvas) weekWidth() float64 { return (k.end - k.left) / float64(len(k.c.weeks)) }

func (k canvas) weekCenter(w int) float64 { return k.left + k.weekWidth()*(float64(w)+0.5) }

// day draws the marks of one day side by side.
func (k canvas) day(d time.Time, x, y float64) {
	if d.Before(k.c.from) || d.After(k.c.to) {
		return
	}
	marks := k.c.days[d]
	if len(marks) == 0 {
		k.mark(noRow, x, y, 1.6)
		return
	}
	size := min(1.9, k.weekWidth()*0.85/float64(len(marks)))
	for i, s := range marks {
		k.mark(s, x+(float64(i)-float64(len(marks)-1)/2)*size*1.1, y, size)
	}
}

// noRow marks a day without a row in the log.
const noRow = heldBack + 1

// mark draws the shape of a status: a disc, a triangle, a cross, a square or a
// point.
func (k canvas) mark(s status, x, y, size float64) {
	r := size / 2
	thin := pdf.Stroke{WidthMM: size * 0.16, Color: ink}
	switch s {
	case done:
		k.dot(mark, x, y, size)
	case cutShort:
		k.fill(ink, xy(x-r, y+r), xy(x+r, y+r), xy(x-r, y-r))
	case notDone:
		k.line(thin, xy(x-r, y-r), xy(x+r, y+r))
		k.line(thin, xy(x-r, y+r), xy(x+r, y-r))
	case heldBack:
		k.line(thin, xy(x-r, y-r), xy(x+r, y-r), xy(x+r, y+r), xy(x-r, y+r), xy(x-r, y-r))
	default:
		k.dot(bar, x, y, 0.45)
	}
}

func (k canvas) legendRight(y float64) {
	for i, name := range k.c.legend {
		at := y + float64(i)*k.letter*1.35 + 1
		k.mark(status(i), k.end+2.2, at, 1.7)
		k.text(k.end+4, at+k.letter*0.35, 0, name, k.small, ink)
	}
}

// legendBelow draws the legend in lines, and returns the last one's baseline.
func (k canvas) legendBelow(y float64) float64 {
	x := 1.0
	for i, name := range k.c.legend {
		width := 5 + k.small.WidthMM(name)
		if x+width > k.width {
			x, y = 1, y+k.letter*1.4
		}
		k.mark(status(i), x, y-k.letter*0.35, 2)
		k.text(x+2, y, 0, name, k.small, ink)
		x += width
	}
	return y
}

// counts writes the sessions done of those prescribed below each week: in one
// line with a bracket, or in two lines of digits where weeks are narrow.
func (k canvas) counts(y float64) float64 {
	widest := 0.0
	for _, text := range k.c.weekText {
		widest = max(widest, k.small.WidthMM(text))
	}
	half := k.weekWidth()/2 - 0.3
	for w := range k.c.weeks {
		x := k.weekCenter(w)
		k.line(pdf.Stroke{WidthMM: 0.15, Color: bar}, xy(x-half, y+0.2), xy(x-half, y+0.8), xy(x+half, y+0.8), xy(x+half, y+0.2))
	}
	y += 0.8 + k.letter
	if widest < k.weekWidth()-0.6 {
		for w, text := range k.c.weekText {
			k.text(k.weekCenter(w), y, 0.5, text, k.small, ink)
		}
		if k.beside > 0 {
			k.text(0, y, 0, k.c.doneOf[0]+", "+k.c.doneOf[1], k.small, grey)
		}
		return y + k.letter*1.3
	}
	digits := k.narrowDigits()
	for w, one := range k.c.weeks {
		if k.beside > 0 || w%4 == 0 {
			count, below := itoa(one.done), one.planned
			if one.held > 0 {
				count += "+"
			}
			k.text(k.weekCenter(w), y, 0.5, count, digits, ink)
			switch x := k.left + k.weekWidth()*float64(w); {
			case !one.part:
				k.text(k.weekCenter(w), y+k.letter*1.15, 0.5, below, digits, grey)
			case w == 0:
				k.text(x+k.weekWidth(), y+k.letter*1.15, 1, k.c.part, digits, grey)
			default:
				k.text(x, y+k.letter*1.15, 0, k.c.part, digits, grey)
			}
		}
	}
	if k.beside > 0 {
		k.text(0, y, 0, k.c.doneOf[0], k.small, ink)
		k.text(0, y+k.letter*1.15, 0, k.c.doneOf[1], k.small, grey)
	}
	return y + k.letter*1.3
}

// narrowDigits is the font of counts in narrow weeks, at least 2.1 mm.
func (k canvas) narrowDigits() pdf.Font { return pdf.Font{SizeMM: max(2.1, k.letter*0.95)} }

// changeLabels names the changes once, at the head of their lines.
func (k canvas) changeLabels(y float64) float64 {
	y += k.letter * 1.2
	var ends []float64 // of the labels of each line
	for _, change := range k.c.changes {
		width := k.small.WidthMM(change.text)
		x := min(k.x(change.at), k.width-width)
		row := slices.IndexFunc(ends, func(end float64) bool { return x >= end })
		if row < 0 {
			row, ends = len(ends), append(ends, 0)
		}
		k.text(x, y+k.letter*1.2*float64(row), 0, change.text, k.small, ink)
		ends[row] = x + width + 2
	}
	return y + 0.4 + k.letter*1.2*float64(max(0, len(ends)-1))
}
