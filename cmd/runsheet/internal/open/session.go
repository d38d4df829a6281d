package open

import (
	"fmt"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"runsheet.example/cmd/runsheet/internal/steps"
	"runsheet.example/fhirmap/session"
	"runsheet.example/fhirmap/session/edit"
	"runsheet.example/profiles"
	"runsheet.example/validate/issue"
)

// sessionPage is one session as a form.
type sessionPage struct {
	asked
	fields map[string]*field

	Session       *session.Session
	ID            string
	Day           time.Time
	Sections      []*section
	Found         []found // of no field of the page
	Summary       []found // all mistakes and things to look at
	Problems      []problem
	Checking      bool
	Earlier, Next int // rows of the sessions beside this one
}

// form is what was typed into a page that was not saved.
type form struct {
	url.Values
	isStale bool // the page was made from another version of the log
}

// problem is why something was not saved.
type problem struct{ ID, Text string }

// section is one part of the page.
type section struct {
	steps.Step
	Entry  *entry // of the sheet of sessions
	Rows   []*entry
	Hints  []*field // what each column of the rows is for
	Hidden bool     // there are columns that are not shown
}

// entry is one row of a sheet.
type entry struct {
	Name     string // prefix of its fields: readings.2
	Title    string
	Row      int // in the sheet, 0 for one that is not in the log yet
	Fields   []*field
	More     []*field // what few people fill in
	MoreOpen bool
	Found    []found
}

// field is one cell.
type field struct {
	column            session.Column
	Name, ID          string
	Label, Unit, Hint string
	Text              string // as typed
	absent            string // the word chosen beside it, not saved
	Read              string // how it was read, "" where that is the same
	Last              string // of the session before
	disk              string // in the log, whatever was typed
	IsStale           bool
	Kind              string // number, time, date, text, long or choice
	Choices           []choice
	Found             []found
}

type choice struct {
	Value, Label string
	Selected     bool
}

// IsMistaken reports a mistake at the field.
func (f *field) IsMistaken() bool {
	return slices.ContainsFunc(f.Found, func(one found) bool { return one.Mistake && !one.IsAnswered })
}

// ElementID is the id of the row on the page.
func (e *entry) ElementID() string { return strings.ReplaceAll(e.Name, ".", "-") }

// Place is the id of the step on the page.
func (s *section) Place() string {
	if s.Entry == nil {
		return string(s.Sheet)
	}
	return s.ID
}

// Add is the words of the button for another row.
func (s *section) Add() string { return rowWords[s.Sheet].add }

// Was is what the fields had in the log that the page was made from.
func (p *sessionPage) Was() string { return p.texts().Encode() }

func (p *sessionPage) texts() url.Values {
	all := texts(p.fields)
	all.Set("session", identity(p.log, p.Row))
	return all
}

// MonthPath is the address of the month of the session.
func (p *sessionPage) MonthPath() string {
	if p.Day.IsZero() {
		return "/"
	}
	return monthPath(p.Day)
}

// newRows is how many empty rows a page offers for each sheet.
var newRows = map[session.Sheet]int{session.SheetReadings: 3, session.SheetMedicines: 1, session.SheetEvents: 1}

// asked is which page of a session is wanted.
type asked struct {
	lang  issue.Language
	log   *edit.Log
	found *checked // nil while the log is being checked
	// Row is that of the session in the sheet of sessions, 0 for one that is not
	// in the log yet.
	Row   int
	typed *form // nil for a page that shows the log
	// least is how many empty rows of a sheet there are at least, and all the
	// sheet whose columns are all there, everySheet for each.
	least map[session.Sheet]int
	all   session.Sheet
}

const everySheet session.Sheet = "*"

// newSessionPage builds the page of a session.
func newSessionPage(a asked) *sessionPage {
	p := &sessionPage{asked: a, fields: map[string]*field{}, Checking: a.found == nil}
	l, c, row := a.log, a.found, a.Row
	p.ID = strings.TrimSpace(l.Cell(session.SheetSessions, row, "session"))
	if c != nil && c.log != nil {
		if p.Session = c.sessionAt(row); p.Session != nil {
			p.ID, p.Day = p.Session.ID, p.Session.Date.Time
		}
		p.neighbours()
	}
	if p.typed != nil {
		p.least = typedRows(p.typed.Values)
	}
	for _, step := range steps.All {
		s := &section{Step: step}
		if step.Sheet == session.SheetSessions {
			s.Entry = p.entry(step, row, "sessions.0")
		} else {
			p.rows(s, p.least[step.Sheet])
		}
		p.Sections = append(p.Sections, s)
	}
	p.lastValues()
	p.attach()
	for _, s := range p.Sections {
		for _, e := range append(s.Rows, s.Entry) {
			e.open()
		}
	}
	return p
}

// rowsOf are the rows of another sheet that belong to the session.
func (p *sessionPage) rowsOf(sheet session.Sheet) (rows []int) {
	for _, row := range p.log.Rows(sheet) {
		if p.ID != "" && strings.TrimSpace(p.log.Cell(sheet, row, "session")) == p.ID {
			rows = append(rows, row)
		}
	}
	return rows
}

