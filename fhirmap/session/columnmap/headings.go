package columnmap

import (
	"strings"

	"runsheet.example/fhirmap/session"
)

// headings are the names of a sheet's columns.
type headings struct {
	names []string
	row   int // of the headings; the upper one of two
	next  int // the first row below
}

func (h headings) name(position int) string {
	if position < 0 || position >= len(h.names) {
		return ""
	}
	return h.names[position]
}

// matching are the columns whose heading a matcher recognises.
func (h headings) matching(m matcher) []int {
	var at []int
	for i, name := range h.names {
		if m.match(name) {
			at = append(at, i)
		}
	}
	return at
}

// headingSearch is how many rows from the top may hold the headings.
const headingSearch = 30

// findHeadings takes the row that the map names, or the one among the first with
// the most headings of the map.
func findHeadings(t *table, s session.Foreign) headings {
	rows := max(1, t.entry.HeadingRows)
	if t.entry.HeadingRow > 0 {
		return headingsAt(s, t.entry.HeadingRow, rows)
	}
	best, most := headings{next: 1}, 0
	for _, row := range s.Rows {
		if row.Number > headingSearch {
			break
		}
		h := headingsAt(s, row.Number, rows)
		if n := t.known(h); n > most {
			best, most = h, n
		}
	}
	return best
}

// known counts the columns of the map that have their heading in h.
func (t *table) known(h headings) int {
	n := 0
	count := func(columns []column) {
		for _, c := range columns {
			if len(h.matching(c.heading)) > 0 {
				n++
			}
		}
	}
	count(t.columns)
	for _, g := range t.groups {
		count(g.columns)
	}
	return n
}

// headingsAt joins the headings of one row or of adjacent rows. The text of
// merged cells applies to all columns below them.
func headingsAt(s session.Foreign, row, rows int) headings {
	h := headings{row: row, next: row + rows}
	for i := range rows {
		for at, text := range rowTexts(s, row+i, i < rows-1) {
			for len(h.names) <= at {
				h.names = append(h.names, "")
			}
			text = strings.Join(strings.Fields(text), " ")
			switch {
			case text == "":
			case h.names[at] == "":
				h.names[at] = text
			default:
				h.names[at] += " / " + text
			}
		}
	}
	return h
}

// rowTexts are the texts of a row; those of merged cells are repeated over
// the columns they cover when spread is set.
func rowTexts(s session.Foreign, number int, spread bool) []string {
	var texts []string
	for _, row := range s.Rows {
		if row.Number == number {
			texts = append(texts, row.Texts()...)
		}
	}
	if !spread {
		return texts
	}
	for _, reference := range s.Merged {
		first, last, ok := strings.Cut(strings.ReplaceAll(reference, "$", ""), ":")
		from, top, err1 := parseCell(first)
		to, _, err2 := parseCell(last)
		if !ok || err1 != nil || err2 != nil || top != number || from >= len(texts) {
			continue
		}
		for i := from + 1; i <= to && i < 1000; i++ {
			for len(texts) <= i {
				texts = append(texts, "")
			}
			texts[i] = texts[from]
		}
	}
	return texts
}
