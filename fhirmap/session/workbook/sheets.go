package workbook

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// Sheets reads every sheet of a workbook of any shape as cells, for a column
// map, and counts them in size. whole is false when something could not be read to its end; a finding
// then says why.
func Sheets(data []byte, name string, size *session.Size) (sheets []session.Foreign, source session.Source, findings []issue.Finding, whole bool, err error) {
	sum := sha256.Sum256(data)
	source = session.Source{Name: name, SHA256: hex.EncodeToString(sum[:]), Encoding: "utf-8"}
	r := &bookReader{name: name}
	r.book, err = openBook(bytes.NewReader(data), int64(len(data)))
	if err == nil {
		for _, t := range r.sheets {
			if t.part == "" || !r.isWorksheet(t) {
				continue
			}
			var one session.Foreign
			one, err = r.foreign(t, size)
			sheets = append(sheets, one)
			if err != nil {
				break
			}
		}
	}
	if err == nil {
		return sheets, source, r.findings, true, nil
	}
	var known notReadable
	if !errors.As(err, &known) {
		return nil, source, nil, false, fmt.Errorf("%s: %w", name, err)
	}
	f := faultFinding(known)
	f.File, f.Cells = name, []issue.Cell{{File: name}}
	return sheets, source, append(r.findings, f), false, nil
}

// isWorksheet tells sheets of cells from chart sheets.
func (r *bookReader) isWorksheet(t tab) bool {
	return strings.Contains(partName(t.part), "worksheets/")
}

// foreign reads one sheet.
func (r *bookReader) foreign(t tab, size *session.Size) (session.Foreign, error) {
	one := session.Foreign{File: r.name, Tab: t.name, Hidden: t.hidden}
	stream := &tableRows{reader: r, tab: t, headings: headings{next: 1}}
	rows, err := stream.open()
	if err != nil {
		return one, err
	}
	defer stream.close()
	for {
		row, err := rows.Next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return one, err
		}
		if !size.Row(len(row.Cells)) {
			return one, notReadable{session.TooManyRows, splitByYears}
		}
		one.Rows = append(one.Rows, foreignRow(row))
	}
	one.Merged = slices.Clone(stream.rows.merged)
	stream.rows.merged = nil // merged titles are no fault of a sheet that is not ours
	one.Seen = stream.seen
	return one, nil
}

func foreignRow(row session.BookRow) session.ForeignRow {
	out := session.ForeignRow{Number: row.Number, Cells: make([]session.ForeignCell, len(row.Cells))}
	for i, text := range row.Cells {
		out.Cells[i] = session.ForeignCell{Text: strings.TrimSpace(text), Number: row.Numbers[i]}
	}
	for _, n := range row.Notes {
		c := &out.Cells[n.Column]
		c.Rule, c.Details = n.Rule, n.Details
	}
	return out
}