// rows makes the rows of another sheet, those of the session and some empty
// ones.
func (p *sessionPage) rows(s *section, least int) {
	for i, row := range p.rowsOf(s.Sheet) {
		s.Rows = append(s.Rows, p.entry(s.Step, row, fmt.Sprintf("%s.%d", s.Sheet, i+1)))
	}
	fresh := newRows[s.Sheet]
	if len(s.Rows) > 0 {
		fresh = min(fresh, 1)
	}
	for i := range max(fresh, least) {
		s.Rows = append(s.Rows, p.entry(s.Step, 0, fmt.Sprintf("%s.new%d", s.Sheet, i+1)))
	}
	for i, e := range s.Rows {
		e.Title = p.say(rowWords[s.Sheet].one, i+1)
		e.Fields, e.More = append(e.Fields, e.More...), nil
	}
	if len(s.Rows) == 0 {
		return
	}
	var hide []string
	for i, f := range s.Rows[0].Fields {
		if f.column.Filled == profiles.ByAll || p.all == s.Sheet || p.all == everySheet || s.isUsed(i) || p.usedBefore(f.column) {
			if f.Hint != "" {
				s.Hints = append(s.Hints, f)
			}
			continue
		}
		hide = append(hide, f.column.Name)
	}
	for _, e := range s.Rows {
		e.Fields = slices.DeleteFunc(e.Fields, func(f *field) bool { return slices.Contains(hide, f.column.Name) })
	}
	s.Hidden = len(hide) > 0
}

// isUsed reports whether any row has something in a column.
func (s *section) isUsed(at int) bool {
	return slices.ContainsFunc(s.Rows, func(e *entry) bool { return e.Fields[at].Text != "" })
}

// usedBefore reports whether the newest rows of the sheet have something in a
// column.
func (p *sessionPage) usedBefore(c session.Column) bool {
	const looked = 40 // the rows of a few sessions
	rows := p.log.Rows(c.Sheet)
	return slices.ContainsFunc(rows[max(0, len(rows)-looked):], func(row int) bool { return p.log.Cell(c.Sheet, row, c.Name) != "" })
}

// entry makes the fields of one row.
func (p *sessionPage) entry(step steps.Step, row int, name string) *entry {
	e := &entry{Name: name, Row: row}
	for _, c := range columnsOf(step, p.log.Headings(step.Sheet)) {
		f := p.field(c, row, name)
		p.fields[f.Name] = f
		if c.Filled == profiles.BySome {
			e.More = append(e.More, f)
		} else {
			e.Fields = append(e.Fields, f)
		}
	}
	return e
}

// open shows the seldom filled fields of a row that have something in them.
func (e *entry) open() {
	if e == nil {
		return
	}
	for _, f := range e.More {
		e.MoreOpen = e.MoreOpen || f.Text != "" || len(f.Found) > 0 || f.IsStale
	}
}

func (p *sessionPage) say(key string, args ...any) string { return p.lang.Text(issue.T(key, args...)) }

func (p *sessionPage) field(c session.Column, row int, prefix string) *field {
	f := &field{column: c, Name: prefix + "." + c.Name, Label: upper(p.say(labelOf(c))), Unit: steps.Unit(c), Kind: kindOf(c)}
	f.ID = strings.ReplaceAll(f.Name, ".", "-")
	if hint := p.say(c.Hint); !strings.HasPrefix(strings.ToLower(hint), strings.ToLower(f.Label)) {
		f.Hint = hint
	}
	if f.Kind == "date" {
		f.Hint = strings.ReplaceAll(f.Hint, "2025-11-03", inStyle(time.Date(2025, 11, 3, 0, 0, 0, 0, time.UTC), p.log.About("log.date_style")))
	}
	f.disk = p.log.Cell(c.Sheet, row, c.Name)
	f.take(p.typed)
	p.choices(f)
	if p.typed == nil && row > 0 {
		f.Read = p.read(c, row, f.Text)
	}
	return f
}

func kindOf(c session.Column) string {
	switch c.Kind {
	case session.KindNumber:
		return "number"
	case session.KindTime:
		return "time"
	case session.KindDate:
		return "date"
	case session.KindChoice:
		if len(c.Choices) > 0 {
			return "choice"
		}
	case session.KindText:
		if c.Width >= 25 {
			return "long"
		}
	}
	return "text"
}

// absences are the words for a cell without a value.
var absences = []choice{{Value: "not done", Label: "not measured (not done)"}, {Value: "?", Label: "I do not know (?)"}, {Value: "n/a", Label: "does not apply (n/a)"}}

// take fills a field with what was typed into it, or with what is in the log.
func (f *field) take(typed *form) {
	f.Text = f.disk
	if typed != nil && typed.Has(f.Name) {
		f.Text = strings.ReplaceAll(typed.Get(f.Name), "\r\n", "\n")
		f.absent = typed.Get(f.Name + ".absent")
		f.IsStale = typed.isStale && f.Text != f.disk
	}
}

// Now is what the log has in place of what was typed into an older page.
func (f *field) Now() string { return f.disk }

// choices are the words of a column.
func (p *sessionPage) choices(f *field) {
	if f.Kind == "number" {
		for _, a := range absences {
			f.Choices = append(f.Choices, choice{a.Value, p.say(a.Label), f.absent == a.Value})
		}
		return
	}
	if f.Kind == "choice" {
		f.offer(f.column.Choices, p.lang)
		return
	}
	for _, word := range f.column.Choices {
		f.Choices = append(f.Choices, choice{Value: word, Label: word})
	}
}

// offer makes words the choices of a field. A text that is none of them stays
// in a choice of its own.
func (f *field) offer(words []string, l issue.Language) {
	if f.Text != "" && !slices.Contains(words, f.Text) {
		words = append(slices.Clone(words), f.Text)
	}
	for _, word := range words {
		c := choice{word, l.Text(issue.T(word)), word == f.Text}
		if c.Label != word {
			c.Label += " (" + word + ")"
		}
		f.Choices = append(f.Choices, c)
	}
}

// number reads the number at the end of a path, 0 where there is none.
func number(text string) int {
	n, err := strconv.Atoi(text)
	if err != nil || n < 0 {
		return 0
	}
	return n
}
