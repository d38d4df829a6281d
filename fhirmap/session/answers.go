package session

import (
	"strconv"
	"strings"

	"runsheet.example/validate/issue"
)

// AnswerKey is the finding that an answer is about: its rule, its cell, and the
// value that it was about. The cell is named by its session, sheet and column,
// not by its row: rows move. Sheet is "log" for log.toml. Cell is the text of the
// cell where the finding prints another value, such as one computed from it.
type AnswerKey struct{ Rule, Session, Sheet, Column, Value, Cell string }

// value is what an answer to the finding gives as its value, so that it ends
// when either the cell or what is computed from it changes.
func (k AnswerKey) value() string {
	if k.Cell == "" || k.Value == "" {
		return k.Cell + k.Value
	}
	return k.Cell + " (" + k.Value + ")"
}

// Matches reports whether an answer, as a person writes it, names the cell and the
// rule of a finding's key, and whether its value is still the one there: the
// text of the cell, what the finding prints, or both. The tab of a workbook and
// the title of a column do as well as their names.
func (l *Log) Matches(a, k AnswerKey) (cell, value bool) {
	a.Sheet = l.sheetTitled(a.Sheet)
	if name, ok := ColumnTitled(Sheet(a.Sheet), a.Column); ok {
		a.Column = name
	}
	if part, key, _ := strings.Cut(k.Column, "."); k.Sheet == "log" {
		if q, ok := AboutRowOf(part, key); ok && PlainTitle(a.Column) == PlainTitle(q.Label) {
			a.Column = k.Column
		}
	}
	cell = strings.EqualFold(a.Rule, k.Rule) && a.Session == k.Session && a.Sheet == k.Sheet && a.Column == k.Column
	value = sameNumber(a.Value, k.Value) || sameNumber(a.Value, k.value()) || k.Cell != "" && sameNumber(a.Value, k.Cell)
	return cell, value
}

// sheetTitled is the sheet that a person names by its name, its file or its tab.
func (l *Log) sheetTitled(title string) string {
	title = strings.ToLower(title)
	for at, sheet := range l.sheetNames {
		if strings.EqualFold(title, at.tab) || at.tab == "" && strings.EqualFold(title, at.file) {
			return sheet
		}
	}
	return title
}

// sameNumber compares two texts; a spreadsheet may show a number with another
// decimal mark and other zeros than it holds.
func sameNumber(a, b string) bool {
	x, err := strconv.ParseFloat(strings.Replace(a, ",", ".", 1), 64)
	y, other := strconv.ParseFloat(strings.Replace(b, ",", ".", 1), 64)
	return a == b || err == nil && other == nil && x == y
}

// cellText is the number written in a cell of a session or of its readings.
func (l *Log) cellText(id string, cell issue.Cell) string {
	for _, s := range l.Sessions {
		if s.ID != id {
			continue
		}
		values := []map[Field]Value{s.Values}
		for _, r := range s.Readings {
			values = append(values, r.Values)
		}
		for _, of := range values {
			for _, v := range of {
				if v.Cell == cell {
					return v.Text
				}
			}
		}
	}
	return ""
}

// Answer is what the person says to a finding that asks to look again: it is
// right, leave it.
type Answer struct {
	AnswerKey
	// On is the day of the answer.
	On     Moment
	Reason string
	Cell   issue.Cell // of its rule
}

// Texts are the cells of an answer given on a day (YYYY-MM-DD), by column: the
// row to add to [SheetAnswers].
func (k AnswerKey) Texts(day, reason string) map[string]string {
	return map[string]string{"rule": k.Rule, "session": k.Session, "sheet": k.Sheet, "column": k.Column, "value": k.value(), "answered_on": day, "reason": reason}
}

// fileTab is a file of a log and, in a workbook, a sheet of it.
type fileTab struct{ file, tab string }

// named notes which sheet the cells of a file, or of a tab of it, are of.
func (r *reader) named(file, tab, sheet string) {
	if r.log.sheetNames == nil {
		r.log.sheetNames = map[fileTab]string{}
	}
	r.log.sheetNames[fileTab{file, tab}] = sheet
}

// AnswerKey is the key of an answer to a finding. ok is false for a finding
// that cannot be answered: a mistake, one that concerns no cell of the log, and
// one that would stand for others, since it has neither session nor value.
func (l *Log) AnswerKey(f issue.Finding) (key AnswerKey, ok bool) {
	if len(f.Cells) == 0 || f.Severity == issue.Error {
		return AnswerKey{}, false
	}
	cell := f.Cells[0]
	sheet, ok := l.sheetNames[fileTab{cell.File, cell.Sheet}]
	key = AnswerKey{Rule: f.Rule, Session: f.Session, Sheet: sheet, Column: cell.Heading, Value: strings.TrimSpace(f.Value)}
	if name := HeadingName(Sheet(sheet), cell.Heading); name != "" {
		key.Column = name
	}
	if text := l.cellText(f.Session, cell); text != key.Value {
		key.Cell = text
	}
	return key, ok && sheet != string(SheetAnswers) && (sheet == "log" || key.Session != "" || key.Value != "")
}

// holdsNothingBack forgets that the sheet of answers could not be read: no
// session lacks rows for it.
func (r *reader) holdsNothingBack(wholeFile bool) { r.wholeFile = wholeFile }

// readAnswers reads the answers. One that cannot be read does not count.
func (r *reader) readAnswers(s *sheetReader) {
	for s.read() {
		if !s.rowFaults() {
			continue
		}
		text := func(field Field) string {
			c, ok := s.column(field)
			if !ok {
				return ""
			}
			return s.text(c.position)
		}
		a := Answer{
			AnswerKey: AnswerKey{Rule: text("rule"), Session: text("session"), Sheet: text("sheet"), Column: text("column"), Value: text("value")},
			Reason:    text("reason"),
		}
		if c, ok := s.column("rule"); ok {
			a.Cell = s.spot(c.position).cell
		}
		if c, ok := s.column("answered_on"); ok {
			a.On = s.dateCell(c, r.log.About.DateStyle, r.log.Location)
		}
		r.log.Answers = append(r.log.Answers, a)
	}
}
