package session

import (
	"bytes"
	"slices"
	"strings"

	"runsheet.example/validate/issue"
)

// maxColumns is far beyond what any log has; maxCell is what a spreadsheet
// cell can hold.
const (
	maxColumns = 1000
	maxCell    = 32767
)

// boundColumn is a column of a file that the log knows.
type boundColumn struct {
	*Column
	position int  // from 0, in the file
	written  Unit // when it is not the column's own
}

// sheetReader reads the rows of one CSV file, or of one sheet of a workbook,
// under its headings.
type sheetReader struct {
	file  string
	tab   string // the sheet's name in a workbook
	sheet Sheet
	mark  byte // decimal mark; 0 when none could be settled
	clock ClockForm
	// delimiter is the column separator of a CSV file.
	delimiter rune
	columns   []boundColumn
	// repeated are columns whose name an earlier column has, with the position
	// of the first.
	repeated map[int]int
	// bound marks the columns of the file that are read, repeated ones included.
	bound    []bool
	headings []string
	findings *collector

	// source are the rows below the headings, next is the one after the
	// current, and row the current one, at first that of the headings.
	source  []Row
	next    int
	row     Row
	rows    int
	cells   []string // the texts of the row, nil in the headings
	empty   int
	session *Session // whose row this is
	// split is a cell of the current row that a separator had split, or that is
	// two run together, -1 for none; moved says so, or that cells were moved.
	split int
	moved *issue.Finding
	// inWords are the kinds and units of checks that were reported as sent as words.
	inWords []string
	// filled marks the cells of the row before that held something.
	filled []bool
	// mapped is the table that the rows are from when they come through a
	// column map, and converted what was sent in another unit, by column.
	mapped    *MappedTable
	converted map[int]*conversion
}

// newSheetReader finds the delimiter and binds the headings of a CSV file. It
// reports false when the file has no usable heading row; a finding then says
// so, unless nothing at all stands in a file that a log can do without.
func newSheetReader(file string, sheet Sheet, text []byte, findings *collector) (*sheetReader, bool) {
	s := &sheetReader{file: file, sheet: sheet, findings: findings}
	var skipped int
	s.delimiter, text, skipped = delimiterOf(text, func(text []byte) rune { return headedDelimiter(sheet, text) })
	size := findings.size           // no more rows are split than are read
	empty := sheet != SheetSessions // an optional sheet that nobody filled in
	for row := range csvRows(text, s.delimiter, skipped) {
		if s.headings != nil {
			s.source = append(s.source, row)
			if !size.Row(filled(row.Cells)) {
				break
			}
			continue
		}
		if row.fault == nil && filled(row.Cells) == 0 {
			continue
		}
		if empty = false; row.fault != nil {
			break
		}
		s.row, s.headings = row, row.Texts()
	}
	if empty {
		return nil, false
	}
	if s.headings == nil {
		s.findings.add(spot{cell: issue.Cell{File: file}}.finding("log-heading-missing", "the file has no row of headings"), nil)
		return nil, false
	}
	return s, s.bind()
}

// again is the reader before its first row, for a pass without findings.
func (s *sheetReader) again() *sheetReader {
	scan := *s
	scan.findings, scan.mark, scan.clock = new(collector), 0, ClockForm{}
	return &scan
}

// headedDelimiter is the separator under which most headings are known, else
// the most frequent one.
func headedDelimiter(sheet Sheet, text []byte) (delimiter rune) {
	heading := string(bytes.TrimRight(firstLine(text), "\r"))
	best := -1
	for _, try := range []rune{',', ';', '\t'} {
		score := strings.Count(heading, string(try))
		for _, h := range strings.Split(heading, string(try)) {
			if _, known := columnHeaded(sheet, strings.Trim(h, ` "`)); known {
				score += len(heading)
			}
		}
		if score > best {
			best, delimiter = score, try
		}
	}
	return delimiter
}

