package columnmap

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// Draft is a column map drafted from a sheet.
type Draft struct {
	// Text is the map as TOML, each entry with how sure it is and why; what is
	// unsure is commented out.
	Text                 string
	Sure, Likely, Unsure int
}

// Summary is one sentence about how sure the draft is.
func (d Draft) Summary() string {
	return fmt.Sprintf("Drafted a column map: %d sure, %d likely, %d unsure and left as comments. Look at every line before you use it; see runsheet map --help.", d.Sure, d.Likely, d.Unsure)
}

// ErrNothingKnown is returned for a sheet in which no heading is understood.
var ErrNothingKnown = errors.New("no row of headings was understood in this file; write the map by hand (see runsheet map --help)")

// Suggest drafts a column map for a CSV file or a workbook from its headings
// and from what its cells look like. It decides nothing silently.
func Suggest(path string) (Draft, error) {
	info, err := os.Stat(path)
	if err != nil {
		return Draft{}, fmt.Errorf("reading the sheet: %w", err)
	}
	if info.IsDir() {
		return Draft{}, fmt.Errorf("%s is a folder; give one of the sheets in it", path)
	}
	r := reading{}
	data, ok, err := r.bytes(path)
	if err != nil {
		return Draft{}, err
	}
	if !ok {
		return Draft{}, fmt.Errorf("%s: %s", path, session.TooManyBytes)
	}
	return SuggestFor(data, filepath.Base(path))
}

// SuggestFor drafts a column map for the bytes of a file.
func SuggestFor(data []byte, name string) (Draft, error) {
	d, err := sketchOf(data, name)
	if err != nil {
		return Draft{}, err
	}
	return d.draft(), nil
}

func sketchOf(data []byte, name string) (*sketch, error) {
	sheets, _, findings, whole, err := split(data, name, new(session.Size))
	if err != nil {
		return nil, err
	}
	if !whole {
		for _, f := range findings {
			if f.Severity == issue.Error {
				return nil, fmt.Errorf("%s: %s: %s", name, f.Details, f.Mend)
			}
		}
	}
	if d, ok := suggestForm(sheets); ok {
		return d, nil
	}
	best, most := -1, 1
	for i, s := range sheets {
		if n := headingScore(s, headingRow(s)); n > most && !s.Hidden {
			best, most = i, n
		}
	}
	if best < 0 {
		return nil, fmt.Errorf("%s: %w", name, ErrNothingKnown)
	}
	return suggestRows(sheets[best], len(sheets) > 1), nil
}

// headingRow is the row among the first that most headings are understood in;
// 0 when there is none.
func headingRow(s session.Foreign) int {
	best, most := 0, 1
	for _, row := range s.Rows {
		if row.Number > headingSearch {
			break
		}
		if n := headingScore(s, row.Number); n > most {
			best, most = row.Number, n
		}
	}
	return best
}

// headingScore counts the cells of a row that read like headings.
func headingScore(s session.Foreign, number int) int {
	n := 0
	for _, text := range rowTexts(s, number, false) {
		if text != "" && !plainForm.MatchString(text) && len(text) < 60 && len(conceptsIn(text)) > 0 {
			n++
		}
	}
	return n
}

// sketch is a draft while it is made.
type sketch struct {
	table   []string // lines of [[table]]
	columns []suggestion
	groups  []groupSketch
	ignored []string
	// status are the words of a status column.
	status []string
	notes  []string // commented lines below the table
	unsure int      // among the lines of the table
	dateAt int      // the column of dates; -1 when there is none
	// unread are the columns of which nothing is known, samples a few cells of
	// each heading, and allDone is set when the person says that every session
	// was done.
	unread  []suggestion
	samples map[string][]string
	allDone bool
	// dayFirst is the form of dates whose day could be the month, as it would be
	// with the day first.
	dayFirst string
}

type groupSketch struct {
	lines   []string
	columns []suggestion
	sure    sureness
	why     string
}

// suggestRows sketches a map of rows under headings.
func suggestRows(s session.Foreign, several bool) *sketch {
	d := &sketch{samples: map[string][]string{}}
	if several {
		d.line("tab = %s", quoted(s.Tab))
	}
	row := headingRow(s)
	rows := 1
	if spans(s, row-1) {
		row, rows = row-1, 2
	}
	d.line("heading_row = %d", row)
	if rows > 1 {
		d.line("heading_rows = %d", rows)
	}
	h := headingsAt(s, row, rows)
	seen := columnsSeen(s, h)
	perReading := d.key(h, seen)
	used := d.repeated(h, seen)
	for i, heading := range h.names {
		if heading == "" || used[i] {
			continue
		}
		d.sample(heading, seen[i].texts)
		one, ok := classify(heading, seen[i].contents, perReading && !onceEach(seen, d.dateAt, i))
		if !ok {
			d.unknown(heading, i, seen[i].contents)
			continue
		}
		if len(h.matching(exactly(heading))) > 1 {
			one.letter = issue.ColumnLetters(i + 1)
		}
		d.add(one)
	}
	d.forms(h, seen)
	d.footers(s, h)
	d.twice()
	return d
}

func exactly(heading string) matcher {
	return matcher{heading, regexp.MustCompile("^" + regexp.QuoteMeta(plain(heading)) + "$")}
}

