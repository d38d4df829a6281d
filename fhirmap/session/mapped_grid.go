package session

import (
	"fmt"
	"math/big"
	"strings"
	"time"

	"runsheet.example/validate/issue"
)

// Grid is a mapped log as cells of our own columns, to be kept as a log folder.
// log is what [ReadMapped] reads from it: it names the sessions. Dates and
// times have the forms of a log, and numbers of a unit that no heading can
// name are converted as the record has them; all else is as written. The error
// names a unit that a log cannot keep.
func (m Mapped) Grid(log *Log) (*Grid, error) {
	byCell, byKey := map[issue.Cell]*Session{}, map[string]*Session{}
	for _, s := range log.Sessions {
		byCell[s.Cell] = s
	}
	grid := &Grid{}
	for _, sheet := range sheets {
		out := GridTable{Sheet: sheet, Headings: []string{"session"}}
		for _, t := range m.Tables {
			if t.Sheet != sheet {
				continue
			}
			s := newMappedReader(&t, &collector{})
			if t.DecimalMark != 0 {
				grid.DecimalMark = string(t.DecimalMark)
			}
			if s.mark = t.DecimalMark; s.mark == 0 {
				(&reader{log: log}).settleForms(s)
			}
			for s.read() {
				of := byKey[s.key()]
				if sheet == SheetSessions {
					of = byCell[s.spot(0).cell]
					byKey[s.key()] = of
				}
				if s.key() == "" && sheet != SheetSessions {
					of = nil // the row names its session
				}
				if err := s.gridRow(&out, of); err != nil {
					return nil, err
				}
			}
		}
		if len(out.Rows) > 0 || sheet == SheetSessions {
			grid.Tables = append(grid.Tables, out)
		}
	}
	return grid, nil
}

// gridRow adds the current row to a table under the headings of our own.
func (s *sheetReader) gridRow(out *GridTable, of *Session) error {
	cells := make([]string, len(out.Headings))
	for _, c := range s.columns {
		heading, err := s.ownHeading(c)
		if err != nil {
			return err
		}
		at := 0
		for at < len(out.Headings) && out.Headings[at] != heading {
			at++
		}
		if at == len(out.Headings) {
			out.Headings = append(out.Headings, heading)
		}
		for len(cells) <= at {
			cells = append(cells, "")
		}
		cells[at] = s.ownText(c, of)
	}
	if of != nil {
		cells[0] = of.ID
	}
	out.Rows = append(out.Rows, cells)
	return nil
}

// unitsInHeadings are the units that a heading names, by their codes.
var unitsInHeadings = map[string]string{"[lb_av]": "lb", "[degF]": "°F", "mL": "mL"}

// toOwnUnit are the units that a map keeps and that no heading names, by their
// codes: grams to kilograms and hours to minutes, by definition.
var toOwnUnit = map[string]Unit{"g": {factor: big.NewRat(1, 1000), finer: 3}, "h": {factor: big.NewRat(60, 1)}}

// ownHeading is the heading of a column in the unit that its values are kept in.
func (s *sheetReader) ownHeading(c boundColumn) (string, error) {
	own, _ := columnHeaded(s.sheet, c.Name)
	if c.written.code == "" || c.written.code == own.own.Unit {
		return c.Name, nil
	}
	if _, ok := toOwnUnit[c.written.code]; ok {
		return c.Name, nil
	}
	if name, ok := NameIn(s.sheet, c.Name, unitsInHeadings[c.written.code]); ok {
		return name, nil
	}
	return "", fmt.Errorf("a log cannot keep %s in %s", c.Title, c.written.name)
}

// ownText is the text of a cell of the current row as a log has it.
func (s *sheetReader) ownText(c boundColumn, of *Session) string {
	cell, ok := s.mappedCell(c.position)
	_, absent := s.absence(c.position)
	text := s.text(c.position)
	switch {
	case !ok:
		return ""
	case cell.Relative != nil:
		from := Moment{}
		if of != nil && cell.Relative.FromEnd {
			from = of.End
		} else if of != nil {
			from = of.Start
		}
		if !from.OK() {
			return ""
		}
		return from.Time.Add(cell.Relative.After).Format("15:04")
	case cell.Absence != Present:
		return map[Absence]string{NotDone: "not done", AskedUnknown: "?", NotApplicable: "n/a"}[cell.Absence]
	case c.Kind == KindDate:
		if read := s.mapped.Dates.read(text, ""); read.usable() && s.mapped.Dates.declared() {
			return read.day.Format(time.DateOnly)
		}
	case c.Kind == KindTime:
		if _, known := readTimeOfDay(text); known {
			return text
		}
		if clock, ok := s.mapped.Clock.read(text); ok {
			return fmt.Sprintf("%02d:%02d", int(clock.Hours()), int(clock.Minutes())%60)
		}
	}
	own, isExact := toOwnUnit[c.written.code]
	if absent || !isExact && !c.written.Converted() {
		return text
	}
	read := s.numberWritten(c, text)
	if !read.ok {
		return text + " " + c.written.name
	}
	if isExact {
		read.decimal = own.convert(read.decimal)
	}
	return strings.Replace(read.decimal.String(), ".", string(markOr(s.mark)), 1)
}

// NewAbout is the part [log] of a log that begins as a copy.
func NewAbout(entries ...string) []*AboutPart {
	p := &AboutPart{Name: "log", Entries: []*AboutEntry{{Key: "format", Text: "1", Bare: true}}}
	for i := 0; i+1 < len(entries); i += 2 {
		if entries[i+1] != "" {
			p.Entries = append(p.Entries, &AboutEntry{Key: entries[i], Text: entries[i+1]})
		}
	}
	return []*AboutPart{p}
}