func firstLine(text []byte) []byte {
	for len(text) > 0 {
		line, rest, _ := bytes.Cut(text, []byte("\n"))
		if len(bytes.TrimSpace(line)) > 0 {
			return line
		}
		text = rest
	}
	return nil
}

// plainHeading is a heading without the differences people make: case, spaces
// around it, and spaces or hyphens for underscores.
func plainHeading(heading string) string {
	words := strings.FieldsFunc(strings.ToLower(strings.TrimSpace(heading)), func(r rune) bool {
		return r == ' ' || r == '_' || r == '-' || r == '\u00A0'
	})
	return strings.Join(words, "_")
}

func columnNames(sheet Sheet) []string {
	var names []string
	for _, c := range Columns {
		if c.Sheet == sheet {
			names = append(names, c.Name)
		}
	}
	return names
}

// bind matches the headings to the table of columns.
func (s *sheetReader) bind() bool {
	if len(s.headings) > maxColumns {
		s.findings.add(s.spot(maxColumns).finding("log-too-large", "the file has more than {} columns", maxColumns), nil)
		return false
	}
	s.repeated = map[int]int{}
	headed := slices.ContainsFunc(s.headings, func(h string) bool { _, known := columnHeaded(s.sheet, h); return known })
	s.bound = make([]bool, len(s.headings))
	first, inUnit := map[string]int{}, map[string]int{}
	for i, heading := range s.headings {
		h, known := columnHeaded(s.sheet, heading)
		s.bound[i] = known
		switch {
		case known:
			if at, twice := inUnit[h.Name]; twice {
				s.repeated[i] = at
				s.findings.add(s.spot(i).finding("log-heading-twice", "the column stands in the file twice"), nil)
				continue
			}
			inUnit[h.Name] = i
			if _, inOther := first[h.own.Name]; !inOther {
				first[h.own.Name] = i
			}
			s.columns = append(s.columns, boundColumn{Column: &h.Column, position: i, written: h.written})
		case headed && strings.TrimSpace(heading) != "":
			s.unknownHeading(i, heading)
		}
	}
	return s.requireColumns(first)
}

func (s *sheetReader) unknownHeading(i int, heading string) {
	f := s.spot(i).finding("log-heading-unknown", "the log does not know this column; what stands in it is not sent")
	f.Value = strings.TrimSpace(heading)
	f.Expected = issue.Literal(Nearest(plainHeading(heading), columnNames(s.sheet)))
	s.findings.add(f, nil)
}

func (s *sheetReader) requireColumns(have map[string]int) bool {
	var missing []string
	for _, c := range Columns {
		if _, ok := have[c.Name]; !ok && c.Sheet == s.sheet && c.Required {
			missing = append(missing, c.Name)
		}
	}
	if len(missing) == 0 {
		return true
	}
	f := s.rowSpot().finding("log-heading-missing", "the file lacks {} it needs: {}", issue.T(issue.OneOrMany(len(missing), "a column", "columns")), strings.Join(missing, ", "))
	f.Expected = issue.Literal(strings.Join(missing, ", "))
	if len(s.columns) == 0 {
		f.Details = issue.T("the first line of the file holds none of the headings")
		f.Mend = issue.T("put the line of headings back on top; runsheet new writes a file with it")
	}
	s.findings.add(f, nil)
	return false
}

// read moves to the next row with content and reports whether
// there is one. Rows that cannot be split into cells are returned with fault.
func (s *sheetReader) read() bool {
	before, ended, broken := s.session, s.lastWords(), false
	for s.findings.refused == nil {
		if s.next == len(s.source) {
			s.reportEmpty()
			return false
		}
		s.row = s.source[s.next]
		s.next++
		s.cells, s.session, s.split, s.moved = s.row.Texts(), nil, -1, nil
		if !s.findings.size.Row(filled(s.row.Cells)) {
			s.findings.refuse(s.rowSpot().finding("log-too-large", TooManyRows))
			return false
		}
		if s.row.fault == nil && s.row.IsBlank() {
			s.empty++
			s.leaveRow(RowEmpty)
			continue
		}
		s.rows++
		if !s.restOf(ended) {
			return true
		}
		s.leaveRow(RowBroken)
		if !broken {
			s.findings.add(s.brokenNote(ended), before)
		}
		broken = true
	}
	return false
}

