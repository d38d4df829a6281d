package session

import (
	"bytes"
	"encoding/csv"
	"errors"
	"io"
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
	position int    // from 0, in the file
	heading  string // as written
	written  Unit   // when it is not the column's own
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
	// twins are further columns of a name already seen, with the position of
	// the first.
	twins map[int]int
	// bound marks the columns of the file that are read, twins among them.
	bound    []bool
	headings []string
	findings *collector

	source  rowSource
	rows    int
	cells   []string
	fault   *csv.ParseError // the current row could not be split into cells
	empty   int
	session *Session // whose row this is
	// split is a cell of the current row that a separator had split, -1 for none.
	split int
	// inWords are the kinds and units of checks that were told to go as words.
	inWords []string
	// filled marks the cells of the row before that held something.
	filled []bool
	// mapped is the source when the rows come through a column map, and
	// converted what was sent in another unit, by column.
	mapped    *mappedSource
	converted map[int]*conversion
}

// newSheetReader finds the delimiter and binds the headings of a CSV file. It
// reports false when the file has no usable heading row; a finding then says
// so.
func newSheetReader(file string, sheet Sheet, text []byte, findings *collector) (*sheetReader, bool) {
	s := &sheetReader{file: file, sheet: sheet, findings: findings}
	text, skipped := s.findDelimiter(text)
	s.source = newCSVSource(text, s.delimiter, skipped)
	headings, err := s.source.read()
	if err != nil {
		s.findings.add(spot{cell: issue.Cell{File: file}}.finding("log-heading-missing", "the file has no row of headings"), nil)
		return nil, false
	}
	s.headings = slices.Clone(headings)
	return s, s.bind()
}

