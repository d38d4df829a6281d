package session

import "runsheet.example/validate/issue"

// Tally counts the rows and cells of a log's files, those that are not in the
// log by reason, whether or not a finding reports them too.
type Tally struct {
	// Rows is the number of rows with content that are in the log.
	Rows int
	// Left are the rows and cells that were not, in the order they were met.
	Left []LeftOut
	at   map[leftKey]int
}

// LeftOut are rows of a sheet, or cells of one column, that are not in the log.
type LeftOut struct {
	Why Why
	// At is the file and sheet and, of cells, the column with its heading.
	At   issue.Cell
	Rows []int // as a spreadsheet shows them
}

// Cells reports whether single cells were left out, not whole rows.
func (l LeftOut) Cells() bool { return l.At.Column > 0 }

// Why is why rows or cells are not in the log.
type Why uint8

// The reasons to leave out rows, and cells.
const (
	RowEmpty     Why = iota
	RowBroken        // it cannot be split into cells
	RowUnplaced      // it belongs to no session
	RowByMap         // the map skips it: skip_rows, first_row, last_row
	CellUnknown      // no column of the log
	CellByMap        // the map's ignore names it
	CellUnmapped     // the map does not name it
)

type leftKey struct {
	why         Why
	file, sheet string
	column      int
}

// Leave notes a row, or with a column a cell, that is not in the log.
func (t *Tally) Leave(why Why, at issue.Cell) {
	key := leftKey{why, at.File, at.Sheet, at.Column}
	i, have := t.at[key]
	if !have {
		if t.at == nil {
			t.at = map[leftKey]int{}
		}
		i = len(t.Left)
		t.at[key] = i
		t.Left = append(t.Left, LeftOut{Why: why, At: at})
		t.Left[i].At.Row = 0
	}
	t.Left[i].Rows = append(t.Left[i].Rows, at.Row)
}

// Join adds what another tally left out.
func (t *Tally) Join(other Tally) { t.Left = append(t.Left, other.Left...) }

// leaveRow notes that the current row is not in the log.
func (s *sheetReader) leaveRow(why Why) {
	at := s.rowSpot().cell
	at.Column, at.Heading = 0, ""
	s.findings.tally.Leave(why, at)
}

// leaveUnbound notes the filled cells of the current row under headings that
// the log does not know.
func (s *sheetReader) leaveUnbound() {
	if s.mapped != nil {
		return
	}
	for i := range s.cells {
		if i >= len(s.bound) || !s.bound[i] {
			if s.text(i) != "" {
				s.findings.tally.Leave(CellUnknown, s.spot(i).cell)
			}
		}
	}
}
