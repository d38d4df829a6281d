package workbook

import (
	"fmt"
	"strings"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// ReadGrid reads the cells of a workbook that holds a log, without reading
// anything from them, so that the log can be written in another form. Numbers
// have the decimal mark that the log declares. An error says what a copy
// could not hold, such as a cell that is struck through.
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
			cells, err := gridRow(row, comma)
			if err != nil {
				return nil, fmt.Errorf("%s, row %d: %w", t.tab.name, row.Number, err)
			}
			table.Rows = append(table.Rows, cells)
		}
		grid.Tables = append(grid.Tables, table)
	}
	return grid, nil
}

func gridRow(row session.Row, comma bool) ([]string, error) {
	cells := row.Texts()
	for i := range cells {
		if note := row.Cells[i].Note; note != nil {
			return nil, fmt.Errorf("column %s: %s", issue.ColumnLetters(i+1), note.Details)
		}
		if comma && row.Cells[i].Number {
			cells[i] = strings.Replace(cells[i], ".", ",", 1)
		}
	}
	return cells, nil
}

func (r *bookReader) declaresComma() bool {
	for _, p := range r.about {
		if mark, _ := p.Entry("decimal_mark"); p.Name == "log" && mark.Text == "," {
			return true
		}
	}
	return false
}
