package session

import (
	"slices"
	"strings"

	"runsheet.example/validate/issue"
)

// sumWords begin the label of a row that sums up others (common practice).
var sumWords = []string{
	"total", "totals", "sum", "average", "averages", "avg", "mean", "median", "minimum", "maximum", "min", "max", "count", "n", "sd",
	"summe", "gesamt", "insgesamt", "mittelwert", "mittel", "durchschnitt", "anzahl", "somme", "moyenne",
}

// sums reports a label of a row that sums up others.
func sums(label string) bool {
	words := strings.FieldsFunc(strings.ToLower(label), func(r rune) bool { return strings.ContainsRune(" :.()=", r) })
	return len(words) > 0 && slices.Contains(sumWords, words[0])
}

// foreignRow reports a row that is none of its sheet: the headings again, their
// units, or a total, which has numbers and neither date, time nor words.
func (s *sheetReader) foreignRow() bool {
	const several = 2
	var first string
	at, filled, again, numbers, unlike, words := -1, 0, 0, 0, 0, 0
	named, summed, timed, dated := false, false, false, false
	for _, c := range s.columns {
		text := s.text(c.position)
		if cell, mapped := s.mappedCell(c.position); text == "" || mapped && cell.At.IsZero() {
			continue // empty, or a value that the map has for every row
		}
		if filled++; at < 0 || c.position < at {
			at, first = c.position, text
		}
		if plainHeading(text) == plainHeading(s.headings[c.position]) {
			again++
		}
		fits := s.misfit(c, text) < 1
		switch c.Kind {
		case KindID:
			named = named || strings.ContainsAny(text, "0123456789")
			summed = summed || sums(text)
		case KindText:
			words++
			summed = summed || filled == 1 && len(strings.Fields(text)) == 1 && sums(text) // no total chlorine
		case KindNumber:
			if fits || s.readNumber(c, text).ok {
				numbers++
			} else {
				unlike++
			}
		case KindUnit:
		default:
			summed = summed || sums(text)
			timed = timed || fits && c.Kind == KindTime
			dated = dated || fits && c.Kind != KindTime
			if !fits {
				unlike++
			}
		}
	}
	var details string
	mend := issue.T("take the row out")
	switch {
	case again >= several && 2*again > filled:
		details = "this row holds the headings again and is left out"
	case dated:
		return false
	case !summed && filled == 1 && numbers == 1:
		details = "this row has one number and nothing else, such as the end of a column that slipped down, or a total; it is left out"
		mend = issue.T("look whether a cell was put into this column further up, and put all its values back; take the row out only if it is a total")
	case summed && numbers > 0, !named && !timed && numbers > 0 && words+unlike == 0:
		details = "this row has numbers without a date; it looks like a total or an average and is left out"
	case !named && !timed && numbers == 0 && unlike >= several:
		details = "this row has words in place of numbers, such as units, and is left out"
	default:
		return false
	}
	f := s.spot(at).finding("log-row-foreign", details)
	f.Value, f.Mend = first, mend
	s.add(f)
	return true
}
