// Package pdf draws pages of text and simple shapes on paper of a fixed size.
//
// All lengths are in millimetres from the upper left corner of the page; y
// grows downwards. The same calls give the same bytes: there is no date, no
// random identifier and no name of a machine in the file. The font is embedded
// as a subset, so that text can be selected, searched and read aloud; the file
// is not tagged, so a page that must be accessible needs an HTML form as well.
package pdf

import (
	"bytes"
	"fmt"
	"strings"
	"time"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/font/gofont/goregular"
)

// Paper is a sheet of paper in portrait format.
type Paper struct {
	Name              string
	WidthMM, HeightMM float64
}

// A4 (ISO 216) and Letter (ANSI/ASME Y14.1) are the papers that printers at
// home and in clinics hold.
var (
	A4     = Paper{"a4", 210, 297}
	Letter = Paper{"letter", 215.9, 279.4}
)

// Ours reports whether a file was made by this package, by its first bytes.
func Ours(head []byte) bool { return bytes.Contains(head, []byte("/Producer (runsheet)")) }

// ParsePaper returns the paper of a name in any case; "" means A4.
func ParsePaper(name string) (Paper, error) {
	switch strings.ToLower(name) {
	case "", A4.Name:
		return A4, nil
	case Letter.Name:
		return Letter, nil
	default:
		return Paper{}, fmt.Errorf("unknown paper %q: expected %s or %s", name, A4.Name, Letter.Name)
	}
}

// Color is red, green and blue as 0xRRGGBB. The zero value is black.
type Color uint32

// White is the color of the paper.
const White Color = 0xFFFFFF

func (c Color) rgb() (red, green, blue int) {
	return int(c >> 16 & 255), int(c >> 8 & 255), int(c & 255)
}

// Stroke is how a line is drawn. DashMM is the length of dashes and of the
// gaps between them; 0 draws a solid line.
type Stroke struct {
	WidthMM, DashMM float64
	Color           Color
}

// Point is a place on the page.
type Point struct{ X, Y float64 }

// Doc is a document under construction.
type Doc struct {
	out *fpdf.Fpdf
	// last is what the page's graphics state has; it saves bytes to set only
	// what changes.
	last struct {
		font   Font
		stroke Stroke
		round  bool
	}
}

// New returns a document without pages. The title is what a reader shows in
// its window, lang the language of the text (BCP 47, such as "de").
func New(title, lang string, paper Paper) *Doc {
	out := fpdf.NewCustom(&fpdf.InitType{UnitStr: "mm", Size: fpdf.SizeType{Wd: paper.WidthMM, Ht: paper.HeightMM}})
	out.SetCatalogSort(true)
	epoch := time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC) // the format demands a date
	out.SetCreationDate(epoch)
	out.SetModificationDate(epoch)
	out.SetProducer("runsheet", false)
	out.SetTitle(title, true)
	out.SetLang(lang)
	out.SetAutoPageBreak(false, 0)
	out.SetMargins(0, 0, 0)
	out.AddUTF8FontFromBytes(family, "", goregular.TTF)
	return &Doc{out: out}
}

const family = "Go"

// AddPage begins the next page.
func (d *Doc) AddPage() {
	d.out.AddPage()
	d.last.font, d.last.stroke, d.last.round = Font{}, Stroke{}, false
	d.out.SetLineCapStyle("butt")
	d.out.SetTextRenderingMode(0)
}

// Text writes one line; x is its left end and y its baseline. A character that
// the font does not hold prints as "?"; ask [Shows] first.
func (d *Doc) Text(x, y float64, s string, font Font, color Color) {
	if d.last.font.SizeMM != font.SizeMM {
		d.out.SetFont(family, "", 0)
		d.out.SetFontUnitSize(font.SizeMM)
	}
	if d.last.font.Bold != font.Bold {
		d.out.SetTextRenderingMode(map[bool]int{false: 0, true: 2}[font.Bold])
	}
	d.last.font = font
	if font.Bold {
		d.set(Stroke{WidthMM: font.SizeMM * boldness, Color: color}, false)
	}
	d.out.SetTextColor(color.rgb())
	d.out.Text(x, y, printable(s))
}

// boldness is the outline that makes letters bold, in parts of their size. A
// second typeface would take a quarter of the size of a page.
const boldness = 0.035

// TextRight writes one line that ends at x.
func (d *Doc) TextRight(x, y float64, s string, font Font, color Color) {
	d.Text(x-font.WidthMM(s), y, s, font, color)
}

// Line draws a line through points.
func (d *Doc) Line(stroke Stroke, points ...Point) {
	d.set(stroke, false)
	d.path(points)
	d.out.DrawPath("D")
}

// Polygon draws the outline of an area.
func (d *Doc) Polygon(stroke Stroke, points ...Point) {
	d.set(stroke, false)
	d.path(points)
	d.out.ClosePath()
	d.out.DrawPath("D")
}

// Fill fills an area.
func (d *Doc) Fill(color Color, points ...Point) {
	d.out.SetFillColor(color.rgb())
	d.path(points)
	d.out.DrawPath("F")
}

// Rect draws the outline of a rectangle whose upper left corner is x, y.
func (d *Doc) Rect(stroke Stroke, x, y, width, height float64) {
	d.set(stroke, false)
	d.out.Rect(x, y, width, height, "D")
}

// FillRect fills a rectangle whose upper left corner is x, y.
func (d *Doc) FillRect(color Color, x, y, width, height float64) {
	d.out.SetFillColor(color.rgb())
	d.out.Rect(x, y, width, height, "F")
}

// Dot draws a filled circle: a line of no length with round ends, which takes
// a third of the bytes of four curves.
func (d *Doc) Dot(color Color, x, y, diameter float64) {
	d.set(Stroke{WidthMM: diameter, Color: color}, true)
	d.out.Line(x, y, x, y)
}

func (d *Doc) path(points []Point) {
	for i, p := range points {
		if i == 0 {
			d.out.MoveTo(p.X, p.Y)
		} else {
			d.out.LineTo(p.X, p.Y)
		}
	}
}

func (d *Doc) set(stroke Stroke, round bool) {
	if d.last.stroke != stroke {
		d.out.SetDrawColor(stroke.Color.rgb())
		d.out.SetLineWidth(stroke.WidthMM)
		if d.last.stroke.DashMM != stroke.DashMM {
			d.dash(stroke.DashMM)
		}
		d.last.stroke = stroke
	}
	if d.last.round != round {
		d.out.SetLineCapStyle(map[bool]string{false: "butt", true: "round"}[round])
		d.last.round = round
	}
}

func (d *Doc) dash(length float64) {
	if length == 0 {
		d.out.SetDashPattern(nil, 0)
		return
	}
	d.out.SetDashPattern([]float64{length, length}, 0)
}

// Bytes returns the finished file. It is an error to draw on no page.
func (d *Doc) Bytes() ([]byte, error) {
	var file bytes.Buffer
	if err := d.out.Output(&file); err != nil {
		return nil, fmt.Errorf("draw PDF: %w", err)
	}
	return file.Bytes(), nil
}