// findDelimiter settles the column separator: a first line "sep=;" as
// spreadsheets write it, else the separator under which most headings are
// known, else the most frequent one. It returns the text after a "sep=" line
// and how many lines that took.
func (s *sheetReader) findDelimiter(text []byte) (rest []byte, skipped int) {
	first, after, _ := bytes.Cut(text, []byte("\n"))
	first = bytes.TrimRight(first, "\r")
	if sep, ok := bytes.CutPrefix(bytes.ToLower(first), []byte("sep=")); ok && len(sep) == 1 && strings.ContainsRune(",;\t", rune(sep[0])) {
		s.delimiter = rune(sep[0])
		return after, 1
	}
	heading := string(bytes.TrimRight(firstLine(text), "\r"))
	best := -1
	for _, delimiter := range []rune{',', ';', '\t'} {
		score := strings.Count(heading, string(delimiter))
		for _, h := range strings.Split(heading, string(delimiter)) {
			if _, _, known := columnHeaded(s.sheet, strings.Trim(h, ` "`)); known {
				score += len(heading)
			}
		}
		if score > best {
			best, s.delimiter = score, delimiter
		}
	}
	return text, 0
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

func columnNamed(sheet Sheet, heading string) (*Column, bool) {
	plain := plainHeading(heading)
	for i := range Columns {
		if c := &Columns[i]; c.Sheet == sheet && c.Name == plain {
			return c, true
		}
	}
	return nil, false
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
	s.twins = map[int]int{}
	headed := slices.ContainsFunc(s.headings, func(h string) bool { _, _, known := columnHeaded(s.sheet, h); return known })
	s.bound = make([]bool, len(s.headings))
	first := map[string]int{}
	for i, heading := range s.headings {
		c, unit, known := columnHeaded(s.sheet, heading)
		s.bound[i] = known
		switch {
		case known:
			name := ownName(c.Name, unit)
			if at, twice := first[name]; twice {
				s.twins[i] = at
				s.findings.add(s.spot(i).finding("log-heading-twice", "the column stands in the file twice"), nil)
				continue
			}
			first[name] = i
			s.columns = append(s.columns, boundColumn{Column: c, position: i, heading: strings.TrimSpace(heading), written: unit})
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
	for _, name := range columnNames(s.sheet) {
		if c, _ := columnNamed(s.sheet, name); c.Required {
			if _, ok := have[name]; !ok {
				missing = append(missing, name)
			}
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

// read moves to the next row that has something in it and reports whether
// there is one. Rows that cannot be split into cells are returned with fault.
func (s *sheetReader) read() bool {
	before, ended, broken := s.session, s.lastWords(), false
	for s.findings.refused == nil {
		record, err := s.source.read()
		if errors.Is(err, io.EOF) {
			s.reportEmpty()
			return false
		}
		s.cells, s.session, s.fault, s.split = record, nil, nil, -1
		filled := filledCells(record)
		if !s.findings.size.Row(filled) {
			s.findings.refuse(s.rowSpot().finding("log-too-large", TooManyRows))
			return false
		}
		if err == nil && filled == 0 && len(s.source.notes()) == 0 {
			s.empty++
			s.leaveRow(RowEmpty)
			continue
		}
		s.rows++
		errors.As(err, &s.fault)
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
	if s.mapped != nil {
		return spot{cell: s.mapped.current().At}
	}
	return spot{cell: issue.Cell{File: s.file, Sheet: s.tab, Row: s.source.row()}, line: s.source.line()}
}

func filledCells(record []string) (n int) {
	for _, cell := range record {
		if strings.TrimSpace(cell) != "" {
			n++
		}
	}
	return n
}

func (s *sheetReader) reportEmpty() {
	if s.empty > 0 {
		at := spot{cell: issue.Cell{File: s.file, Sheet: s.tab}}
		s.findings.add(at.finding("log-row-empty", issue.OneOrMany(s.empty, "{} row without anything in them", "{} rows without anything in them"), s.empty), nil)
	}
}

// spot is the place of a cell of the current row.
func (s *sheetReader) spot(position int) spot {
	if s.mapped != nil {
		return s.mapped.spotAt(position)
	}
	p := s.rowSpot()
	p.cell.Column = position + 1
	if position < len(s.headings) {
		p.cell.Heading = strings.TrimSpace(s.headings[position])
	}
	if position < len(s.cells) || s.cells == nil {
		p.line, p.column = s.source.place(position)
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
	if s.mark == ',' && s.source.isNumber(position) {
		return strings.Replace(text, ".", ",", 1)
	}
	return text
}

// markOf is the decimal mark that a cell is read with.
func (s *sheetReader) markOf(position int) byte {
	if s.mark == 0 && s.source.isNumber(position) {
		return '.'
	}
	return s.mark
}

// rowFaults reports what is wrong with the current row as a whole: quotation
// marks that do not pair, cells beyond the headings, and second columns of a
// name that disagree with the first. It reports whether the row can be used.
func (s *sheetReader) rowFaults() bool {
	if s.fault != nil {
		s.leaveRow(RowBroken)
		f := s.rowSpot().finding("log-quote", "the quotation marks in this row do not pair")
		f.Line, f.Column = s.fault.Line, s.fault.Column
		s.add(f)
		return false
	}
	s.leaveUnbound()
	for _, note := range s.source.notes() {
		f := s.spot(note.Column).finding(note.Rule, "")
		f.Details = note.Details
		f.Value = s.text(note.Column)
		s.add(f)
	}
	if s.splitCell() {
		return true
	}
	s.shifted()
	for i := len(s.headings); i < len(s.cells); i++ {
		if s.text(i) != "" {
			f := s.spot(i).finding("log-row-too-long", "the row has more cells than there are headings, so its cells may be shifted")
			f.Value = s.text(i)
			s.add(f)
			break
		}
	}
	for i := range s.headings {
		first, twin := s.twins[i]
		if twin && s.text(i) != "" && s.text(i) != s.text(first) {
			f := s.spot(i).finding("log-two-values", "two columns of this name say different things")
			f.Value = s.text(i)
			s.add(f)
		}
	}
	return true
}

// add records a finding about the current row.
func (s *sheetReader) add(f issue.Finding) { s.findings.add(f, s.session) }
