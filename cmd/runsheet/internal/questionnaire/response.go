package questionnaire

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"runsheet.example/cmd/runsheet/internal/steps"
	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// Named reports whether a path is that of a response, by its ending.
func Named(path string) bool { return strings.EqualFold(filepath.Ext(path), ".json") }

// IsResponse reports whether a file is a QuestionnaireResponse no larger than a
// log, by its content.
func IsResponse(path string) bool {
	info, err := os.Stat(path)
	if err != nil || info.Size() > session.MaxBytes || !Named(path) {
		return false
	}
	data, err := os.ReadFile(path)
	var r struct{ ResourceType string }
	return err == nil && json.Unmarshal(data, &r) == nil && r.ResourceType == "QuestionnaireResponse"
}

type response struct {
	ResourceType  string
	Questionnaire string
	Status        string
	Item          []answered
}

type answered struct {
	LinkID string
	Answer []map[string]json.RawMessage
	Item   []answered
}

// ReadFile reads a QuestionnaireResponse as a log, like the other readers. An
// error means that the file cannot be opened, or is no response to the form.
func ReadFile(path string, opts session.Options) (*session.Log, []issue.Finding, error) {
	info, err := os.Stat(path)
	if err != nil {
		return nil, nil, err
	}
	if info.Size() > session.MaxBytes {
		return nil, nil, fmt.Errorf("%s: %s", path, session.TooManyBytes)
	}
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, nil, err
	}
	return Read(data, filepath.Base(path), opts)
}

// Read reads a response as [ReadFile] does; name is what findings call it.
func Read(data []byte, name string, opts session.Options) (*session.Log, []issue.Finding, error) {
	decoder := json.NewDecoder(bytes.NewReader(data))
	var in response
	err := decoder.Decode(&in)
	form, _, _ := strings.Cut(in.Questionnaire, "|")
	switch {
	case err != nil || in.ResourceType != "QuestionnaireResponse":
		return nil, nil, fmt.Errorf("%s: expected a FHIR QuestionnaireResponse in JSON", name)
	case form != URL:
		return nil, nil, fmt.Errorf("%s: it answers the form %q; expected %s, which 'runsheet new form.json' writes", name, in.Questionnaire, URL)
	case in.Status == "entered-in-error":
		return nil, nil, errors.New(name + ": the response was withdrawn (status entered-in-error)")
	}
	r := &reader{name: name, tables: map[session.Sheet]*table{}}
	book := session.Book{Source: session.NewSource(name, data), AboutTab: "about"}
	book.Source.Encoding = "utf-8"
	counts := map[string]int{}
	for _, group := range in.Item {
		counts[group.LinkID]++
		r.group(group, counts[group.LinkID])
	}
	book.About = r.about
	for _, sheet := range steps.Sheets() {
		if t := r.tables[sheet]; t != nil {
			book.Tables = append(book.Tables, session.BookTable{
				Sheet: sheet, Tab: string(sheet), Headings: t.headings, HeadingRow: 1, Rows: func() []session.Row { return t.rows },
			})
		}
	}
	log, findings := session.ReadBook(book, opts)
	if len(r.findings) > 0 {
		for _, s := range log.Sessions {
			s.Broken = true
		}
	}
	findings = append(findings, r.findings...)
	issue.Sort(findings)
	return log, findings, nil
}

// reader gathers the groups of a response.
type reader struct {
	name     string
	about    []*session.AboutPart
	tables   map[session.Sheet]*table
	findings []issue.Finding
}

// table is the repetitions of a sheet's group.
type table struct {
	headings []string
	rows     []session.Row
}

const inForm = "a group or question of the form that 'runsheet new' writes"

// firstRow is the row of the first repetition of a group: row 1 would hold the
// headings.
const firstRow = 2

// fault reports an item that cannot be read.
func (r *reader) fault(linkID string, number int, details, expected issue.Text, value string) {
	group, _ := split(linkID)
	f := issue.At("log-form-item")
	f.File, f.Cells = r.name, []issue.Cell{{File: r.name, Sheet: group, Row: number - 1 + firstRow, Heading: linkID}}
	f.Details, f.Expected, f.Value = details, expected, value
	r.findings = append(r.findings, f)
}

// group reads one repetition of a group.
func (r *reader) group(g answered, number int) {
	isPart := slices.ContainsFunc(session.AboutRows, func(a session.AboutRow) bool { return a.Part == g.LinkID })
	isSheet := steps.SheetTitle(session.Sheet(g.LinkID)) != ""
	switch {
	case !isPart && !isSheet:
		r.fault(g.LinkID, number, issue.T("the form has no such group"), issue.T(inForm), "")
		return
	case len(g.Answer) > 0:
		r.fault(g.LinkID, number, issue.T("a group has no answer of its own"), issue.T("no answer"), "")
	case isPart && number > 1 && !slices.Contains(repeated, g.LinkID):
		r.fault(g.LinkID, number, issue.T("this group stands in the response twice"), issue.T("one of them"), "")
		return
	}
	if isPart {
		r.part(g, number)
	} else {
		r.row(g, number)
	}
}

