package workbook

import (
	"strings"

	"github.com/xuri/excelize/v2"

	"runsheet.example/fhirmap/session"
	"runsheet.example/profiles"
)

// styles are the styles of cells, by their content.
type styles struct {
	title, lead, plain, label, help, part, name int
	heading                                     [profiles.PartOther + 1]int
	sample, sampleHead                          int
	table, answer                               valueStyles
}

// valueStyles are the looks of cells to fill in, by what is written in them.
type valueStyles struct {
	number, words, date, clock, seconds, typed, id int
	fixed                                          map[int]int // numbers with so many decimals
}

// The colours are light enough to print in black and white; none of them is
// the only sign of anything.
var groupColours = [...]string{
	profiles.PartPlan: "E7E6E6", profiles.PartBefore: "DDEBF7", profiles.PartAfter: "E2EFDA",
	profiles.PartFluid: "FFF2CC", profiles.PartMachine: "EDEDED", profiles.PartOther: "F8E8DC",
}

const (
	lineColour = "A6A6A6"
	ink        = "1F1F1F"
	greyInk    = "595959"
	partColour = "D9E1F2"
)

// size is the size of the letters in points.
func (w *writer) size() float64 {
	if w.opts.LargePrint {
		return 19
	}
	return 13
}

// guideSize is the size of the instructions, which fill one page.
func (w *writer) guideSize() float64 { return w.size() - 2 }

func (w *writer) newStyle(s excelize.Style) int {
	if s.Font == nil {
		s.Font = &excelize.Font{}
	}
	s.Font.Family = fontName
	if s.Font.Size == 0 {
		s.Font.Size = w.size()
	}
	if s.Font.Color == "" {
		s.Font.Color = ink
	}
	id, err := w.file.NewStyle(&s)
	w.do(err)
	return id
}

func border() []excelize.Border {
	var all []excelize.Border
	for _, side := range []string{"left", "right", "top", "bottom"} {
		all = append(all, excelize.Border{Type: side, Color: lineColour, Style: 1})
	}
	return all
}

func fill(colour string) excelize.Fill {
	return excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{colour}}
}

// makeStyles makes every style once.
func (w *writer) makeStyles() {
	s, size := &w.styles, w.size()
	wrap := &excelize.Alignment{WrapText: true, Vertical: "top"}
	s.title = w.newStyle(excelize.Style{Font: &excelize.Font{Bold: true, Size: size + 7}})
	s.lead = w.newStyle(excelize.Style{Font: &excelize.Font{Bold: true, Size: size - 1}, Alignment: &excelize.Alignment{Vertical: "bottom"}})
	s.plain = w.newStyle(excelize.Style{Font: &excelize.Font{Size: w.guideSize()}, Alignment: wrap})
	s.label = w.newStyle(excelize.Style{Alignment: &excelize.Alignment{WrapText: true, Vertical: "center"}})
	s.help = w.newStyle(excelize.Style{Font: &excelize.Font{Size: size - 2, Color: greyInk}, Alignment: &excelize.Alignment{WrapText: true, Vertical: "center"}})
	s.part = w.newStyle(excelize.Style{Font: &excelize.Font{Bold: true, Size: size + 1}, Fill: fill(partColour), Alignment: &excelize.Alignment{Vertical: "center"}})
	s.name = w.newStyle(excelize.Style{Font: &excelize.Font{Size: size - 4, Color: greyInk}})
	s.sampleHead = w.newStyle(excelize.Style{Font: &excelize.Font{Bold: true, Size: size - 1}, Border: border(), Fill: fill(groupColours[profiles.PartPlan]), Alignment: &excelize.Alignment{WrapText: true, Vertical: "center", Horizontal: "center"}})
	s.sample = w.newStyle(excelize.Style{Font: &excelize.Font{Size: size - 1}, Border: border(), Alignment: &excelize.Alignment{Horizontal: "center", Vertical: "center", ShrinkToFit: true}})
	for g, colour := range groupColours {
		s.heading[g] = w.newStyle(excelize.Style{
			Font: &excelize.Font{Bold: true, Size: size - 3}, Fill: fill(colour), Border: border(),
			Alignment: &excelize.Alignment{WrapText: true, Vertical: "center", Horizontal: "center"},
		})
	}
	s.table, s.answer = w.valueStyles("center"), w.valueStyles("left")
}

// valueStyles makes the styles of cells to fill in, with their formats;
// across is the horizontal alignment of numbers, dates and times.
func (w *writer) valueStyles(across string) valueStyles {
	style := func(format, across string) int {
		style := excelize.Style{Border: border(), Alignment: &excelize.Alignment{Horizontal: across, Vertical: "center", WrapText: across == "left", ShrinkToFit: across != "left"}}
		if format != "" {
			style.CustomNumFmt = &format
		}
		return w.newStyle(style)
	}
	v := valueStyles{
		number: style("", across), words: style("", "left"), typed: style("@", "left"),
		date: style(w.opts.Locale.date, across), clock: style(w.opts.Locale.clock, across), seconds: style("hh:mm:ss", across),
		fixed: map[int]int{},
	}
	text := "@"
	v.id = w.newStyle(excelize.Style{Border: border(), CustomNumFmt: &text, Alignment: &excelize.Alignment{Horizontal: "left", Vertical: "center", ShrinkToFit: true}})
	for decimals := 1; decimals <= maxDecimals; decimals++ {
		v.fixed[decimals] = style("0."+strings.Repeat("0", decimals), across)
	}
	return v
}

// maxDecimals is the most decimals a number format of ours shows; a number
// with more is kept as text when it ends in zero.
const maxDecimals = 6

// ofKind is the style of a column's empty cells.
func (s *valueStyles) ofKind(kind session.Kind) int {
	switch kind {
	case session.KindNumber:
		return s.number
	case session.KindDate:
		return s.date
	case session.KindTime:
		return s.clock
	case session.KindID:
		// As text, a name such as 2025-11-03 is not turned into a date.
		return s.id
	default:
		return s.words
	}
}
