package workbook

import (
	"maps"
	"slices"
	"strings"
	"unicode"

	"github.com/xuri/excelize/v2"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// tableRows are the rows of a data sheet and the findings about the sheet.
type tableRows struct {
	reader   *bookReader
	sheet    session.Sheet
	tab      tab
	grid     *grid
	headings headings

	read    bool
	rows    []session.Row
	columns map[int]*columnSeen
	hidden  int
}

// columnSeen are the rows of a column with formulas, with formulas whose values
// may be out of date, and with cells that show less than they hold.
type columnSeen struct {
	formulas, doubtful []int
	rounded            []rounded
}

// rounded is a cell that shows less than it holds.
type rounded struct {
	row         int
	shown, held string
}

// all are the rows with content below the headings.
func (s *tableRows) all() []session.Row {
	if s.read {
		return s.rows
	}
	s.read, s.columns = true, map[int]*columnSeen{}
	for _, raw := range s.grid.rows {
		if raw.number < s.headings.next {
			continue
		}
		row := s.take(raw)
		if row.IsBlank() || s.repeatsNames(row.Texts()) {
			continue
		}
		if raw.hidden {
			s.hidden++
		}
		s.rows = append(s.rows, row)
	}
	s.grid.rows = nil // they are not needed twice
	return s.rows
}

// take renders the cells of a row.
func (s *tableRows) take(raw rawRow) session.Row {
	row := session.Row{Number: raw.number}
	for _, c := range raw.cells {
		out := s.reader.render(c)
		s.shown(raw.number, c, &out)
		for len(row.Cells) < c.column {
			row.Cells = append(row.Cells, session.Cell{})
		}
		row.Cells[c.column-1] = session.Cell{Text: out.text, Number: out.number}
		if out.trouble != "" {
			row.Cells[c.column-1].Note = &session.Note{Rule: out.trouble, Details: issue.T(out.details)}
		}
		if c.formula && c.filled {
			seen := s.column(c.column)
			seen.formulas = append(seen.formulas, raw.number)
			if c.stale || s.reader.stale {
				seen.doubtful = append(seen.doubtful, raw.number)
			}
		}
	}
	return row
}

// column is what was seen in a column.
func (s *tableRows) column(at int) *columnSeen {
	if s.columns[at] == nil {
		s.columns[at] = &columnSeen{}
	}
	return s.columns[at]
}

// shown compares what a cell shows with what it holds: words after its number,
// digits left out, and a line through it.
func (s *tableRows) shown(row int, c rawCell, out *rendered) {
	name := at(s.headings.names, c.column-1)
	_, ours := session.ColumnTitled(s.sheet, name)
	switch unit, known := session.NameIn(s.sheet, name, out.suffix); {
	case !ours && s.sheet != "" || known && unit == name || !strings.ContainsFunc(out.suffix, unicode.IsLetter):
	default:
		out.text += " " + out.suffix
	}
	if out.shown != "" && (ours || s.sheet == "") {
		seen := s.column(c.column)
		seen.rounded = append(seen.rounded, rounded{row, out.shown, out.text})
	}
	if (ours || s.sheet == "") && out.trouble == "" && strings.TrimSpace(out.text) != "" && s.reader.strikes(c) {
		out.trouble, out.details = "log-cell-struck", "what stands in this cell is struck through, so it is not certain whether it holds"
	}
}

// repeatsNames reports our hidden row of names, which some programs move
// among the data when these are sorted.
func (s *tableRows) repeatsNames(cells []string) bool {
	for i, text := range cells {
		if text != "" {
			return i < len(s.headings.names) && text == s.headings.names[i] && isHeadingRow(s.sheet, cells)
		}
	}
	return false
}

// seen are the findings about columns and the sheet as a whole, of the rows
// that are read.
func (s *tableRows) seen(read func(row int) bool) []issue.Finding {
	unread := func(row int) bool { return !read(row) }
	var all []issue.Finding
	for _, at := range slices.Sorted(maps.Keys(s.columns)) {
		column := s.columns[at]
		if rows := slices.DeleteFunc(slices.Clone(column.formulas), unread); len(rows) > 0 {
			f := s.finding("log-formula", rows[0], at)
			f.Details = issue.T(issue.OneOrMany(len(rows), "{} cell of this column hold formulas; the values they showed when the workbook was saved were read", "{} cells of this column hold formulas; the values they showed when the workbook was saved were read"), len(rows))
			all = append(all, f)
		}
		if rows := slices.DeleteFunc(slices.Clone(column.doubtful), unread); len(rows) > 0 {
			doubt := s.finding("log-formula-stale", rows[0], at)
			doubt.Severity = issue.Warning
			doubt.Details = issue.T("formulas of this column show values that may be out of date")
			all = append(all, doubt)
		}
		if cells := slices.DeleteFunc(slices.Clone(column.rounded), func(c rounded) bool { return unread(c.row) }); len(cells) > 0 {
			f := s.finding("log-cell-rounded", cells[0].row, at)
			f.Details = issue.T(issue.OneOrMany(len(cells), "{} cell of this column show fewer digits than they hold; all digits are sent", "{} cells of this column show fewer digits than they hold; all digits are sent"), len(cells))
			f.Value, f.Expected = cells[0].shown, issue.Literal(cells[0].held)
			all = append(all, f)
		}
	}
	all = append(all, s.comments(read)...)
	if s.hidden > 0 {
		f := s.finding("log-sheet-hidden", 0, 0)
		f.Details = issue.T(issue.OneOrMany(s.hidden, "{} hidden row of the sheet were read like the others", "{} hidden rows of the sheet were read like the others"), s.hidden)
		all = append(all, f)
	}
	return append(all, s.merges()...)
}

// comments reports comments on cells that are read, other than our own: they
// are not sent.
func (s *tableRows) comments(read func(row int) bool) []issue.Finding {
	var all []issue.Finding
	for _, one := range s.reader.comments(s.tab) {
		if !one.ours && one.row >= s.headings.next && read(one.row) {
			f := s.finding("log-cell-comment", one.row, one.column)
			f.Details = issue.T("there is a comment on this cell; comments are not sent")
			all = append(all, f)
		}
	}
	return all
}

// mostMerges is how many merged ranges of a sheet are listed.
const mostMerges = 100

// merges reports merged cells among the data: their value belongs to the
// first cell only.
func (s *tableRows) merges() []issue.Finding {
	var all []issue.Finding
	if !s.read || s.sheet == "" {
		return nil // merged titles are no fault of a sheet that is not ours
	}
	for _, reference := range s.grid.merged {
		first, last, _ := strings.Cut(reference, ":")
		column, row, err := excelize.CellNameToCoordinates(strings.ReplaceAll(first, "$", ""))
		if err != nil || row < s.headings.next || last == "" {
			continue
		}
		f := s.finding("log-merged", row, column)
		f.Details, f.Value = issue.T("cells are merged here; what stands in them counts for the first row and column only"), reference
		if all = append(all, f); len(all) == mostMerges {
			break
		}
	}
	return all
}

func (s *tableRows) finding(rule string, row, column int) issue.Finding {
	f := issue.At(rule)
	cell := issue.Cell{File: s.reader.name, Sheet: s.tab.name, Row: row, Column: column}
	if column > 0 && column <= len(s.headings.names) {
		cell.Heading = s.headings.names[column-1]
	}
	f.File, f.Cells = s.reader.name, []issue.Cell{cell}
	return f
}
