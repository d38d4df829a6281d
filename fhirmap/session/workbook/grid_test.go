package workbook

import (
	"strings"

	"runsheet.example/fhirmap/session"
)

// ReadGrid reads the cells of a workbook that holds a log, without reading
// anything from them, so that the log can be written in another form. Numbers
// have the decimal mark that the log declares.
func ReadGrid(data []byte) (*session.Grid, error) {
	book, err := openBook(data)
	if err != nil {
		return nil, err
	}
	r := &bookReader{book: book}
	if err := r.findSheets(); err != nil {
		return nil, err
	}
	grid := &session.Grid{About: r.about}
	comma := r.declaresComma()
	for _, t := range r.tables {
		table := session.GridTable{Sheet: t.sheet, Headings: t.headings.names}
		for _, row := range t.all() {
			table.Rows = append(table.Rows, gridRow(row, comma))
		}
		grid.Tables = append(grid.Tables, table)
	}
	return grid, nil
}

func gridRow(row session.Row, comma bool) []string {
	cells := row.Texts()
	for i := range cells {
		if comma && row.Cells[i].Number {
			cells[i] = strings.Replace(cells[i], ".", ",", 1)
		}
	}
	return cells
}

func (r *bookReader) declaresComma() bool {
	for _, p := range r.about {
		if mark, _ := p.Entry("decimal_mark"); p.Name == "log" && mark.Text == "," {
			return true
		}
	}
	return false
}
