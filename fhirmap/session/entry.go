package session

import (
	"strconv"
	"strings"
)

// Entry is the session as written, in one canonical text: one line for each
// filled cell, "sheet<TAB>row<TAB>heading<TAB>text", where row counts the
// session's own rows of that sheet from 1. It does not change when other
// sessions are added or rows are moved, and it changes with every character
// of this one; its digest is the session's proof of origin.
func (s *Session) Entry() string {
	var e entry
	e.sheet, e.row = SheetSessions, 1
	e.moments(s.Date, s.Start, s.End, s.BeforeAt, s.AfterAt, s.EnteredAt)
	e.line("status", string(s.Status))
	e.texts(s.Reason)
	e.columns(s.Values, s.Texts)
	for _, c := range s.Checks {
		e.sheet, e.row = SheetChecks, c.Ordinal
		e.moments(c.At)
		e.texts(c.What, c.Result, c.Words, c.Lot, c.Expires, c.ByWhom)
		e.values(c.Value)
	}
	for _, r := range s.Readings {
		e.sheet, e.row = SheetReadings, r.Ordinal
		e.moments(r.At)
		e.columns(r.Values, nil)
		e.texts(r.Note)
	}
	for _, m := range s.Medicines {
		e.sheet, e.row = SheetMedicines, m.Ordinal
		e.moments(m.At, m.Until)
		e.texts(m.Name, m.CodeSystem, m.Code, m.Route, m.Kind)
		e.values(m.Dose, m.Rate)
	}
	for _, l := range s.Labs {
		e.sheet, e.row = SheetLabs, l.Ordinal
		e.moments(l.Drawn)
		e.texts(l.When, l.Test, l.Laboratory, l.Words)
		e.values(l.Value)
	}
	for _, v := range s.Events {
		e.sheet, e.row = SheetEvents, v.Ordinal
		e.moments(v.At)
		e.texts(v.Kind, v.What, v.AlarmNumber, v.Action)
	}
	return e.text.String()
}

type entry struct {
	text  strings.Builder
	sheet Sheet
	row   int
}

// line writes one cell; tabs and line breaks inside it are escaped so that
// two different entries never give the same text.
func (e *entry) line(heading, text string) {
	if text == "" {
		return
	}
	escape := strings.NewReplacer("\\", "\\\\", "\t", "\\t", "\n", "\\n", "\r", "\\r")
	for _, part := range []string{string(e.sheet), strconv.Itoa(e.row), heading} {
		e.text.WriteString(part)
		e.text.WriteByte('\t')
	}
	e.text.WriteString(escape.Replace(text))
	e.text.WriteByte('\n')
}

// moments writes a time with its day, from whatever cell that is.
func (e *entry) moments(moments ...Moment) {
	for _, m := range moments {
		text := m.Text
		if m.OK() && !m.DateOnly && !dateAndTime.MatchString(text) {
			text = m.Time.Format(isoDay) + " " + text
		}
		e.line(m.Cell.Heading, text)
	}
}

func (e *entry) texts(texts ...Text) {
	for _, t := range texts {
		e.line(t.Cell.Heading, t.Text)
	}
}

func (e *entry) values(values ...Value) {
	for _, v := range values {
		e.line(v.Cell.Heading, v.Text)
		e.line(v.Cell.Heading+" unit", v.Unit)
	}
}

// columns writes what the sheet's columns hold, in the order of the table.
func (e *entry) columns(values map[Field]Value, texts map[Field]Text) {
	for _, c := range Columns {
		if c.Sheet != e.sheet {
			continue
		}
		if v, ok := values[c.Field]; ok && c.Holds(v.Unit) {
			e.line(c.Name, v.Text)
			if v.Unit != c.Unit {
				e.line(c.Name+" unit", v.Unit)
			}
		}
		if t, ok := texts[c.Field]; ok {
			e.line(c.Name, t.Text)
		}
	}
}
