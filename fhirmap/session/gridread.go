package session

import (
	"fmt"
	"io/fs"
	"slices"

	"runsheet.example/validate/issue"
)

// ReadGrid reads the cells of a log folder without reading anything from
// them, so that the log can be written in another form. Rows that cannot be
// split into cells are kept as far as they go. The findings are those about
// files and headings; [ReadFS] interprets the cells.
func ReadGrid(files fs.FS) (*Grid, []issue.Finding, error) {
	r := &reader{log: &Log{}, byID: map[string]*Session{}}
	names, err := r.list(files)
	if err != nil {
		return nil, nil, err
	}
	grid := &Grid{}
	if names[aboutFile] != "" {
		if grid.About, err = r.aboutGrid(files, names[aboutFile]); err != nil {
			return nil, nil, err
		}
	}
	for _, sheet := range sheets {
		name := names[string(sheet)+".csv"]
		if name == "" {
			continue
		}
		if err := r.tableGrid(files, name, sheet, grid); err != nil {
			return nil, nil, err
		}
	}
	if r.refused != nil {
		return nil, nil, fmt.Errorf("%s: %s", r.refused.Cells[0], r.refused.Details)
	}
	return grid, r.done(), nil
}

func (r *reader) tableGrid(files fs.FS, name string, sheet Sheet, grid *Grid) error {
	text, ok, err := r.text(files, name)
	if err != nil || !ok {
		return err
	}
	// A file that lacks columns is still carried over as it is.
	s, _ := newSheetReader(name, sheet, text, &r.collector)
	if s == nil {
		return nil
	}
	table := GridTable{Sheet: sheet, Headings: s.headings}
	for s.read() {
		table.Rows = append(table.Rows, s.cells)
	}
	grid.Tables = append(grid.Tables, table)
	return nil
}

// aboutGrid reads log.toml as parts.
func (r *reader) aboutGrid(files fs.FS, name string) ([]*AboutPart, error) {
	text, ok, err := r.text(files, name)
	if err != nil || !ok {
		return nil, err
	}
	tables, findings := parseTOML(name, text)
	for _, f := range findings {
		r.add(f, nil)
	}
	return slices.DeleteFunc(tables, func(t *AboutPart) bool { return len(t.Entries) == 0 }), nil
}
