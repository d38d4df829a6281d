package workbook

import (
	"slices"
	"strings"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// readAbout reads the answers of the About sheet: each column of answers to
// the questions of a part is one part of that name.
func (r *bookReader) readAbout(t tab) error {
	r.aboutTab = t.name
	g, err := r.cells(t)
	if err != nil {
		return err
	}
	a := aboutAnswers{reader: r, sheet: t.name, heading: "log"}
	for _, row := range g.rows {
		a.line(row)
	}
	a.addEmpty()
	r.about = a.parts
	return nil
}

// aboutAnswers gathers the parts in the order they are met.
type aboutAnswers struct {
	reader *bookReader
	sheet  string
	parts  []*session.AboutPart
	// heading is the part of the last heading met, for lines whose hidden
	// name is gone: a few questions have the same words in two parts.
	heading string
	// asked are the questions of the parts with several columns of answers,
	// in the order of the sheet.
	asked []question
}

// question is a question that the sheet asks, and its row.
type question struct {
	part, key string
	row       int
}

// line takes one row: the hidden name or the words of the question, and the
// answers.
func (a *aboutAnswers) line(row rawRow) {
	texts := map[int]rendered{}
	last := 0
	for _, c := range row.cells {
		texts[c.column] = a.reader.render(c)
		last = c.column
	}
	part, key, ok := a.question(texts[aboutKeyColumn].text, texts[aboutLabel].text)
	if !ok {
		a.stray(row, texts)
		return
	}
	if _, known := session.AboutRowOf(part, key); known && answers(part) > 1 {
		a.asked = append(a.asked, question{part, key, row.number})
	}
	// A single answer that is empty is still a place to mend.
	for column := aboutAnswer; column <= max(last, aboutAnswer); column++ {
		text := strings.TrimSpace(texts[column].text)
		if text == "" && (answers(part) > 1 || column > aboutAnswer) {
			continue
		}
		cell := issue.Cell{File: a.reader.name, Sheet: a.sheet, Row: row.number, Column: column, Heading: part + "." + key}
		asked, _ := session.AboutRowOf(part, key)
		entry := &session.AboutEntry{Key: key, Text: text, Cell: cell}
		entry.Bare = texts[column].number && asked.Kind == session.KindNumber
		at := a.find(part, column, cell)
		a.parts[at].Entries = append(a.parts[at].Entries, entry)
	}
}

// addEmpty gives each column that answers anything the empty cells beside the
// other questions of its part: what is missing there is to be mended there.
func (a *aboutAnswers) addEmpty() {
	for _, p := range a.parts {
		for _, q := range a.asked {
			if _, answered := p.Entry(q.key); answered || q.part != p.Name {
				continue
			}
			cell := issue.Cell{File: a.reader.name, Sheet: a.sheet, Row: q.row, Column: p.Cell.Column, Heading: q.part + "." + q.key}
			p.Entries = append(p.Entries, &session.AboutEntry{Key: q.key, Cell: cell})
		}
	}
}

// question finds out which question a line is.
func (a *aboutAnswers) question(hidden, shown string) (part, key string, ok bool) {
	if part, key, ok := strings.Cut(strings.TrimSpace(hidden), "."); ok {
		return part, key, true
	}
	wanted := session.PlainTitle(shown)
	if wanted == "" {
		return "", "", false
	}
	for _, r := range session.AboutRows {
		if !saidAs(r.Label, wanted) {
			continue
		}
		if r.Key == "" {
			a.heading = r.Part
			return "", "", false
		}
		if r.Part == a.heading {
			return r.Part, r.Key, true
		}
		if !ok {
			part, key, ok = r.Part, r.Key, true
		}
	}
	return part, key, ok
}

// find is the part that a column of answers belongs to.
func (a *aboutAnswers) find(name string, column int, cell issue.Cell) int {
	for i, p := range a.parts {
		if p.Name == name && (p.Cell.Column == column || answers(name) == 1) {
			return i
		}
	}
	cell.Heading = name
	a.parts = append(a.parts, &session.AboutPart{Name: name, Cell: cell})
	return len(a.parts) - 1
}

// stray reports an answer beside words that are no question of ours.
func (a *aboutAnswers) stray(row rawRow, texts map[int]rendered) {
	answer := strings.TrimSpace(texts[aboutAnswer].text)
	if answer == "" || isHelp(answer) {
		return
	}
	f := issue.At("about-unknown")
	f.File = a.reader.name
	f.Cells = []issue.Cell{{File: a.reader.name, Sheet: a.sheet, Row: row.number, Column: aboutAnswer}}
	f.Details, f.Value = issue.T("the log does not know the question that this answers"), answer
	a.reader.findings = append(a.reader.findings, f)
}

// isHelp reports the help texts beside the headings of parts.
func isHelp(text string) bool {
	for _, r := range session.AboutRows {
		if r.Key == "" && saidAs(r.Help, session.PlainTitle(text)) {
			return true
		}
	}
	return false
}

// saidAs reports whether plain words are those of a text in any language.
func saidAs(key, plain string) bool {
	return slices.ContainsFunc(issue.Languages(), func(tag string) bool {
		return session.PlainTitle(issue.Language(tag).Text(issue.T(key))) == plain
	})
}
