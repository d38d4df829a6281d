package workbook

import (
	"errors"
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"
	"unicode"

	"github.com/xuri/excelize/v2"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// tableRows hands out the rows of a data sheet, and keeps count of what is
// worth saying beside them.
type tableRows struct {
	reader   *bookReader
	sheet    session.Sheet
	tab      tab
	headings headings

	rows     *rowReader
	cells    []string
	numbers  []bool
	notes    []session.Note
	formulas []*formulas       // by column
	rounded  map[int][]rounded // by column
	hidden   int
	done     bool
}

// formulas are the formulas of one column.
type formulas struct {
	rows []int
	// doubtful are the rows whose values may be out of date.
	doubtful []int
}

// rounded is a cell that shows less than it holds.
type rounded struct {
	row         int
	shown, held string
}

// open begins a pass over the rows.
func (s *tableRows) open() (session.BookRows, error) {
	s.close()
	rows, err := s.reader.rows(s.tab)
	if err != nil {
		return nil, err
	}
	s.rows, s.formulas, s.rounded, s.hidden = rows, nil, map[int][]rounded{}, 0
	return s, nil
}

func (s *tableRows) close() {
	if s.rows != nil {
		s.rows.part.Close()
	}
}

// Next returns the next row below the headings that has something in it. The
// row is valid until the next call.
func (s *tableRows) Next() (session.BookRow, error) {
	for {
		row, err := s.rows.next()
		if err != nil {
			s.done = errors.Is(err, io.EOF)
			return session.BookRow{}, err
		}
		if row.number < s.headings.next || !s.take(row) || s.repeatsNames() {
			continue
		}
		if row.hidden {
			s.hidden++
		}
		return session.BookRow{Number: row.number, Cells: s.cells, Numbers: s.numbers, Notes: s.notes}, nil
	}
}

// take renders the cells of a row. It reports whether any has something.
func (s *tableRows) take(row *rawRow) bool {
	s.cells, s.numbers, s.notes = s.cells[:0], s.numbers[:0], s.notes[:0]
	filled := false
	for _, c := range row.cells {
		out := s.reader.render(c)
		s.shown(row.number, c, &out)
		for len(s.cells) < c.column {
			s.cells, s.numbers = append(s.cells, ""), append(s.numbers, false)
		}
		s.cells[c.column-1], s.numbers[c.column-1] = out.text, out.number
		filled = filled || strings.TrimSpace(out.text) != "" || out.trouble != ""
		if out.trouble != "" {
			s.notes = append(s.notes, session.Note{Column: c.column - 1, Rule: out.trouble, Details: out.details})
		}
		if c.formula && c.filled {
			s.countFormula(row.number, c)
		}
	}
	return filled
}

// shown compares what a cell shows with what it holds: words behind its number,
// digits left out, and a line through it.
func (s *tableRows) shown(row int, c rawCell, out *rendered) {
	name := at(s.headings.names, c.column-1)
	_, ours := columnByTitle(s.sheet, name)
	switch unit, known := session.NameIn(s.sheet, name, out.suffix); {
	case !ours && s.sheet != "" || known && unit == name || !strings.ContainsFunc(out.suffix, unicode.IsLetter):
	default:
		out.text += " " + out.suffix
	}
	if out.shown != "" && (ours || s.sheet == "") {
		s.rounded[c.column] = append(s.rounded[c.column], rounded{row, out.shown, out.text})
	}
	if (ours || s.sheet == "") && out.trouble == "" && strings.TrimSpace(out.text) != "" && s.reader.strikes(c) {
		out.trouble, out.details = "log-cell-struck", "what stands in this cell is struck through, so it is not certain whether it holds"
	}
}

// repeatsNames reports our hidden row of names, which some programs move
// among the data when these are sorted.
func (s *tableRows) repeatsNames() bool {
	for i, text := range s.cells {
		if text != "" {
			return i < len(s.headings.names) && text == s.headings.names[i] && isHeadingRow(s.sheet, s.cells)
		}
	}
	return false
}

// volatileNames are functions whose value is out of date as soon as it is
// stored, or that reach outside the workbook.
var volatileNames = []string{"NOW(", "TODAY(", "RAND(", "RANDBETWEEN(", "INDIRECT(", "OFFSET(", "[", "WEBSERVICE("}

func (s *tableRows) countFormula(row int, c rawCell) {
	for len(s.formulas) < c.column {
		s.formulas = append(s.formulas, nil)
	}
	one := s.formulas[c.column-1]
	if one == nil {
		one = &formulas{}
		s.formulas[c.column-1] = one
	}
	one.rows = append(one.rows, row)
	code := strings.ToUpper(c.code)
	if s.reader.stale || slices.ContainsFunc(volatileNames, func(name string) bool { return strings.Contains(code, name) }) {
		one.doubtful = append(one.doubtful, row)
	}
}

// seen are the findings about columns and the sheet as a whole, of the rows
// that are read.
func (s *tableRows) seen(read func(row int) bool) []issue.Finding {
	var all []issue.Finding
	for i, one := range s.formulas {
		if one == nil {
			continue
		}
		if rows := kept(one.rows, read); len(rows) > 0 {
			f := s.finding("log-formula", rows[0], i+1)
			f.Details = fmt.Sprintf("%d %s of this column hold formulas; the values they showed when the workbook was saved were read", len(rows), plural(len(rows), "cell", "cells"))
			all = append(all, f)
		}
		if rows := kept(one.doubtful, read); len(rows) > 0 {
			doubt := s.finding("log-formula-stale", rows[0], i+1)
			doubt.Severity = issue.Warning
			doubt.Details = "formulas of this column show values that may be out of date"
			all = append(all, doubt)
		}
	}
	for _, column := range slices.Sorted(maps.Keys(s.rounded)) {
		cells := slices.DeleteFunc(slices.Clone(s.rounded[column]), func(c rounded) bool { return !read(c.row) })
		if len(cells) > 0 {
			f := s.finding("log-cell-rounded", cells[0].row, column)
			f.Details = fmt.Sprintf("%d %s of this column show fewer digits than they hold; all digits are sent", len(cells), plural(len(cells), "cell", "cells"))
			f.Value, f.Expected = cells[0].shown, cells[0].held
			all = append(all, f)
		}
	}
	all = append(all, s.comments(read)...)
	if s.hidden > 0 {
		f := s.finding("log-sheet-hidden", 0, 0)
		f.Details = fmt.Sprintf("%d hidden %s of the sheet were read like the others", s.hidden, plural(s.hidden, "row", "rows"))
		all = append(all, f)
	}
	return append(all, s.merges()...)
}

func kept(rows []int, read func(int) bool) []int {
	return slices.DeleteFunc(slices.Clone(rows), func(row int) bool { return !read(row) })
}

// comments tell of comments on cells that are read, other than our own: what
// they say is not sent.
func (s *tableRows) comments(read func(row int) bool) []issue.Finding {
	_, kinds, err := s.reader.relationsOf(strings.TrimPrefix(s.tab.part, "/"))
	var part commentsPart
	if err != nil || kinds["comments"] == "" || s.reader.decode(kinds["comments"], &part) != nil {
		return nil // a sheet without comments has no relations either
	}
	var all []issue.Finding
	for _, one := range part.List {
		column, row, err := excelize.CellNameToCoordinates(one.Ref)
		ours := one.Author >= 0 && one.Author < len(part.Authors) && part.Authors[one.Author] == author
		if err == nil && !ours && row >= s.headings.next && read(row) {
			f := s.finding("log-cell-comment", row, column)
			f.Details = "there is a comment on this cell; comments are not sent"
			all = append(all, f)
		}
	}
	return all
}

func plural(n int, one, many string) string {
	if n == 1 {
		return one
	}
	return many
}

// mostMerges is how many merged ranges of a sheet are listed.
const mostMerges = 100

// merges reports merged cells among the data: their value belongs to the
// first cell only.
func (s *tableRows) merges() []issue.Finding {
	var all []issue.Finding
	if s.rows == nil {
		return nil
	}
	for _, reference := range s.rows.merged {
		first, last, _ := strings.Cut(reference, ":")
		column, row, err := excelize.CellNameToCoordinates(strings.ReplaceAll(first, "$", ""))
		if err != nil || row < s.headings.next || last == "" {
			continue
		}
		f := s.finding("log-merged", row, column)
		f.Details, f.Value = "cells are merged here; what stands in them counts for the first row and column only", reference
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
