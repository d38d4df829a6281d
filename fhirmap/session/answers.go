package session

import (
	"strings"

	"runsheet.example/validate/issue"
)

// AnswerKey is the finding that an answer is about: its rule, its cell, and the
// value that it was about. The cell is named by its session, sheet and column,
// not by its row: rows move. Sheet is "log" for log.toml.
type AnswerKey struct{ Rule, Session, Sheet, Column, Value string }

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
	return map[string]string{"rule": k.Rule, "session": k.Session, "sheet": k.Sheet, "column": k.Column, "value": k.Value, "answered_on": day, "reason": reason}
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
			AnswerKey: AnswerKey{text("rule"), text("session"), strings.ToLower(text("sheet")), text("column"), text("value")},
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
