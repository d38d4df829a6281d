package workbook

import (
	"errors"
	"fmt"
	"strings"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// Sheets reads every sheet of a workbook of any shape as cells, for a column
// map, and counts them in size. whole is false when something could not be
// read to its end; a finding then says why.
func Sheets(data []byte, name string, size *session.Size) (sheets []session.Foreign, source session.Source, findings []issue.Finding, whole bool, err error) {
	source = session.NewSource(name, data)
	source.Encoding = "utf-8"
	r := &bookReader{name: name}
	r.book, err = openBook(data)
	for i := 0; err == nil && i < len(r.tabs); i++ {
		// Sheets of charts are kept elsewhere.
		if t := r.tabs[i]; strings.Contains(partName(t.part), "worksheets/") {
			var one session.Foreign
			if one, err = r.foreign(t, size); err == nil {
				sheets = append(sheets, one)
			}
		}
	}
	var known notReadable
	switch {
	case err == nil:
		return sheets, source, nil, true, nil
	case !errors.As(err, &known):
		return nil, source, nil, false, fmt.Errorf("%s: %w", name, err)
	}
	return sheets, source, []issue.Finding{r.fault(known)}, false, nil
}

// foreign reads one sheet.
func (r *bookReader) foreign(t tab, size *session.Size) (session.Foreign, error) {
	one := session.Foreign{File: r.name, Tab: t.name, Hidden: t.hidden}
	g, err := r.cells(t)
	if err != nil {
		return one, err
	}
	table := &tableRows{reader: r, tab: t, grid: g, headings: headings{next: 1}}
	for _, row := range table.all() {
		if !size.Row(len(row.Cells)) {
			return one, errLarge
		}
		one.Rows = append(one.Rows, row.Trimmed())
	}
	one.Merged, one.Seen = g.merged, table.seen
	return one, nil
}
