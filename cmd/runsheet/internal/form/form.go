// Package form draws an empty log on paper, to fill in with a pen at the
// machine: an overview of the month, and a page for one session in the order of
// the treatment. Its columns, words and units are those of the workbook.
package form

import (
	"runsheet.example/cmd/runsheet/internal/pdf"
	"runsheet.example/cmd/runsheet/internal/steps"
	"runsheet.example/fhirmap/session"
	"runsheet.example/profiles"
	"runsheet.example/validate/issue"
)

// Options are the choices of a form.
type Options struct {
	Paper pdf.Paper
	// LargePrint sets larger letters and fields; a session then takes the front
	// and the back of a sheet, and its tables have fewer columns.
	LargePrint bool
	// Short leaves out what is looked at and used before a treatment.
	Short    bool
	Units    session.Units
	Language issue.Language
}

// Lengths in millimetres.
const (
	marginMM = 10.0
	gapMM    = 1.6  // between steps
	bandMM   = 24.0 // the title of a step beside its fields
	boxMM    = 3.0
	// narrowestMM is a column that three digits fit in, written by hand.
	narrowestMM = 12.0
)

const (
	entryRows = 3 // for medicines, and for events
	// readingRows is the least number of readings that a session has room for,
	// mostReadingRows the most: one each half hour of a night.
	readingRows, mostReadingRows = 5, 16
)

var (
	ink   = pdf.Color(0x1a1a1a)
	rule  = pdf.Stroke{WidthMM: 0.2, Color: 0x707070}
	shade = pdf.Color(0xececec)
)

// page is a document under construction and the place of the next step.
type page struct {
	*pdf.Doc
	Options
	y     float64
	label pdf.Font
	title pdf.Font
	rowMM float64 // the height that a pen needs
}

// Bytes returns the form as a PDF file; the same options give the same bytes.
func Bytes(opts Options) ([]byte, error) {
	p := &page{Doc: pdf.New(opts.Language.Text(issue.T("Home dialysis run sheet")), string(opts.Language), opts.Paper), Options: opts,
		label: pdf.Font{SizeMM: 2.5}, title: pdf.Font{SizeMM: 3.4, Bold: true}, rowMM: 7}
	if opts.LargePrint {
		p.label.SizeMM, p.title.SizeMM, p.rowMM = 3.6, 4.8, 9.5
	}
	p.month()
	p.session()
	return p.Doc.Bytes()
}

func (p *page) text(key string, args ...any) string { return p.Language.Text(issue.T(key, args...)) }

// fieldsPerLine is how many numbers are side by side.
func (p *page) fieldsPerLine() int {
	if p.LargePrint {
		return 3
	}
	return 5
}

func (p *page) width() float64  { return p.Paper.WidthMM - 2*marginMM }
func (p *page) bottom() float64 { return p.Paper.HeightMM - marginMM - 6 }

// begin starts a page with its heading and the line at its foot.
func (p *page) begin(heading, right string) {
	p.AddPage()
	p.y = marginMM
	big := pdf.Font{SizeMM: p.title.SizeMM * 1.3, Bold: true}
	p.Text(marginMM, p.y+big.SizeMM*0.8, heading, big, ink)
	p.TextRight(marginMM+p.width(), p.y+big.SizeMM*0.8, right, p.label, ink)
	p.y += big.SizeMM * 1.5
	foot := pdf.Font{SizeMM: 2.2}
	p.Text(marginMM, p.Paper.HeightMM-marginMM-foot.SizeMM*1.2, p.text("Write the arterial pressure with its minus, and copy everything into the log soon after the treatment."), foot, ink)
	p.Text(marginMM, p.Paper.HeightMM-marginMM, p.text("A record only: follow your prescription, your training and your care team."), foot, ink)
}

// room starts another page when the next step needs more height than is left.
func (p *page) room(heightMM float64) {
	if p.y+heightMM > p.bottom() {
		p.begin(p.text("Session, continued"), p.text("Name or number ______________________   Date ______________"))
	}
}

// heading writes the title of a step and returns the height it takes.
func (p *page) heading(title string) {
	height := p.title.SizeMM * 1.35
	p.FillRect(shade, marginMM, p.y, p.width(), height)
	p.Text(marginMM+1, p.y+p.title.SizeMM, p.text(title), p.title, ink)
	p.y += height
}

func (p *page) headingMM() float64 { return p.title.SizeMM * 1.35 }

// month draws a row for each day.
func (p *page) month() {
	p.begin(p.text("The month"), p.text("Name or number ______________________   Month ______________"))
	columns := []session.Column{{Title: "Date", Width: 11}, session.Headed(session.SheetSessions, "status")}
	columns[1].Width = 1 // no more than the boxes need
	for _, c := range p.Units.ColumnsOf(session.SheetSessions) {
		if c.Kind == session.KindNumber && c.Filled == profiles.ByAll && c.Field != "pulse_before" && c.Field != "pulse_after" && c.Field != "dialysate_volume" {
			c.Title, c.Width = session.Headed(c.Sheet, c.Name).Title, 11
			columns = append(columns, c)
		}
	}
	columns = append(columns, session.Column{Title: "Notes", Width: 24})
	p.table(columns, 31, min(p.rowMM, (p.bottom()-p.y-p.tableHeadMM(columns))/31))
}

// session draws one session in the order of the treatment.
func (p *page) session() {
	p.begin(p.text("Session"), p.text("Name or number ______________________   Sheet ______ of the month"))
	for _, step := range steps.All {
		if step.ID == "labs" || p.Short && step.ID == "checks" {
			continue // the laboratory's results come later, on its own paper
		}
		columns := p.columns(step)
		switch step.ID {
		case "checks":
			p.checks(step)
		case "readings":
			p.rows(step, columns, p.readings())
		case "medicines", "events":
			p.rows(step, columns, entryRows)
		default:
			p.fields(step, columns)
		}
	}
}

// columns are those of a step that most people fill in, in the tables of large
// print those that all do.
func (p *page) columns(step steps.Step) []session.Column {
	most := profiles.ByMost
	if p.LargePrint && step.Sheet != session.SheetSessions {
		most = profiles.ByAll
	}
	var out []session.Column
	for _, c := range p.Units.ColumnsOf(step.Sheet) {
		if step.Has(c) && c.Filled <= most {
			c.Title = session.Headed(c.Sheet, c.Name).Title // in these units
			out = append(out, c)
		}
	}
	return out
}

// readings is how many rows of readings fit on the page with all other steps.
func (p *page) readings() int {
	if p.LargePrint {
		return readingRows
	}
	var rest float64
	seen := false // steps before the readings are drawn already
	for _, step := range steps.All {
		switch {
		case step.ID == "labs":
		case step.ID == "readings":
			seen = true
			rest += p.headingMM() + p.tableHeadMM(p.columns(step)) + gapMM
		case !seen:
		case step.Sheet == session.SheetSessions:
			rest += p.fieldsMM(p.columns(step))
		default:
			rest += p.headingMM() + p.tableHeadMM(p.columns(step)) + entryRows*p.rowMM + p.wordsMM(p.columns(step)) + gapMM
		}
	}
	return min(max(int((p.bottom()-p.y-rest)/p.rowMM), readingRows), mostReadingRows)
}

// label returns the title of a column and its unit.
func (p *page) labelOf(c session.Column) string {
	title, unit := session.Words(c)
	if unit == "" {
		return p.text(title)
	}
	return p.text(title) + " (" + p.text(unit) + ")"
}
