package session

import (
	"slices"
	"strings"
	"time"

	"runsheet.example/validate/issue"
)

// Mapped is a log gathered from sheets of another shape by a column map: each
// cell is put under a column of ours and keeps its place in the sheet it was
// written in, so that findings point there.
type Mapped struct {
	// Sources are the files the cells come from.
	Sources []Source
	// AboutName and About are log.toml, or a column map that has the same
	// tables in it; tables of the map itself are ignored. A nil About
	// means that there is none.
	AboutName string
	About     []byte
	Tables    []MappedTable
}

// MappedTable holds rows for one sheet of the log.
type MappedTable struct {
	Sheet Sheet
	// At is the file and sheet, for what concerns the table as a whole.
	At      issue.Cell
	Columns []MappedColumn
	Rows    []MappedRow
	// Dates and Clock are how dates and times are written beside the forms
	// that every log may use.
	Dates DateForm
	Clock ClockForm
	// DecimalMark is '.' or ',', zero to settle it by the log's declaration or
	// by what the numbers show.
	DecimalMark byte
}

// MappedColumn is one of our columns with the unit it is written in; the zero
// Unit is the column's own.
type MappedColumn struct {
	Name string
	Unit Unit
}

// MappedRow is one row of ours.
type MappedRow struct {
	// Key ties rows of the other sheets to a session's row; "" leaves that to
	// the session column.
	Key   string
	At    issue.Cell
	Cells []MappedCell
}

// MappedCell is one cell with the place it was written at.
type MappedCell struct {
	Cell
	At issue.Cell
	// Absence is what the map declares the text to mean; Present leaves it
	// to the rules of the log.
	Absence Absence
	// Relative is a time counted from the session's start or end.
	Relative *Relative
}

// Relative is a time that the map states by the session: some time after its
// start, or at its end.
type Relative struct {
	FromEnd bool
	After   time.Duration
}

// ReadMapped reads a mapped log as [ReadFS] does a folder.
func ReadMapped(m Mapped, opts Options) (*Log, []issue.Finding) {
	r := &reader{opts: opts, log: &Log{Sources: slices.Clone(m.Sources)}, byID: map[string]*Session{}, byKey: map[string]*Session{}}
	r.mappedAbout(m)
	for _, sheet := range sheets {
		for _, t := range m.Tables {
			if t.Sheet == sheet {
				r.readMapped(t)
			}
		}
	}
	if len(r.log.Sessions) == 0 {
		for _, s := range m.Sources {
			r.add(spot{cell: issue.Cell{File: s.Name}}.finding("log-empty", "there are no sessions in the log yet"), nil)
			break
		}
	}
	r.finish()
	return r.log, r.done()
}

// mappedAbout reads who and what the log is about.
func (r *reader) mappedAbout(m Mapped) {
	if m.About == nil {
		at := spot{cell: issue.Cell{File: m.AboutName}}
		r.about(at.finding("log-file-missing", "it is not said whose log this is: there is no {}", aboutFile))
		return
	}
	text, ok := r.decoded(m.AboutName, m.About)
	if !ok {
		r.allBroken = true
		return
	}
	r.readAboutText(m.AboutName, text, func(table string) bool {
		first, _, _ := strings.Cut(table, ".")
		return first == "" || first == "table"
	})
}

// readMapped reads one table.
func (r *reader) readMapped(t MappedTable) {
	s := newMappedReader(&t, &r.collector)
	before := len(r.log.Sessions)
	r.readRows(s)
	if t.Sheet == SheetSessions && !r.derivedReported {
		r.reportDerivedNames(t.At, r.log.Sessions[before:])
	}
}

// reportDerivedNames reports once that sessions have names made from dates.
func (r *reader) reportDerivedNames(at issue.Cell, sessions []*Session) {
	for _, one := range sessions {
		if one.IDDerived {
			f := spot{cell: at}.finding("map-session-names", "the sheet has no names for its sessions; each is named by its date and its order on that day")
			f.Expected = issue.Literal(one.ID)
			r.add(f, nil)
			r.derivedReported = true
			return
		}
	}
}

// bookKey ties a session to the key its rows have in common.
func (r *reader) bookKey(s *sheetReader, one *Session) {
	key := s.key()
	if key == "" {
		return
	}
	first, twice := r.byKey[key]
	if !twice {
		r.byKey[key] = one
		return
	}
	f := s.rowSpot().finding("map-key-twice", "two sessions have the same key, so rows of other tables could belong to either")
	f.Cells = append(f.Cells, first.Cell)
	s.add(f)
	first.Broken = true
}

// byRowKey finds the session that the current row is tied to; tied is false
// for a row that names its session instead.
func (a *attached) byRowKey() (one *Session, tied bool) {
	key := a.s.key()
	if key == "" {
		return nil, false
	}
	if one, ok := a.r.byKey[key]; ok {
		return one, true
	}
	f := a.s.rowSpot().finding("log-session-unknown", "no session has this key, so the row is left out")
	a.s.add(f)
	return nil, true
}

// relative places a time that the map states by the session's own.
func (a *attached) relative(c boundColumn, one *Session, m *Moment) bool {
	cell, ok := a.s.mappedCell(c.position)
	if !ok || cell.Relative == nil {
		return false
	}
	from := one.Start
	if cell.Relative.FromEnd {
		from = one.End
	}
	*m = Moment{Text: cell.Text, Absence: Unreadable, Cell: cell.At}
	if from.OK() {
		m.Time, m.Absence = from.Time.Add(cell.Relative.After), Present
		m.Text = strings.TrimSpace(from.Text + " " + cell.Text)
	}
	return true
}