func (r *reader) part(g answered, number int) {
	part := &session.AboutPart{Name: g.LinkID, Cell: issue.Cell{File: r.name, Sheet: g.LinkID, Row: number - 1 + firstRow}}
	for _, q := range r.questions(g, number) {
		group, key := split(q.LinkID)
		row, known := session.AboutRowOf(group, key)
		if !known || group != g.LinkID {
			r.fault(q.LinkID, number, issue.T("the form has no such question in this group"), issue.T(inForm), "")
			continue
		}
		if cell, ok := r.answer(q, number, row.Kind, "", row.Choices); ok {
			at := issue.Cell{File: r.name, Sheet: g.LinkID, Row: number - 1 + firstRow, Heading: q.LinkID}
			part.Entries = append(part.Entries, &session.AboutEntry{Key: key, Text: cell.Text, Bare: cell.Number || q.LinkID == "log.format", Cell: at})
		}
	}
	r.about = append(r.about, part)
}

// row adds a row to the table of a sheet.
func (r *reader) row(g answered, number int) {
	sheet := session.Sheet(g.LinkID)
	t := r.tables[sheet]
	if t == nil {
		t = &table{}
		for _, c := range session.Columns {
			if c.Sheet == sheet {
				t.headings = append(t.headings, c.Name)
			}
		}
		r.tables[sheet] = t
	}
	row := session.Row{Number: number - 1 + firstRow}
	for _, q := range r.questions(g, number) {
		group, name := split(q.LinkID)
		column := session.Headed(sheet, name)
		if column.Name == "" || group != g.LinkID {
			r.fault(q.LinkID, number, issue.T("the form has no such question in this group"), issue.T(inForm), "")
			continue
		}
		cell, ok := r.answer(q, number, column.Kind, column.Unit, column.Choices)
		if !ok {
			continue
		}
		at := slices.Index(t.headings, name)
		if at < 0 { // the column in another unit
			at, t.headings = len(t.headings), append(t.headings, name)
		}
		for len(row.Cells) <= at {
			row.Cells = append(row.Cells, session.Cell{})
		}
		row.Cells[at] = cell
	}
	t.rows = append(t.rows, row)
}

// questions are the items of a group. A question asked twice is a fault.
func (r *reader) questions(g answered, number int) (out []answered) {
	seen := map[string]bool{}
	for _, q := range g.Item {
		if seen[q.LinkID] {
			r.fault(q.LinkID, number, issue.T("this question is answered twice"), issue.T("one answer"), "")
			continue
		}
		seen[q.LinkID] = true
		if len(q.Item) > 0 {
			r.fault(q.Item[0].LinkID, number, issue.T("the form has no question inside another one"), issue.T(inForm), "")
		}
		out = append(out, q)
	}
	return out
}

// answer is the answer to a question as a cell; ok is false if there is none, or
// none that can be read.
func (r *reader) answer(q answered, number int, kind session.Kind, unit string, choices []string) (cell session.Cell, ok bool) {
	if len(q.Answer) == 0 {
		return cell, false
	}
	var value json.RawMessage
	var name string
	for key, raw := range q.Answer[0] {
		if strings.HasPrefix(key, "value") {
			name, value = key, raw
		}
	}
	_, nested := q.Answer[0]["item"]
	if len(q.Answer) > 1 || nested {
		r.fault(q.LinkID, number, issue.T("this question is answered twice"), issue.T("one answer"), "")
		return cell, false
	}
	if cell, ok = cellOf(name, value, unit, choices); !ok {
		r.fault(q.LinkID, number, issue.T("an answer of this type, or in this unit, cannot be read here"), expected(kind, unit), string(value))
	}
	return cell, ok
}

func expected(kind session.Kind, unit string) issue.Text {
	if kind == session.KindNumber && unit != "" {
		return issue.T("a number in {}", unit)
	}
	return issue.T("an answer of the type that the form asks for")
}

// cellOf is an answer as a cell, with its digits as they are written.
func cellOf(name string, value json.RawMessage, unit string, choices []string) (cell session.Cell, ok bool) {
	var text string
	var isTrue bool
	var quantity struct {
		Value json.Number
		Code  string
	}
	var coding struct{ Code, Display string }
	switch name {
	case "valueDecimal", "valueInteger":
		return session.Cell{Text: string(value), Number: true}, true
	case "valueQuantity":
		err := json.Unmarshal(value, &quantity)
		return session.Cell{Text: quantity.Value.String(), Number: true}, err == nil && quantity.Value != "" && quantity.Code == unit
	case "valueTime":
		err := json.Unmarshal(value, &text)
		return session.Cell{Text: withoutSeconds(text)}, err == nil
	case "valueString", "valueDate", "valueUri":
		err := json.Unmarshal(value, &text)
		return session.Cell{Text: text}, err == nil
	case "valueCoding":
		err := json.Unmarshal(value, &coding)
		for _, word := range []string{coding.Code, coding.Display} {
			if slices.Contains(choices, word) {
				return session.Cell{Text: word}, err == nil
			}
		}
		return cell, false
	case "valueBoolean":
		err := json.Unmarshal(value, &isTrue)
		word := map[bool]string{true: "yes", false: "no"}[isTrue]
		return session.Cell{Text: word}, err == nil && slices.Contains(choices, word)
	default:
		return cell, false
	}
}

// withoutSeconds is a FHIR time as a person writes it; FHIR demands seconds.
func withoutSeconds(text string) string {
	const seconds = 3
	if len(text) > seconds && strings.Count(text, ":") == 2 && strings.HasSuffix(text, ":00") {
		return text[:len(text)-seconds]
	}
	return text
}
