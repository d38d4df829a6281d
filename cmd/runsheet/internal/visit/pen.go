package visit

import (
	"fmt"
	"html"
	"strconv"
	"strings"

	"runsheet.example/cmd/runsheet/internal/pdf"
)

// pen draws a chart; lengths are in millimetres from its upper left corner.
type pen interface {
	line(stroke pdf.Stroke, points ...pdf.Point)
	fill(color pdf.Color, points ...pdf.Point)
	dot(color pdf.Color, x, y, diameter float64)
	// text writes a line at a baseline; at 0 it begins at x, at 1 it ends
	// there, at 0.5 it is centred.
	text(x, y, at float64, s string, font pdf.Font, color pdf.Color)
}

// The colors of the page: on white, ink and grey text have a contrast of 17:1
// and 6.6:1, marks of 8.9:1, bars and lines of 4.6:1 (WCAG 2.2 asks for 4.5:1
// and 3:1). None carries a meaning.
const (
	ink  pdf.Color = 0x1A1A1A
	grey pdf.Color = 0x595959
	mark pdf.Color = 0x1F4E79
	bar  pdf.Color = 0x747474
)

// paperPen draws on a PDF page, with its corner at x, y.
type paperPen struct {
	doc  *pdf.Doc
	x, y float64
}

func (p paperPen) moved(points []pdf.Point) []pdf.Point {
	moved := make([]pdf.Point, len(points))
	for i, q := range points {
		moved[i] = pdf.Point{X: q.X + p.x, Y: q.Y + p.y}
	}
	return moved
}

func (p paperPen) line(stroke pdf.Stroke, points ...pdf.Point) {
	p.doc.Line(stroke, p.moved(points)...)
}
func (p paperPen) fill(color pdf.Color, points ...pdf.Point) { p.doc.Fill(color, p.moved(points)...) }
func (p paperPen) dot(color pdf.Color, x, y, diameter float64) {
	p.doc.Dot(color, x+p.x, y+p.y, diameter)
}
func (p paperPen) text(x, y, at float64, s string, font pdf.Font, color pdf.Color) {
	p.doc.Text(x+p.x-at*font.WidthMM(s), y+p.y, s, font, color)
}

// svgPen writes the elements of an SVG image.
type svgPen struct{ strings.Builder }

// mm writes a length with two decimals.
func mm(v float64) string {
	return strings.TrimSuffix(strings.TrimRight(strconv.FormatFloat(v, 'f', 2, 64), "0"), ".")
}

func rgb(c pdf.Color) string { return fmt.Sprintf("#%06x", uint32(c)) }

func path(points []pdf.Point) string {
	parts := make([]string, len(points))
	for i, p := range points {
		parts[i] = mm(p.X) + " " + mm(p.Y)
	}
	return "M" + strings.Join(parts, "L")
}

func (s *svgPen) line(stroke pdf.Stroke, points ...pdf.Point) {
	dash := ""
	if stroke.DashMM > 0 {
		dash = ` stroke-dasharray="` + mm(stroke.DashMM) + `"`
	}
	fmt.Fprintf(s, `<path d="%s" fill="none" stroke="%s" stroke-width="%s"%s/>`, path(points), rgb(stroke.Color), mm(stroke.WidthMM), dash)
}

func (s *svgPen) fill(color pdf.Color, points ...pdf.Point) {
	fmt.Fprintf(s, `<path d="%sZ" fill="%s"/>`, path(points), rgb(color))
}

func (s *svgPen) dot(color pdf.Color, x, y, diameter float64) {
	fmt.Fprintf(s, `<circle cx="%s" cy="%s" r="%s" fill="%s"/>`, mm(x), mm(y), mm(diameter/2), rgb(color))
}

func (s *svgPen) text(x, y, at float64, text string, font pdf.Font, color pdf.Color) {
	anchor, weight := "", ""
	switch at {
	case 0.5:
		anchor = ` text-anchor="middle"`
	case 1:
		anchor = ` text-anchor="end"`
	}
	if font.Bold {
		weight = ` font-weight="bold"`
	}
	fmt.Fprintf(s, `<text x="%s" y="%s" font-size="%s"%s%s fill="%s">%s</text>`, mm(x), mm(y), mm(font.SizeMM), anchor, weight, rgb(color), html.EscapeString(text))
}
