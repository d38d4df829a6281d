package visit

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"runsheet.example/cmd/runsheet/internal/pdf"
	"runsheet.example/profiles"
	"runsheet.example/validate/issue"
)

// Page is the content of a report, written out in its language.
type Page struct {
	Language issue.Language
	Paper    pdf.Paper
	// Title names the report, Who the patient by number; NameLine asks for a
	// line to write the name on, "" for none.
	Title, Who, NameLine, Span string
	// Access is the access in use, "" if none is named.
	Access string
	// Caution says where the values come from and what they are not for.
	Caution string
	Numbers Table
	chart   chart
	// Look lists what is outside what was prescribed, and other facts to look
	// at; Theirs is what the patient asks.
	Look, Theirs List
	// Medicines are those given in the last four weeks.
	Dose, Labs, Medicines Table
	// Origin says what the page was made from, and by what.
	Origin []string
	// Data are the values behind the charts; only the HTML file has them.
	Data []Table
}

// Table is a table with a heading; Over spans several columns of the heading.
type Table struct {
	Title string
	// Shares are the widths of the columns in percent; empty for a table that no
	// paper has.
	Shares []float64
	Over   []Span
	Heads  []string
	Rows   [][]string
	Notes  []string
}

// Label is what a column is called where the heading does not stand above it:
// the heading over a group of columns at its first one, the column's own where
// there is none over it.
func (t Table) Label(column int) string {
	first := 0
	for _, over := range t.Over {
		switch {
		case column == first && over.Text != "":
			return over.Text
		case column == first:
			return t.Heads[column]
		}
		first += over.Columns
	}
	return ""
}

// Span is a heading over a number of columns.
type Span struct {
	Text    string
	Columns int
}

// List is a heading with lines below it.
type List struct {
	Title string
	Items []string
}

// builder makes a page from the record of its days.
type builder struct {
	*Record
	// whole reaches from the first session of the log to the last day.
	whole    *Record
	opts     Options
	from, to time.Time
	// begins and ends are the days of the first and the last session of the
	// log.
	begins, ends time.Time
}

func (b *builder) t(text issue.Text) string { return b.opts.Language.Text(text) }

// n writes a number in the language of the page.
func (b *builder) n(decimal string) string { return b.opts.Language.Number(decimal) }

// page makes the page, and shortens its lists until it fits on the paper.
func (b *builder) page() *Page {
	p := &Page{
		Language: b.opts.Language, Paper: b.opts.Paper, Title: b.t(issue.T("Home haemodialysis: report for the visit")),
		Who: b.who(), Span: b.t(issue.T("{} to {}", b.date(b.from), b.date(b.to))), Access: b.access(),
		Caution: b.t(issue.T("Entered by the patient, calculated by software; not verified by a clinician; not for changing treatment.")),
		Numbers: b.table().numbers(), chart: b.chart(), Theirs: b.theirs(), Dose: b.dose(), Origin: b.origin(), Data: b.data(),
	}
	if b.opts.BlankName {
		p.NameLine = b.t(issue.T("Name"))
	}
	labs, medicines := b.laboratory(), b.medicines()
	for left, right := 0, 0; ; {
		p.Look = List{b.t(issue.T("To look at")), b.atMost(b.look(mostToLook[left][1]), mostToLook[left][0])}
		p.Labs, p.Medicines = b.firstRows(labs, mostRows[right]), b.firstRows(medicines, mostToLook[left][0])
		if p.lay(nil, comfortablePanel) <= p.Paper.HeightMM-margin {
			return p
		}
		switch a, b := p.columnHeights(); {
		case a > b && left+1 < len(mostToLook):
			left++
		case a <= b && right+1 < len(mostRows):
			right++
		default:
			return p // panels lose height instead
		}
	}
}

// What gives way where the page is full, in the higher of the two columns: the
// lines to look at, with as many medicines, and the sessions that they name one
// by one; laboratory values beyond the first ones.
var (
	mostToLook = [...][2]int{{40, 20}, {9, 3}, {7, 3}, {5, 3}, {4, 3}, {3, 3}, {2, 3}}
	mostRows   = [...]int{9, 6, 4, 3, 2, 1}
)

// firstRows keeps the first rows of a table and counts the others.
func (b *builder) firstRows(t Table, most int) Table {
	if more := len(t.Rows) - most; more > 0 {
		t.Rows, t.Notes = t.Rows[:most], append([]string{b.t(issue.T("and {} more", more))}, t.Notes...)
	}
	return t
}

// atMost keeps the first lines and counts the others.
func (b *builder) atMost(items []string, most int) []string {
	if len(items) <= most {
		return items
	}
	return append(slices.Clone(items[:most-1]), b.t(issue.T("and {} more", len(items)-most+1)))
}

func (b *builder) who() string {
	if b.local {
		return b.t(issue.T("Patient without a number of the clinic"))
	}
	return b.t(issue.T("Patient {}", b.short(b.patient, 40)))
}

