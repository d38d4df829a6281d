package workbook

import (
	"regexp"
	"slices"
	"strings"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// headingSearch is how many rows from the top may hold the headings.
const headingSearch = 10

// headings are the column names of a sheet as found in its rows of headings.
type headings struct {
	names []string
	row   int // the visible row of headings
	next  int // the first row of data
	// findings are about headings that were changed.
	findings []issue.Finding
}

// findHeadings looks at the top rows for the friendly headings, the exact
// names below them, or one of the two. ok is false when neither is there.
func findHeadings(sheet session.Sheet, top map[int][]string) (h headings, ok bool) {
	for row := 1; row <= headingSearch; row++ {
		if !isHeadingRow(sheet, top[row]) {
			continue
		}
		h.row, h.next = row, row+1
		upper, lower := top[row], top[row]
		if isHeadingRow(sheet, top[row+1]) {
			lower, h.next = top[row+1], row+2
		}
		for i := range max(len(upper), len(lower)) {
			h.names = append(h.names, h.bind(sheet, i, at(upper, i), at(lower, i)))
		}
		h.unitRow(sheet, top[h.next])
		return h, true
	}
	return h, false
}

// unitRow reads a row below the headings that holds units only.
func (h *headings) unitRow(sheet session.Sheet, row []string) {
	names := slices.Clone(h.names)
	filled := 0
	for i, unit := range row {
		if unit = strings.TrimSpace(unit); unit == "" {
			continue
		}
		name, ok := session.NameIn(sheet, at(names, i), unit)
		if !ok {
			return
		}
		names[i] = name
		filled++
	}
	if filled == 0 {
		return
	}
	for i, name := range names {
		if name != h.names[i] {
			h.complain(i, "log-heading-unit", issue.Warning, "the row below the headings names another unit than the heading; the column is read in that unit", row[i], session.Headed(sheet, name).Title)
		}
	}
	h.names, h.next = names, h.next+1
}

// isHeadingRow reports whether most of a row are headings the log knows.
func isHeadingRow(sheet session.Sheet, row []string) bool {
	known, filled := 0, 0
	for _, text := range row {
		if strings.TrimSpace(text) == "" {
			continue
		}
		filled++
		if _, ok := session.ColumnTitled(sheet, text); ok {
			known++
		}
	}
	return known >= 2 && 2*known >= filled
}

func at(row []string, i int) string {
	if i < len(row) {
		return strings.TrimSpace(row[i])
	}
	return ""
}

// bind finds the name of one column. The hidden name below decides, unless
// the heading that people see says something else.
func (h *headings) bind(sheet session.Sheet, i int, shown, hidden string) string {
	name, ok := session.ColumnTitled(sheet, hidden)
	if !ok {
		if other, known := session.ColumnTitled(sheet, shown); known && hidden == "" {
			return other
		}
		if shown != "" {
			return shown
		}
		return hidden
	}
	own := session.Headed(sheet, name).Title
	other, known := session.ColumnTitled(sheet, shown)
	in, written := session.NameIn(sheet, name, unitOf(shown))
	switch {
	case shown == "" || known && other == name:
		return name
	case written && in != name && (!known || other == in):
		h.complain(i, "log-heading-unit", issue.Warning, "the unit in the heading was changed; the column is read in the unit that the heading names", shown, own)
		return in
	case known:
		h.complain(i, "log-heading-changed", issue.Error, "the heading says something else than the hidden row below it, so it is not certain what the column holds and it is not read", shown, own)
		return ""
	case unitOf(shown) != unitOf(own):
		h.complain(i, "log-heading-changed", issue.Error, "the unit in the heading was changed, so it is not certain in which unit the column is written and it is not read", shown, own)
		return ""
	default:
		h.complain(i, "log-heading-changed", issue.Warning, "the heading was changed; the column is still read as what it was", shown, own)
		return name
	}
}

func (h *headings) complain(i int, rule string, severity issue.Severity, details, value, expected string) {
	f := issue.At(rule)
	f.Severity, f.Details, f.Value, f.Expected = severity, issue.T(details), value, issue.Literal(expected)
	f.Cells = []issue.Cell{{Row: h.row, Column: i + 1, Heading: value}}
	h.findings = append(h.findings, f)
}

var inBrackets = regexp.MustCompile(`[(\[]([^)\]]*)[)\]]\s*$`)

// unitOf is the unit at the end of a heading.
func unitOf(heading string) string {
	if m := inBrackets.FindStringSubmatch(heading); m != nil {
		return strings.ReplaceAll(strings.ToLower(m[1]), " ", "")
	}
	return ""
}
