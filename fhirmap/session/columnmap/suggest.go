package columnmap

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
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
func Suggest(path string, opts session.Options) (Draft, error) {
	info, err := os.Stat(path)
	if err != nil {
		return Draft{}, fmt.Errorf("reading the sheet: %w", err)
	}
	if info.IsDir() {
		return Draft{}, fmt.Errorf("%s is a folder; give one of the sheets in it", path)
	}
	data, err := os.ReadFile(path)
	if err != nil {
		return Draft{}, fmt.Errorf("reading the sheet: %w", err)
	}
	return SuggestFor(data, filepath.Base(path), opts)
}

// SuggestFor drafts a column map for the bytes of a file.
func SuggestFor(data []byte, name string, opts session.Options) (Draft, error) {
	sheets, _, findings, whole, err := split(data, name, opts)
	if err != nil {
		return Draft{}, err
	}
	if !whole {
		for _, f := range findings {
			if f.Severity == issue.Error {
				return Draft{}, fmt.Errorf("%s: %s: %s", name, f.Details, f.Mend)
			}
		}
	}
	if d, ok := suggestForm(sheets); ok {
		return d.draft(), nil
	}
	best, most := -1, 1
	for i, s := range sheets {
		if n := headingScore(s, headingRow(s)); n > most && !s.Hidden {
			best, most = i, n
		}
	}
	if best < 0 {
		return Draft{}, fmt.Errorf("%s: %w", name, ErrNothingKnown)
	}
	return suggestRows(sheets[best], len(sheets) > 1).draft(), nil
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
		if text != "" && !plainForm.MatchString(text) && len(text) < 60 && len(speaksOf(text)) > 0 {
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
	form   bool
	dateAt int // the column of dates; -1 when there is none
}

type groupSketch struct {
	lines   []string
	columns []suggestion
	sure    sureness
	why     string
}

// suggestRows sketches a map of rows under headings.
func suggestRows(s session.Foreign, several bool) *sketch {
	d := &sketch{}
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

// key finds out whether several rows make a session: the date stands in the
// first of them only, or again in each, and there is a time beside it.
func (d *sketch) key(h headings, seen []seenColumn) bool {
	date, timed := -1, false
	defer func() { d.dateAt = date }()
	for i, name := range h.names {
		found := speaksOf(name)
		_, isDate := found[aDate]
		_, isTime := found[aTime]
		_, starts := found[aStart]
		_, ends := found[anEnd]
		_, lasts := found[aDuration]
		switch {
		case isDate && date < 0:
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

// footers proposes to pass over rows that have words where the others have
// their date, such as a row of means.
func (d *sketch) footers(s session.Foreign, h headings) {
	if d.dateAt < 0 {
		return
	}
	var words []string
	for _, row := range s.Rows {
		text := row.Cell(d.dateAt).Text
		if row.Number >= h.next && text != "" && !dateForms.MatchString(text) && !plainForm.MatchString(text) && !slices.Contains(words, quoted(text)) {
			words = append(words, quoted(text))
		}
	}
	const most = 6
	if len(words) > 0 && len(words) <= most {
		d.line("skip_rows = [%s]  # words where the other rows have a date", strings.Join(words, ", "))
	}
}

var digitsIn = regexp.MustCompile(`\d{1,3}`)

// repeated finds groups of columns that repeat with a number in their
// headings, and marks their columns.
func (d *sketch) repeated(h headings, seen []seenColumn) map[int]bool {
	byTemplate := map[string][]int{}
	var order []string
	for i, name := range h.names {
		at := digitsIn.FindStringIndex(withoutUnitKept(name))
		if at == nil {
			continue
		}
		template := name[:at[0]] + numberMark + name[at[1]:]
		if len(byTemplate[template]) == 0 {
			order = append(order, template)
		}
		byTemplate[template] = append(byTemplate[template], i)
	}
	used := map[int]bool{}
	g := groupSketch{lines: []string{`to = "readings"`}, sure: likely}
	timed := false
	for _, template := range order {
		if len(byTemplate[template]) < 2 {
			continue
		}
		var all []string
		for _, i := range byTemplate[template] {
			all = append(all, seen[i].all...)
		}
		name := strings.Replace(template, numberMark, "", 1)
		one, ok := classify(name, lookAt(all), true)
		if !ok || one.sheet != session.SheetReadings && one.fields[0] != "blood_flow" {
			continue
		}
		one.sheet, one.heading = session.SheetReadings, template
		timed = timed || one.fields[0] == "time"
		g.columns = append(g.columns, one)
		for _, i := range byTemplate[template] {
			used[i] = true
		}
	}
	if len(g.columns) == 0 {
		return used
	}
	g.why = "columns that repeat with a number in their headings"
	if !timed {
		g.interval()
	}
	d.groups = append(d.groups, g)
	return used
}

// withoutUnitKept blanks out brackets without moving what stands behind them.
func withoutUnitKept(heading string) string {
	return unitInHeading.ReplaceAllStringFunc(heading, func(m string) string { return strings.Repeat(" ", len(m)) })
}

// interval reads the time of each group from what stands behind its number.
func (g *groupSketch) interval() {
	_, behind, _ := strings.Cut(g.columns[0].heading, numberMark)
	words := strings.Fields(folded(behind))
	unit := ""
	if len(words) > 0 {
		unit = words[0]
	}
	switch {
	case slices.Contains([]string{"h", "hr", "hrs", "hour", "std", "stunde", "u", "uur", "ora", "hora", "heure"}, unit):
		g.lines = append(g.lines, `at = "start"`, "every_min = 60")
		g.why += "; the number is taken for hours since the start"
	case unit == "min" || unit == "minuten" || unit == "minutes":
		g.lines = append(g.lines, `at = "start"`, "every_min = 1")
		g.why += "; the number is taken for minutes since the start"
	default:
		g.lines = append(g.lines, `at = "start"`, "every_min = 60  # how many minutes lie between two groups?")
		g.why += ", but nothing says at what times they were taken"
		g.sure = unsure
	}
}

// add books a suggestion.
func (d *sketch) add(one suggestion) {
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

func (d *sketch) unknown(heading string, position int, seen contents) {
	if len(seen.texts) == 0 {
		d.ignored = append(d.ignored, heading)
		return
	}
	d.notes = append(d.notes, fmt.Sprintf("unsure: column %s, heading %s: no word of it is known; map it, or put it into ignore", issue.ColumnLetters(position+1), quoted(heading)))
	d.unsure++
}

// forms declares how dates, times and numbers are written.
func (d *sketch) forms(h headings, seen []seenColumn) {
	comma, point := false, false
	for _, one := range d.columns {
		at := h.matching(exactly(one.heading))
		if len(at) == 0 {
			continue
		}
		c := seen[at[0]]
		switch one.fields[0] {
		case "date":
			d.dates(c.texts)
		case "start", "end", "time":
			if style := clockStyle(c.texts); style != "" && !d.declares("time_form") {
				d.line("time_form = %s", quoted(style))
			}
		case "status":
			d.status = slices.Compact(slices.Sorted(slices.Values(c.texts)))
		}
	}
	d.absences(h, seen)
	for _, c := range seen {
		comma, point = comma || c.comma, point || c.point
	}
	switch {
	case comma && !point:
		d.line(`decimal_mark = ","  # the only mark in the numbers`)
	case comma && point:
		d.notes = append(d.notes, "unsure: numbers have both points and commas; declare decimal_mark")
		d.unsure++
	}
}

// absences lists the words that stand among numbers and may mean that there is
// no value; what they mean is left to the person.
func (d *sketch) absences(h headings, seen []seenColumn) {
	var words []string
	for _, one := range d.columns {
		at := h.matching(exactly(one.heading))
		column, ok := columnOf(one.sheet, one.fields[0])
		if !ok || column.Kind != session.KindNumber || len(at) == 0 || one.unit == "st lb" {
			continue
		}
		for _, text := range seen[at[0]].words {
			if !slices.Contains(words, quoted(text)) {
				words = append(words, quoted(text))
			}
		}
	}
	const most = 12
	if len(words) > 0 && len(words) <= most {
		d.line("# absences = { not_done = [%s] }  # unsure: words among numbers; not_recorded, not_done, unknown or not_applicable?", strings.Join(words, ", "))
		d.unsure++
	}
}

func (d *sketch) dates(texts []string) {
	form, certain, why := dateStyle(texts)
	if form == "" {
		return
	}
	if certain {
		d.line("date_form = %s  # %s", quoted(form), why)
		return
	}
	d.line("# date_form = %s  # unsure: %s", quoted(form), why)
	d.unsure++
}

func (d *sketch) declares(key string) bool {
	return slices.ContainsFunc(d.table, func(line string) bool { return strings.HasPrefix(line, key+" ") })
}

func (d *sketch) line(format string, args ...any) {
	d.table = append(d.table, fmt.Sprintf(format, args...))
}

// twice leaves only the surest of several columns that would go to one place.
func (d *sketch) twice() {
	best := map[string]int{}
	for i := range d.columns {
		one := &d.columns[i]
		for _, name := range one.names(false) {
			first, have := best[name]
			switch {
			case !have:
				best[name] = i
			case d.columns[first].sure < one.sure:
				d.columns[first].doubt("another column goes to %s too", name)
				best[name] = i
			default:
				one.doubt("another column goes to %s too", name)
			}
		}
	}
}

// suggestForm sketches a map of a workbook with one sheet for each session:
// the same labels stand at the same places of most sheets.
func suggestForm(sheets []session.Foreign) (*sketch, bool) {
	const fewestSheets, fewestLabels = 2, 4
	if len(sheets) < fewestSheets {
		return nil, false
	}
	labels := map[string]int{}
	for _, s := range sheets {
		for _, l := range formLabels(s) {
			labels[l.key()]++
		}
	}
	d := &sketch{form: true}
	d.line(`tab = "*"`)
	d.line(`layout = "form"`)
	first := sheets[0]
	block := blockRow(first)
	var dates, clocks []string
	comma, point := false, false
	for _, l := range formLabels(first) {
		if labels[l.key()]*5 < len(sheets)*4 || block > 0 && l.row >= block {
			continue
		}
		var all []string
		for _, s := range sheets {
			all = append(all, rowCell(s, l.row, l.column+1))
		}
		seen := lookAt(all)
		one, ok := classify(l.text, seen, false)
		if !ok {
			continue
		}
		one.cell = issue.ColumnLetters(l.column+2) + strconv.Itoa(l.row)
		comma, point = comma || seen.comma, point || seen.point
		switch one.fields[0] {
		case "date":
			dates = seen.texts
		case "start", "end":
			clocks = append(clocks, seen.texts...)
		}
		d.columns = append(d.columns, one)
	}
	if len(d.columns) < fewestLabels {
		return nil, false
	}
	d.dates(dates)
	if style := clockStyle(clocks); style != "" {
		d.line("time_form = %s", quoted(style))
	}
	if comma && !point {
		d.line(`decimal_mark = ","  # the only mark in the numbers`)
	}
	if block > 0 {
		d.block(sheets, block)
	}
	d.twice()
	return d, true
}

type formLabel struct {
	text        string
	row, column int
}

func (l formLabel) key() string { return fmt.Sprintf("%d %d %s", l.row, l.column, plain(l.text)) }

// formLabels are the texts that speak of something and have a filled cell to
// their right.
func formLabels(s session.Foreign) []formLabel {
	var labels []formLabel
	for _, row := range s.Rows {
		if row.Number > 100 {
			break
		}
		for i, c := range row.Cells {
			text := strings.TrimSpace(strings.TrimRight(c.Text, ": "))
			if text != "" && !c.Number && len(text) < 60 && len(speaksOf(text)) > 0 && row.Cell(i+1).Text != "" && len(speaksOf(row.Cell(i+1).Text)) == 0 {
				labels = append(labels, formLabel{text, row.Number, i})
			}
		}
	}
	return labels
}

func rowCell(s session.Foreign, number, column int) string {
	for _, row := range s.Rows {
		if row.Number == number {
			return row.Cell(column).Text
		}
	}
	return ""
}

// blockRow is the row of headings of a block of readings on a form; 0 when
// there is none.
func blockRow(s session.Foreign) int {
	for _, row := range s.Rows {
		filled := 0
		for _, c := range row.Cells {
			if c.Text != "" {
				filled++
			}
		}
		if n := headingScore(s, row.Number); n >= 3 && n*5 >= filled*4 && headingScore(s, row.Number+1) == 0 {
			return row.Number
		}
	}
	return 0
}

// block sketches the block of readings of a form.
func (d *sketch) block(sheets []session.Foreign, number int) {
	h := headingsAt(sheets[0], number, 1)
	g := groupSketch{sure: likely, why: "a block of rows under headings",
		lines: []string{`to = "readings"`, fmt.Sprintf("heading_row = %d", number), fmt.Sprintf("first_row = %d  # until the first empty row", number+1)}}
	for i, heading := range h.names {
		if heading == "" {
			continue
		}
		var all []string
		for _, s := range sheets {
			for n := number + 1; rowCell(s, n, i) != "" && n < number+200; n++ {
				all = append(all, rowCell(s, n, i))
			}
		}
		one, ok := classify(heading, lookAt(all), true)
		switch {
		case ok && one.sheet == session.SheetReadings:
			g.columns = append(g.columns, one)
		default:
			d.notes = append(d.notes, "unsure: heading "+quoted(heading)+" of the block of readings")
			d.unsure++
		}
	}
	if len(g.columns) > 0 {
		d.groups = append(d.groups, g)
	}
}