// access is the access that is in use on the last day.
func (b *builder) access() (text string) {
	for _, a := range b.accesses {
		if !a.from.After(b.to) {
			text = b.t(issue.T("Access: {} since {}", issue.T(a.kind), b.date(a.from)))
		}
	}
	return text
}

// theirs are the patient's own questions, as written.
func (b *builder) theirs() List {
	if b.opts.NoNotes || len(b.questions) == 0 {
		return List{}
	}
	list := List{Title: b.t(issue.T("The patient asks, in their own words"))}
	for _, q := range b.questions {
		list.Items = append(list.Items, b.short(q, 210))
	}
	return list
}

// short returns a text whole, or its beginning with a count of what is left
// where that is shorter.
func (b *builder) short(text string, most int) string {
	runes := []rune(text)
	if len(runes) <= most {
		return text
	}
	cut := b.t(issue.T("{} … and {} more characters, in the log", strings.TrimSpace(string(runes[:most])), len(runes)-most))
	if len([]rune(cut)) >= len(runes) {
		return text
	}
	return cut
}

// wordsOfReason is the most characters of each of a few reasons.
const wordsOfReason = 90

func (b *builder) origin() []string {
	kind := issue.T("exported records")
	if b.fromLog {
		kind = issue.T("the log")
	}
	source := b.t(issue.T("From {}", kind))
	if b.logID != "" {
		source += " " + b.logID
	}
	source += b.t(issue.T(", SHA-256 {}", b.digest[:16])) + "; " + b.opts.Tool
	if b.rules != "" {
		source += b.t(issue.T(", rules {}", b.rules[:16]))
	}
	lines := []string{source + "."}
	if !b.fromLog {
		lines = append(lines, b.t(issue.T("Records hold no prescribed time, no UF limit, no access and no questions of the patient; a report from the log has them.")))
	}
	if zones := slices.DeleteFunc(slices.Clone(b.zones), func(z string) bool { return z == "" }); len(zones) > 0 {
		text := issue.T("Times are local, in {}.", strings.Join(zones, ", "))
		lines[0] += " " + b.t(text)
	}
	return lines
}

// months are the short names of the months, as days of them.
var months = [...]string{"{} Jan", "{} Feb", "{} Mar", "{} Apr", "{} May", "{} Jun", "{} Jul", "{} Aug", "{} Sep", "{} Oct", "{} Nov", "{} Dec"}

func (b *builder) shortDate(d time.Time) string {
	return b.t(issue.Text{Key: months[d.Month()-1], Args: []any{d.Day()}})
}

func (b *builder) date(d time.Time) string { return b.shortDate(d) + fmt.Sprintf(" %d", d.Year()) }

// dates lists days, at most four and the number of the others.
func (b *builder) dates(days []time.Time) string {
	const most = 4
	var names []string
	for i, d := range days {
		if i == most-1 && len(days) > most {
			names = append(names, b.t(issue.T("and {} more", len(days)-i)))
			break
		}
		names = append(names, b.shortDate(d))
	}
	return strings.Join(names, ", ")
}

// unit is a unit as people write it, with a space before it.
func unit(ucum string) string {
	if ucum == "" || ucum == "1" || ucum == "/wk" {
		return ""
	}
	return " " + strings.NewReplacer("ug", "µg", "umol", "µmol", "[iU]", "IU").Replace(profiles.UnitOf(ucum).Said)
}

// data are the values behind the charts, for who cannot see them.
func (b *builder) data() []Table {
	sessions := Table{Title: b.t(issue.T("Sessions")), Heads: []string{b.t(issue.T("Day")), b.t(issue.T("Status"))}}
	for _, m := range measures {
		sessions.Heads = append(sessions.Heads, b.t(m.name)+b.bracketed(b.series(m.key).unit()))
	}
	at := make([]map[time.Time]string, len(measures))
	for i, m := range measures {
		at[i] = map[time.Time]string{}
		for _, p := range b.series(m.key).points {
			at[i][p.at] = b.n(p.text)
		}
	}
	for _, t := range b.treatments {
		row := []string{b.date(day(t.start)), b.statusName(t.status)}
		for i := range measures {
			row = append(row, orDash(at[i][t.start]))
		}
		sessions.Rows = append(sessions.Rows, row)
	}
	weeks := Table{Title: b.t(issue.T("Weeks")), Heads: []string{b.t(issue.T("Week from")), b.t(weeklyDoseName)}}
	for _, p := range b.weeklyDose().points {
		weeks.Rows = append(weeks.Rows, []string{b.date(p.at), b.n(p.text)})
	}
	return []Table{sessions, weeks}
}

func (b *builder) bracketed(ucum string) string {
	if text := unit(ucum); text != "" {
		return " (" + strings.TrimSpace(text) + ")"
	}
	return ""
}

func (b *builder) statusName(s status) string {
	return b.t([...]issue.Text{issue.T("done"), issue.T("cut short"), issue.T("not done"), issue.T("held back")}[s])
}

func orDash(s string) string {
	if s == "" {
		return "–"
	}
	return s
}
