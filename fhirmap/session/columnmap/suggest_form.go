package columnmap

import (
	"fmt"
	"strconv"
	"strings"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// suggestForm sketches a map of a workbook with one sheet for each session:
// most sheets have the same labels at the same places.
func suggestForm(sheets []session.Foreign) (*sketch, bool) {
	const fewestSheets, fewestLabels = 2, 4
	if len(sheets) < fewestSheets {
		return nil, false
	}
	labels := map[string]int{}
	for _, s := range sheets {
		for _, l := range formLabels(s) {
			labels[l.key()]++
		}
	}
	d := &sketch{dateAt: -1, samples: map[string][]string{}}
	d.line(`tab = "*"`)
	d.line(`layout = "form"`)
	first := sheets[0]
	block := blockRow(first)
	var dates, clocks []string
	comma, point := false, false
	for _, l := range formLabels(first) {
		if labels[l.key()]*5 < len(sheets)*4 || block > 0 && l.row >= block {
			continue
		}
		var all []string
		for _, s := range sheets {
			all = append(all, rowCell(s, l.row, l.column+1))
		}
		seen := lookAt(all)
		one, ok := classify(l.text, seen, false)
		if !ok {
			continue
		}
		one.cell = issue.ColumnLetters(l.column+2) + strconv.Itoa(l.row)
		comma, point = comma || seen.comma, point || seen.point
		switch one.fields[0] {
		case "date":
			dates = seen.texts
		case "start", "end":
			clocks = append(clocks, seen.texts...)
		}
		d.sample(one.heading, seen.texts)
		d.columns = append(d.columns, one)
	}
	if len(d.columns) < fewestLabels {
		return nil, false
	}
	d.dates(dates)
	if style := clockStyle(clocks); style != "" {
		d.line("time_form = %s", quoted(style))
	}
	if comma && !point {
		d.line(`decimal_mark = ","  # the only mark in the numbers`)
	}
	if block > 0 {
		d.block(sheets, block)
	}
	d.twice()
	return d, true
}

type formLabel struct {
	text        string
	row, column int
}

// formLabels are the texts with a known concept and a filled cell to their
// right.
func formLabels(s session.Foreign) []formLabel {
	var labels []formLabel
	for _, row := range s.Rows {
		if row.Number > 100 {
			break
		}
		for i, c := range row.Cells {
			text := strings.TrimSpace(strings.TrimRight(c.Text, ": "))
			if text != "" && !c.Number && len(text) < 60 && len(conceptsIn(text)) > 0 && row.Cell(i+1).Text != "" && len(conceptsIn(row.Cell(i+1).Text)) == 0 {
				labels = append(labels, formLabel{text, row.Number, i})
			}
		}
	}
	return labels
}

func rowCell(s session.Foreign, number, column int) string {
	for _, row := range s.Rows {
		if row.Number == number {
			return row.Cell(column).Text
		}
	}
	return ""
}

// blockRow is the row of headings of a block of readings on a form; 0 when
// there is none.
func blockRow(s session.Foreign) int {
	for _, row := range s.Rows {
		filled := 0
		for _, c := range row.Cells {
			if c.Text != "" {
				filled++
			}
		}
		if n := headingScore(s, row.Number); n >= 3 && n*5 >= filled*4 && headingScore(s, row.Number+1) == 0 {
			return row.Number
		}
	}
	return 0
}

// block sketches the block of readings of a form.
func (d *sketch) block(sheets []session.Foreign, number int) {
	h := headingsAt(sheets[0], number, 1)
	g := groupSketch{sure: likely, why: "a block of rows under headings",
		lines: []string{`to = "readings"`, fmt.Sprintf("heading_row = %d", number), fmt.Sprintf("first_row = %d  # until the first empty row", number+1)}}
	for i, heading := range h.names {
		if heading == "" {
			continue
		}
		var all []string
		for _, s := range sheets {
			for n := number + 1; rowCell(s, n, i) != "" && n < number+200; n++ {
				all = append(all, rowCell(s, n, i))
			}
		}
		one, ok := classify(heading, lookAt(all), true)
		switch {
		case ok && one.sheet == session.SheetReadings:
			g.columns = append(g.columns, one)
		default:
			d.notes = append(d.notes, "unsure: heading "+quoted(heading)+" of the block of readings")
			d.unsure++
		}
	}
	if len(g.columns) > 0 {
		d.groups = append(d.groups, g)
	}
}