// rowSpot is the place of the current row as a whole.
func (s *sheetReader) rowSpot() spot {
	switch {
	case s.mapped == nil:
		return spot{cell: issue.Cell{File: s.file, Sheet: s.tab, Row: s.row.Number}, line: s.row.line}
	case s.next == 0:
		return spot{cell: s.mapped.At}
	default:
		return spot{cell: s.mapped.Rows[s.next-1].At}
	}
}

func (s *sheetReader) reportEmpty() {
	if s.empty > 0 {
		at := spot{cell: issue.Cell{File: s.file, Sheet: s.tab}}
		s.findings.add(at.finding("log-row-empty", issue.OneOrMany(s.empty, "{} row without anything in them", "{} rows without anything in them"), s.empty), nil)
	}
}

// spot is the place of a cell of the current row.
func (s *sheetReader) spot(position int) spot {
	p := s.rowSpot()
	if s.mapped != nil {
		if c, ok := s.mappedCell(position); ok && !c.At.IsZero() {
			return spot{cell: c.At, line: c.Line, column: c.Byte}
		}
		return p
	}
	p.cell.Column = position + 1
	if position < len(s.headings) {
		p.cell.Heading = strings.TrimSpace(s.headings[position])
	}
	if position < len(s.row.Cells) {
		p.line, p.column = s.row.Cells[position].Line, s.row.Cells[position].Byte
	}
	return p
}

// text is a cell of the current row, without surrounding white space. A cell
// that is a number by its type is written with the decimal mark of the log.
func (s *sheetReader) text(position int) string {
	if position >= len(s.cells) {
		return ""
	}
	text := strings.TrimSpace(s.cells[position])
	if s.mark == ',' && s.row.Cell(position).Number {
		return strings.Replace(text, ".", ",", 1)
	}
	return text
}

// markOf is the decimal mark that a cell is read with.
func (s *sheetReader) markOf(position int) byte {
	if s.mark == 0 && s.row.Cell(position).Number {
		return '.'
	}
	return s.mark
}

// rowFaults reports what is wrong with the current row as a whole: quotation
// marks that do not pair, cells beyond the headings, and second columns of a
// name that disagree with the first. It reports whether the row can be used.
func (s *sheetReader) rowFaults() bool {
	if s.row.fault != nil {
		s.leaveRow(RowBroken)
		f := s.rowSpot().finding("log-quote", "the quotation marks in this row do not pair")
		f.Line, f.Column = s.row.fault.Line, s.row.fault.Column
		s.add(f)
		return false
	}
	s.leaveUnbound()
	for i, c := range s.row.Cells {
		if c.Note != nil {
			f := s.spot(i).finding(c.Note.Rule, "")
			f.Details, f.Value = c.Note.Details, s.text(i)
			s.add(f)
		}
	}
	if s.moved != nil {
		s.add(*s.moved)
	}
	for i := len(s.headings); i < len(s.cells); i++ {
		if s.text(i) != "" {
			s.complain(i, "log-row-too-long", "the row has more cells than there are headings, so its cells may be shifted", s.text(i), issue.Text{})
			break
		}
	}
	for i := range s.headings {
		first, again := s.repeated[i]
		if again && s.text(i) != "" && s.text(i) != s.text(first) {
			s.complain(i, "log-two-values", "two columns of this name say different things", s.text(i), issue.Text{})
		}
	}
	return true
}

// complain records a finding about a cell of the current row.
func (s *sheetReader) complain(position int, rule, details, value string, expected issue.Text, args ...any) {
	s.add(s.spot(position).finding(rule, details, args...).Seen(value, expected))
}

// add records a finding about the current row.
func (s *sheetReader) add(f issue.Finding) { s.findings.add(f, s.session) }
