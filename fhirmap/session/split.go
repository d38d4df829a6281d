package session

import (
	"slices"
	"strings"

	"runsheet.example/validate/issue"
)

// splitByComma finds the cell that a comma without quotation marks splits in
// two, in a row with one cell too many: the one that, put together again, lets
// all cells behind it fit their columns best. It reports the comma once, puts
// the cells back under their headings, and leaves the cell itself unread. It
// reports false when no one cell stands out.
func (s *sheetReader) splitByComma() bool {
	if s.delimiter != ',' || len(s.cells) != len(s.headings)+1 {
		return false
	}
	best, least, twice := -1, 0.0, false
	for i := range s.headings {
		misfits := 0.0
		joined := s.joinedAt(i)
		for _, c := range s.columns {
			if c.position != i {
				misfits += s.misfit(c, strings.TrimSpace(joined[c.position]))
			} else if c.Kind != KindText {
				misfits += 2 * s.misfit(c, strings.Replace(strings.TrimSpace(joined[i]), ",", string(markOr(s.mark)), 1))
			}
		}
		if best < 0 || misfits < least {
			best, least, twice = i, misfits, false
		} else if misfits == least {
			twice = true
		}
	}
	if twice || least >= s.misfits() {
		return false
	}
	s.cells, s.split = s.joinedAt(best), best
	f := s.spot(best).finding("log-row-too-long", "a comma in this cell splits it in two, so the cells after it are shifted")
	f.Value = s.text(best)
	if d, err := ParseDecimal(f.Value, ','); err == nil {
		f.Expected = d.String()
	}
	s.add(f)
	return true
}

// joinedAt are the cells of the row with two of them put together.
func (s *sheetReader) joinedAt(i int) []string {
	joined := slices.Concat(s.cells[:i+1], s.cells[i+2:])
	joined[i] += "," + s.cells[i+1]
	return joined
}

// misfits is how badly the cells fit their columns as they stand.
func (s *sheetReader) misfits() float64 {
	sum := 1.0 // for the cell too many
	for _, c := range s.columns {
		sum += s.misfit(c, s.text(c.position))
	}
	return sum
}

// misfit is 1 for a text that is none of its column, more or less for a number
// that is impossible or unusual.
func (s *sheetReader) misfit(c boundColumn, text string) float64 {
	if _, absent := absenceOf(text); absent {
		return 0
	}
	fits := true
	switch c.Kind {
	case KindNumber:
		d, err := ParseDecimal(text, markOr(s.mark))
		if fits = err == nil; fits {
			limit, known := issue.LimitOf(string(c.Field))
			switch number := d.Float64(); {
			case known && limit.Impossible(number):
				return 1.5
			case known && limit.Unusual(number):
				return 0.5
			}
		}
	case KindTime:
		fits = readClock(text, "").ok
	case KindDate:
		fits = readDate(text, "").rule != "log-date"
	case KindChoice:
		fits = slices.Contains(c.Choices, strings.ToLower(text))
	}
	if fits {
		return 0
	}
	return 1
}