// spans reports a row of titles above the headings whose merged cells say what
// several of them belong to.
func spans(s session.Foreign, number int) bool {
	if number < 1 {
		return false
	}
	across := 0
	for _, reference := range s.Merged {
		first, last, _ := strings.Cut(strings.ReplaceAll(reference, "$", ""), ":")
		from, top, err1 := parseCell(first)
		to, _, err2 := parseCell(last)
		if err1 == nil && err2 == nil && top == number && to > from {
			across++
		}
	}
	return across >= 2
}

// seenColumn is a column's cells in order, blanks among them.
type seenColumn struct {
	contents
	all []string
}

// columnsSeen looks at the cells below the headings. Rows with hardly
// anything in them, such as a line for a signature, are left out.
func columnsSeen(s session.Foreign, h headings) []seenColumn {
	seen := make([]seenColumn, len(h.names))
	for _, row := range s.Rows {
		filled := 0
		for i := range h.names {
			if row.Cell(i).Text != "" {
				filled++
			}
		}
		if row.Number < h.next || filled < 3 {
			continue
		}
		for i := range h.names {
			if len(seen[i].all) < mostCells {
				seen[i].all = append(seen[i].all, row.Cell(i).Text)
			}
		}
	}
	for i := range seen {
		seen[i].contents = lookAt(seen[i].all)
	}
	return seen
}

// key finds out whether several rows make a session: the first of them or each
// has the date, and there is a column of times.
func (d *sketch) key(h headings, seen []seenColumn) bool {
	date, timed := -1, false
	defer func() { d.dateAt = date }()
	for i, name := range h.names {
		found := conceptsIn(name)
		_, isDate := found[aDate]
		_, isTime := found[aTime]
		_, starts := found[aStart]
		_, ends := found[anEnd]
		_, lasts := found[aDuration]
		switch {
		case isDate && date < 0 && !(seen[i].mostly(len(seen[i].words)) && len(seen[i].texts) > 0): // Mon, Tue are no dates
			date = i
		case isTime && !starts && !ends && !lasts:
			timed = true
		}
	}
	if date < 0 || !timed {
		return false
	}
	again, last := 0, ""
	for _, text := range seen[date].all {
		if text == "" || text == last {
			again++
		}
		if text != "" {
			last = text
		}
	}
	if again*3 < len(seen[date].all) {
		return false
	}
	d.line("key = [%s]  # several rows for each session: the date stands in the first or in all of them", quoted(h.names[date]))
	return true
}

// onceEach reports a column that is filled in only where a new date begins: it
// is about the session and not about a reading.
func onceEach(seen []seenColumn, date, column int) bool {
	if date < 0 || date == column {
		return false
	}
	last, filled := "", false
	for i, text := range seen[date].all {
		begins := text != "" && text != last
		if text != "" {
			last = text
		}
		if i < len(seen[column].all) && seen[column].all[i] != "" {
			if !begins {
				return false
			}
			filled = true
		}
	}
	return filled
}

// add books a suggestion.
func (d *sketch) add(one suggestion) {
	if one.sheet == session.SheetChecks {
		lines := []string{`to = "checks"`, fmt.Sprintf("set = { what = %s }", quoted(one.set["what"]))}
		d.groups = append(d.groups, groupSketch{lines: lines, columns: []suggestion{one}, sure: one.sure, why: "looked at or used before a treatment"})
		return
	}
	if one.set != nil {
		lines := []string{`to = "labs"`, fmt.Sprintf("set = { test = %s, when = %s }", quoted(one.set["test"]), quoted(one.set["when"]))}
		at := `at = "start"  # the sample is taken to be drawn at the start`
		if one.set["when"] == "after" {
			at = `at = "end"  # the sample is taken to be drawn at the end`
		}
		d.groups = append(d.groups, groupSketch{lines: append(lines, at), columns: []suggestion{one}, sure: one.sure, why: "one laboratory test"})
		return
	}
	d.columns = append(d.columns, one)
}

// sample keeps a few cells of a column to show.
func (d *sketch) sample(heading string, texts []string) {
	const most = 3
	d.samples[heading] = append(d.samples[heading], texts[:min(len(texts), most)]...)
}

func (d *sketch) unknown(heading string, position int, seen contents) {
	if len(seen.texts) == 0 {
		d.ignored = append(d.ignored, heading)
		return
	}
	d.unread = append(d.unread, suggestion{heading: heading, letter: issue.ColumnLetters(position + 1)})
	d.notes = append(d.notes, fmt.Sprintf("unsure: column %s, heading %s: no word of it is known; map it, or put it into ignore", issue.ColumnLetters(position+1), quoted(heading)))
	d.unsure++
}

func (d *sketch) line(format string, args ...any) {
	d.table = append(d.table, fmt.Sprintf(format, args...))
}

// twice leaves only the surest of several columns that would go to one place,
// and none of them when two are equally sure.
func (d *sketch) twice() {
	most := map[string]sureness{}
	count := map[string]int{}
	for i := range d.columns {
		for _, name := range d.columns[i].names(false) {
			switch s := d.columns[i].sure; {
			case count[name] == 0 || s > most[name]:
				most[name], count[name] = s, 1
			case s == most[name]:
				count[name]++
			}
		}
	}
	all := slices.Clone(d.columns)
	for i, one := range all {
		for _, name := range one.names(false) {
			if one.sure < most[name] || count[name] > 1 {
				d.columns[i].doubt("another column goes to %s too", name)
			}
		}
	}
}

func (l formLabel) key() string { return fmt.Sprintf("%d %d %s", l.row, l.column, plain(l.text)) }
