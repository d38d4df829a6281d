package session

import (
	"regexp"
	"strings"

	"runsheet.example/validate/issue"
)

// AnswerKey is the finding that an answer is about: its rule, its cell, and the
// value that it was about. The cell is named by its session, sheet and column,
// not by its row: rows move. Sheet is "log" for log.toml. Cell is the text of the
// cell where the finding prints another value, such as one computed from it.
type AnswerKey struct{ Rule, Session, Sheet, Column, Value, Cell string }

// Written is what an answer to the finding gives as its value, so that it ends
// when either the cell or what is computed from it changes.
func (k AnswerKey) Written() string {
	if k.Cell == "" || k.Value == "" {
		return k.Cell + k.Value
	}
	return k.Cell + " (" + k.Value + ")"
}

// Matches reports whether an answer, as a person writes it, names the cell and the
// rule of a finding's key, and whether its value is still the one there: what
// the finding prints, or the text of the cell with it. The text of the cell
// alone does not do where the finding prints a value that other cells change.
// The tab of a workbook and the title of a column do as well as their names.
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
	given := k.plainValue(a.Value)
	value = given == k.plainValue(k.Written()) || k.Value != "" && given == k.plainValue(k.Value)
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

// decimals matches the numbers of a value that have a decimal mark.
var decimals = regexp.MustCompile(`\d+[.,]\d+`)

// plainValue is a text about the key's cell as it is compared with others: a
// spreadsheet may show a number with another decimal mark and other zeros than
// it holds. Dates, times and words are taken as written: 1.1 and 1.10 are two
// days, and 71 and 71.0 may be two lots.
func (k AnswerKey) plainValue(text string) string {
	text = strings.Join(strings.Fields(text), " ")
	if !k.number() {
		return text
	}
	return decimals.ReplaceAllStringFunc(text, func(n string) string {
		return strings.TrimRight(strings.TrimRight(strings.Replace(n, ",", ".", 1), "0"), ".")
	})
}

// number reports whether the key's cell is of a column or a question for numbers.
func (k AnswerKey) number() bool {
	if part, key, _ := strings.Cut(k.Column, "."); k.Sheet == "log" {
		q, ok := AboutRowOf(part, key)
		return ok && q.Kind == KindNumber
	}
	c := Headed(Sheet(k.Sheet), k.Column)
	return c.Name != "" && c.Kind == KindNumber
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
	return map[string]string{"rule": k.Rule, "session": k.Session, "sheet": k.Sheet, "column": k.Column, "value": k.Written(), "answered_on": day, "reason": reason}
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
